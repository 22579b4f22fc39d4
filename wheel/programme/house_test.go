package programme_test

import (
	"errors"
	"math"
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/programme"
)

func TestAMarginIsAPartOfTheRedLine(t *testing.T) {
	for _, good := range []float64{0, 0.1, 0.999} {
		if err := programme.CheckMargin(good); err != nil {
			t.Errorf("%g: %v", good, err)
		}
	}
	for _, bad := range []float64{-0.1, 1, math.NaN(), math.Inf(1)} {
		if err := programme.CheckMargin(bad); !errors.Is(err, wheel.ErrInvalid) {
			t.Errorf("%g: %v", bad, err)
		}
	}
	const says = "the margin is -10 % of the red line; it should be from 0 to below 100 %"
	if err := programme.CheckMargin(-0.1); err == nil || err.Error() != says {
		t.Errorf("it says %v, want %q", err, says)
	}
}

func TestALeaveCodeIsUpToTwelveDigits(t *testing.T) {
	for _, good := range []string{"", "0", "000777", "123456789012"} {
		if err := programme.CheckLeaveCode(good); err != nil {
			t.Errorf("%q: %v", good, err)
		}
	}
	for _, bad := range []string{"12a", "-1", "1234567890123", "１２"} {
		if err := programme.CheckLeaveCode(bad); !errors.Is(err, wheel.ErrInvalid) {
			t.Errorf("%q: %v", bad, err)
		}
	}
}
