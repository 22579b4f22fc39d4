package visitors

import (
	"net/http"
	"strings"
	"time"

	"pinwright/timing/noise"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// noisePage answers how long one may stand where a level holds.
type noisePage struct {
	page.Frame
	Level, Hours string // as typed
	Problem      string
	Stay         *noise.Stay
	Table        []noiseRow
}

type noiseRow struct {
	LevelDBA float64
	Allowed  time.Duration
}

func (s *area) noise(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	view := noisePage{Frame: s.Frame(r, "Noise").Under(page.Link{Text: "Programmes", URL: "/programmes"}), Level: q.Get("level"), Hours: q.Get("hours")}
	view.Frame.Here = "/programmes"
	for _, level := range noise.TableDBA {
		view.Table = append(view.Table, noiseRow{level, noise.AllowedExposure(level)})
	}
	if view.Level != "" {
		stay, err := readStay(view.Level, view.Hours)
		if err != nil {
			view.Problem = err.Error()
		} else {
			view.Stay = &stay
		}
	}
	if view.Hours == "" {
		view.Hours = "8"
	}
	s.Show(w, r, http.StatusOK, noiseView(view))
	return nil
}

// readStay reads a level and hours as they were typed; hours left out are eight.
func readStay(levelText, hoursText string) (noise.Stay, error) {
	level, err := page.ReadNumber(levelText)
	if err != nil || !(level >= noise.LeastDBA && level <= noise.MostDBA) {
		return noise.Stay{}, wheel.Refuse(wheel.ErrInvalid, "The level is %q; it should be %d to %d dB(A).", say.Short(levelText), noise.LeastDBA, noise.MostDBA)
	}
	hours := 8.0
	if strings.TrimSpace(hoursText) != "" {
		if hours, err = page.ReadNumber(hoursText); err != nil || !(hours >= noise.LeastStay.Hours() && hours <= noise.Day.Hours()) {
			return noise.Stay{}, wheel.Refuse(wheel.ErrInvalid, "The time is %q; it should be from 0.017 (a minute) to 24 hours.", say.Short(hoursText))
		}
	}
	return noise.StayAt(level, time.Duration(hours*float64(time.Hour))), nil
}
