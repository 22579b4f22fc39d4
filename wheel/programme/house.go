package programme

import (
	"math"
	"strings"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// MaxLeaveCode is how many digits the code may have that visitors' screens ask
// for before they are left.
const MaxLeaveCode = 12

// CheckMargin refuses what cannot be a house's margin, a part of the red line.
func CheckMargin(margin float64) error {
	if !(margin >= 0 && margin < 1) {
		return wheel.Refuse(wheel.ErrInvalid, "the margin is %s %% of the red line; it should be from 0 to below 100 %%", say.Typed(math.Round(margin*1e9)/1e7))
	}
	return nil
}

// CheckLeaveCode refuses what cannot be the code of visitors' screens. An empty
// one means that none is asked for.
func CheckLeaveCode(code string) error {
	if len(code) > MaxLeaveCode || strings.Trim(code, "0123456789") != "" {
		return wheel.Refuse(wheel.ErrInvalid, "the code should be up to %d digits, or empty if none is to be asked for", MaxLeaveCode)
	}
	return nil
}
