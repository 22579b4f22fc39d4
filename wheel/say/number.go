package say

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Number writes a value in full.
func Number(v float64) string {
	return strings.ReplaceAll(Typed(v), "-", "−")
}

// Whole writes a whole number.
func Whole(n int) string { return Number(float64(n)) }

// Typed writes a value in full as a field or an address takes it, with the
// hyphen of a keyboard for its minus sign.
func Typed(v float64) string {
	return strconv.FormatFloat(v+0, 'f', -1, 64) // + 0: no minus before 0
}

// Rounded writes a value to at most so many decimals.
func Rounded(v float64, decimals int) string {
	unit := math.Pow10(decimals)
	return Number(math.Round(v*unit) / unit)
}

// Percent writes a part of a whole, 0.1 as "10", to at most four decimals. The
// sign is the caller's.
func Percent(part float64) string { return Rounded(part*100, 4) }

// PercentDown is [Percent] as a whole number, never above the part.
func PercentDown(part float64) string { return Number(math.Floor(part*100 + spare)) }

// MS writes a time in milliseconds, to a tenth: "140 ms".
func MS(ms float64) string { return Rounded(ms, 1) + " ms" }

// EarlyLate says how far from its time something is, in milliseconds: "2.5 ms
// early", "on time".
func EarlyLate(ms float64) string {
	switch text := Rounded(math.Abs(ms), 1); {
	case text == "0":
		return "on time"
	case ms < 0:
		return text + " ms early"
	default:
		return text + " ms late"
	}
}

// Clock writes seconds as minutes and seconds: "2:05".
func Clock(seconds float64) string {
	s := int(math.Round(seconds))
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}

var noteNames = [...]string{"C", "C♯", "D", "E♭", "E", "F", "F♯", "G", "A♭", "A", "B♭", "B"}

// Key names a MIDI key in scientific pitch notation, in which 60 is C4.
func Key(key uint8) string {
	return fmt.Sprintf("%s%d", noteNames[key%12], int(key)/12-1)
}
