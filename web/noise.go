package web

import (
	"cmp"
	"fmt"
	"math"
	"net/http"
	"strings"
	"time"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// noisePage answers how long one may stand where a level holds.
type noisePage struct {
	frame
	Level, Hours string // as typed
	Problem      string
	Told         *noiseTold
	Table        []noiseRow
}

type noiseTold struct {
	LevelDBA float64
	Hours    float64
	Allowed  time.Duration
	Daily    float64 // dB(A) over 8 hours
	Says     []string
}

type noiseRow struct {
	LevelDBA float64
	Allowed  time.Duration
}

// Levels that the page takes, in dB(A), and times.
const (
	leastDBA   = 0
	mostDBA    = 140
	leastStand = time.Minute
	mostStand  = 24 * time.Hour
)

// noiseLevels are those of the page's table: from the action values up in steps
// of 3 dB, and what is below the limit.
var noiseLevels = []float64{80, 82, 85, 88, 91, 94, 97, 100, 103, 106}

func (s *server) noise(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	page := noisePage{frame: s.frame(r, "Noise"), Level: q.Get("level"), Hours: q.Get("hours")}
	page.frame.Here = "/programmes"
	for _, level := range noiseLevels {
		page.Table = append(page.Table, noiseRow{level, timing.AllowedExposure(level)})
	}
	if page.Level != "" {
		told, err := tellNoise(page.Level, page.Hours)
		if err != nil {
			page.Problem = err.Error()
		} else {
			page.Told = &told
		}
	}
	if page.Hours == "" {
		page.Hours = "8"
	}
	s.show(w, r, http.StatusOK, noiseView(page))
	return nil
}

func tellNoise(levelText, hoursText string) (noiseTold, error) {
	level, err := readNumber(levelText)
	if err != nil || !(level >= leastDBA && level <= mostDBA) {
		return noiseTold{}, wheel.Refuse(wheel.ErrInvalid, "The level is %q; it should be %d to %d dB(A).", say.Short(levelText), leastDBA, mostDBA)
	}
	hours := 8.0
	if strings.TrimSpace(hoursText) != "" {
		if hours, err = readNumber(hoursText); err != nil || !(hours >= leastStand.Hours() && hours <= mostStand.Hours()) {
			return noiseTold{}, wheel.Refuse(wheel.ErrInvalid, "The time is %q; it should be from a minute, 0.017, up to 24 hours.", say.Short(hoursText))
		}
	}
	stand := time.Duration(hours * float64(time.Hour))
	daily := math.Round(timing.DailyExposure(level, stand)*1e9) / 1e9 // below that it is the arithmetic's own noise
	t := noiseTold{LevelDBA: level, Hours: hours, Allowed: timing.AllowedExposure(level), Daily: daily}
	if stand > t.Allowed {
		t.Says = append(t.Says, fmt.Sprintf("%s hours at %s dB(A) are longer than what uses up a day’s recommended noise, %s.", say.Number(hours), dbaWords(level, 3), exposureWords(t.Allowed)))
	}
	t.Says = append(t.Says, dbaWords(daily, 1)+" dB(A) over 8 hours is "+actionWords(daily))
	return t, nil
}

// actionWords is where a day's exposure lies by the action values, each of which
// is reached by a level that is just as high.
func actionWords(daily float64) string {
	const directive = "Directive 2003/10/EC"
	switch {
	case daily >= timing.UpperActionDBA:
		return fmt.Sprintf("at or above both action values of %s, the lower of %d dB(A) and the upper of %d.", directive, timing.LowerActionDBA, timing.UpperActionDBA)
	case daily >= timing.LowerActionDBA:
		return fmt.Sprintf("at or above the lower action value of %s, %d dB(A), and below the upper one, %d dB(A).", directive, timing.LowerActionDBA, timing.UpperActionDBA)
	}
	return fmt.Sprintf("below the lower action value of %s, %d dB(A). That is no clearance.", directive, timing.LowerActionDBA)
}

// dbaWords is a level to so many decimals, or to more where fewer would put it
// onto or across an action value.
func dbaWords(level float64, decimals int) string {
	side := func(v float64) int {
		return cmp.Compare(v, timing.LowerActionDBA) + cmp.Compare(v, timing.UpperActionDBA)
	}
	for ; decimals < 15; decimals++ {
		unit := math.Pow10(decimals)
		if shown := math.Round(level*unit) / unit; side(shown) == side(level) {
			return say.Number(shown)
		}
	}
	return say.Number(level)
}

// exposureWords is a time of exposure for people, never longer than it is.
func exposureWords(d time.Duration) string {
	s := int(d / time.Second)
	switch {
	case d >= mostStand:
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
