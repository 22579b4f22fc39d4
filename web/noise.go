package web

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"pinwright/timing"
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

// Levels that the page takes, in dB(A).
const (
	leastDBA = 0
	mostDBA  = 140
)

func (s *server) noise(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	page := noisePage{frame: s.frame(r, "Noise"), Level: q.Get("level"), Hours: q.Get("hours")}
	page.frame.Here = "/programmes"
	for level := 80.0; level <= 106; level += 2 {
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
	number := func(text string) (float64, error) {
		return strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), ",", ".", 1), 64)
	}
	level, err := number(levelText)
	if err != nil || !(level >= leastDBA && level <= mostDBA) {
		return noiseTold{}, refuse(http.StatusUnprocessableEntity, "The level is %q; it should be %d to %d dB(A).", clip(levelText), leastDBA, mostDBA)
	}
	hours := 8.0
	if strings.TrimSpace(hoursText) != "" {
		if hours, err = number(hoursText); err != nil || !(hours > 0 && hours <= 24) {
			return noiseTold{}, refuse(http.StatusUnprocessableEntity, "The time is %q; it should be above 0 and up to 24 hours.", clip(hoursText))
		}
	}
	stand := time.Duration(hours * float64(time.Hour))
	t := noiseTold{LevelDBA: level, Hours: hours, Allowed: timing.AllowedExposure(level), Daily: timing.DailyExposure(level, stand)}
	if stand > t.Allowed {
		t.Says = append(t.Says, fmt.Sprintf("%s hours at %s dB(A) are longer than what uses up a day’s recommended noise, %s.", trimmed(hours), trimmed(level), exposureWords(t.Allowed)))
	}
	switch {
	case t.Daily >= timing.UpperActionDBA:
		t.Says = append(t.Says, fmt.Sprintf("%s dB(A) over 8 hours is at or above the upper action value of Directive 2003/10/EC, %d dB(A).", oneDecimal(t.Daily), timing.UpperActionDBA))
	case t.Daily >= timing.LowerActionDBA:
		t.Says = append(t.Says, fmt.Sprintf("%s dB(A) over 8 hours is at or above the lower action value of Directive 2003/10/EC, %d dB(A).", oneDecimal(t.Daily), timing.LowerActionDBA))
	default:
		t.Says = append(t.Says, fmt.Sprintf("%s dB(A) over 8 hours is below the lower action value of Directive 2003/10/EC, %d dB(A). That is no clearance.", oneDecimal(t.Daily), timing.LowerActionDBA))
	}
	return t, nil
}

// exposureWords is a time of exposure for people, never longer than it is.
func exposureWords(d time.Duration) string {
	s := int(d / time.Second)
	switch {
	case d >= 24*time.Hour:
		return "a whole day"
	case s >= 3600:
		return fmt.Sprintf("%d h %02d min", s/3600, s%3600/60)
	case s >= 60:
		return fmt.Sprintf("%d min %02d s", s/60, s%60)
	case s >= 1:
		return fmt.Sprintf("%d s", s)
	}
	return "under a second"
}
