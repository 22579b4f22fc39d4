package noise

import (
	"fmt"
	"math"
	"testing"
	"time"
)

// NIOSH 98-126 (Criteria for a Recommended Standard, Occupational Noise
// Exposure, 1998), table 1-1, to its minutes and seconds; its values from
// memory, and all of them those of the equation beside it.
func TestAllowedExposureIsThatOfTheTable(t *testing.T) {
	for level, want := range map[float64]time.Duration{
		82:  16 * time.Hour,
		85:  8 * time.Hour,
		86:  6*time.Hour + 21*time.Minute,
		88:  4 * time.Hour,
		90:  2*time.Hour + 31*time.Minute,
		91:  2 * time.Hour,
		94:  time.Hour,
		95:  47*time.Minute + 37*time.Second,
		97:  30 * time.Minute,
		100: 15 * time.Minute,
		103: 7*time.Minute + 30*time.Second,
		106: 3*time.Minute + 45*time.Second,
	} {
		got := AllowedExposure(level)
		round := time.Minute
		if want < time.Hour {
			round = time.Second
		}
		if off := (got - want).Abs(); off > round {
			t.Errorf("%g dB(A) for %v; the table has %v", level, got, want)
		}
	}
	for _, quiet := range []float64{0, 60, math.Inf(-1)} {
		if got := AllowedExposure(quiet); got != 24*time.Hour {
			t.Errorf("%g dB(A) for %v; a day has 24 h", quiet, got)
		}
	}
}

// Worked by hand: half the time is 3.01 dB less, a quarter 6.02 dB.
func TestDailyExposureCountsTheTime(t *testing.T) {
	for hours, want := range map[float64]float64{8: 90, 4: 90 - 3.0103, 2: 90 - 6.0206} {
		if got := DailyExposure(90, time.Duration(hours*float64(time.Hour))); math.Abs(got-want) > 1e-4 {
			t.Errorf("90 dB(A) for %g h is %g over 8 h, want %g", hours, got, want)
		}
	}
}

// How long one may stand where a level holds.
func ExampleAllowedExposure() {
	for _, level := range []float64{85, 88, 100} {
		fmt.Println(level, "dB(A):", AllowedExposure(level))
	}
	// Output:
	// 85 dB(A): 8h0m0s
	// 88 dB(A): 4h0m0s
	// 100 dB(A): 15m0s
}
