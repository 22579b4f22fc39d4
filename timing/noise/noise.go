package noise

import (
	"math"
	"time"
)

// Noise levels in dB(A) by which a day's noise is judged.
const (
	RecommendedLimitDBA = 85 // recommended exposure limit over 8 hours (NIOSH 98-126, 1.1)
	LowerActionDBA      = 80 // lower exposure action value, L_EX,8h (Directive 2003/10/EC, article 3)
	UpperActionDBA      = 85 // upper exposure action value, L_EX,8h (Directive 2003/10/EC, article 3)
)

// exchangeDB is by how much the level may be higher for half the time.
const exchangeDB = 3

// Day is the longest time of exposure there is.
const Day = 24 * time.Hour

// AllowedExposure is how long a level, in dB(A), uses up a day's recommended
// noise, by the 3 dB rule from 85 dB(A) over 8 hours:
//
//	T = 8 h / 2^((L − 85)/3)
//
// (NIOSH 98-126, equation 1.1), at most a day.
func AllowedExposure(levelDBA float64) time.Duration {
	hours := 8 / math.Pow(2, (levelDBA-RecommendedLimitDBA)/exchangeDB)
	if !(hours < Day.Hours()) {
		return Day
	}
	return time.Duration(hours * float64(time.Hour))
}

// DailyExposure is the level, in dB(A), that held over 8 hours would be the same
// noise as one held for a time of a day,
//
//	L_EX,8h = L + 10 lg(T / 8 h)
//
// (Directive 2003/10/EC by way of ISO 1999). The time is above 0.
func DailyExposure(levelDBA float64, t time.Duration) float64 {
	return levelDBA + 10*math.Log10(t.Hours()/8)
}
