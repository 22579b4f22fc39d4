package say

import (
	"fmt"
	"math"
)

// Minutes writes a time of work in whole minutes, up: "38 minutes", "1 h 05 min".
func Minutes(minutes float64) string {
	whole := int(math.Ceil(minutes - spare))
	if whole < 60 {
		return Count(whole, "minute", "minutes")
	}
	return fmt.Sprintf("%d h %02d min", whole/60, whole%60)
}

// Span writes a part of a day, given in seconds: "45 s", "4 min 30 s". From an
// hour on it is in whole minutes, up.
func Span(seconds float64) string {
	s := int(math.Round(seconds))
	switch {
	case s >= 3600:
		return Minutes(float64(s) / 60)
	case s >= 60 && s%60 != 0:
		return fmt.Sprintf("%d min %02d s", s/60, s%60)
	case s >= 60:
		return fmt.Sprintf("%d min", s/60)
	}
	return fmt.Sprintf("%d s", s)
}
