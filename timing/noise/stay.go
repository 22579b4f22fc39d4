package noise

import (
	"cmp"
	"fmt"
	"math"
	"time"

	"pinwright/wheel/say"
)

// Levels, in dB(A), and times of a day that are judged.
const (
	LeastDBA  = 0
	MostDBA   = 140
	LeastStay = time.Minute
)

// TableDBA are levels to list with their times: from the lower action value up
// in steps of 3 dB about the recommended limit.
var TableDBA = []float64{80, 82, 85, 88, 91, 94, 97, 100, 103, 106}

// Stay is what standing for a time of a day where a level holds comes to.
type Stay struct {
	LevelDBA float64
	Time     time.Duration
	Allowed  time.Duration // see [AllowedExposure]
	DailyDBA float64       // see [DailyExposure]
}

// StayAt works out a stay. The level is LeastDBA to MostDBA, the time LeastStay to
// [Day].
func StayAt(levelDBA float64, t time.Duration) Stay {
	daily := math.Round(DailyExposure(levelDBA, t)*1e9) / 1e9 // without the last bits, so that a level reaches an action value of as much
	return Stay{levelDBA, t, AllowedExposure(levelDBA), daily}
}

// Sentences say whether a stay uses up a day's recommended noise, and where the
// day's exposure lies by the action values, each of which is reached by a level
// that is just as high.
func (s Stay) Sentences() (says []string) {
	if s.Time > s.Allowed {
		says = append(says, fmt.Sprintf("%s at %s dB(A) is longer than the time that uses up a day’s recommended noise, %s.",
			hoursText(s.Time), LevelText(s.LevelDBA, 3), TimeText(s.Allowed)))
	}
	return append(says, LevelText(s.DailyDBA, 1)+" dB(A) over 8 hours is "+s.action())
}

func (s Stay) action() string {
	const directive = "Directive 2003/10/EC"
	switch {
	case s.DailyDBA >= UpperActionDBA:
		return fmt.Sprintf("at or above both action values of %s, the lower of %d dB(A) and the upper of %d.", directive, LowerActionDBA, UpperActionDBA)
	case s.DailyDBA >= LowerActionDBA:
		return fmt.Sprintf("at or above the lower action value of %s, %d dB(A), and below the upper one, %d dB(A).", directive, LowerActionDBA, UpperActionDBA)
	}
	return fmt.Sprintf("below the lower action value of %s, %d dB(A). That clears nobody to stay there.", directive, LowerActionDBA)
}

// hoursText is a time in hours: "1 hour", "2.5 hours".
func hoursText(t time.Duration) string {
	if t == time.Hour {
		return "1 hour"
	}
	return say.Rounded(t.Hours(), 6) + " hours"
}

// LevelText writes a level to so many decimals, or to more where fewer would put
// it on or across an action value.
func LevelText(levelDBA float64, decimals int) string {
	side := func(v float64) int { return cmp.Compare(v, LowerActionDBA) + cmp.Compare(v, UpperActionDBA) }
	for ; decimals < 15; decimals++ {
		unit := math.Pow10(decimals)
		if shown := math.Round(levelDBA*unit) / unit; side(shown) == side(levelDBA) {
			return say.Number(shown)
		}
	}
	return say.Number(levelDBA)
}

// TimeText writes a time of exposure, never longer than it is.
func TimeText(t time.Duration) string {
	s := int(t / time.Second)
	switch {
	case t >= Day:
		return "more than a day"
	case s >= 3600:
		return fmt.Sprintf("%d h %02d min", s/3600, s%3600/60)
	case s >= 60:
		return fmt.Sprintf("%d min %02d s", s/60, s%60)
	case s >= 1:
		return fmt.Sprintf("%d s", s)
	}
	return "under a second"
}
