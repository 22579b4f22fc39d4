package web

import (
	"net/http"
	"strings"
	"time"

	"pinwright/timing/noise"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// noisePage answers how long one may stand where a level holds.
type noisePage struct {
	frame
	Level, Hours string // as typed
	Problem      string
	Stay         *noise.Stay
	Table        []noiseRow
}

type noiseRow struct {
	LevelDBA float64
	Allowed  time.Duration
}

func (s *server) noise(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	page := noisePage{frame: s.frame(r, "Noise"), Level: q.Get("level"), Hours: q.Get("hours")}
	page.frame.Here = "/programmes"
	for _, level := range noise.TableDBA {
		page.Table = append(page.Table, noiseRow{level, noise.AllowedExposure(level)})
	}
	if page.Level != "" {
		stay, err := readStay(page.Level, page.Hours)
		if err != nil {
			page.Problem = err.Error()
		} else {
			page.Stay = &stay
		}
	}
	if page.Hours == "" {
		page.Hours = "8"
	}
	s.show(w, r, http.StatusOK, noiseView(page))
	return nil
}

// readStay reads a level and hours as they were typed; hours left out are eight.
func readStay(levelText, hoursText string) (noise.Stay, error) {
	level, err := readNumber(levelText)
	if err != nil || !(level >= noise.LeastDBA && level <= noise.MostDBA) {
		return noise.Stay{}, wheel.Refuse(wheel.ErrInvalid, "The level is %q; it should be %d to %d dB(A).", say.Short(levelText), noise.LeastDBA, noise.MostDBA)
	}
	hours := 8.0
	if strings.TrimSpace(hoursText) != "" {
		if hours, err = readNumber(hoursText); err != nil || !(hours >= noise.LeastStay.Hours() && hours <= noise.Day.Hours()) {
			return noise.Stay{}, wheel.Refuse(wheel.ErrInvalid, "The time is %q; it should be from a minute, 0.017, up to 24 hours.", say.Short(hoursText))
		}
	}
	return noise.StayAt(level, time.Duration(hours*float64(time.Hour))), nil
}
