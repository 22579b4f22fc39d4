package visitors

import (
	"net/http"
	"strings"
	"time"

	"pinwright/timing/noise"
	"pinwright/web/page"
)

// noisePage answers how long one may stand where a level holds.
type noisePage struct {
	page.Frame
	Level, Hours string // as typed
	Problem      []string
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
		stay, err := readStay(page.Asked(r))
		if err != nil {
			view.Problem = strings.Split(err.Error(), "\n")
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

// readStay reads a level and hours; hours left out are eight.
func readStay(f *page.Form) (noise.Stay, error) {
	level, hours := f.Number("level", "The level", "dB(A)", noise.LeastDBA, noise.MostDBA), 8.0
	if f.Text("hours") != "" {
		var err error
		if hours, err = page.ReadNumber(f.Text("hours")); err != nil || !(hours >= noise.LeastStay.Hours() && hours <= noise.Day.Hours()) {
			f.Wrong("hours", "The time", "from 0.017 (a minute) to 24 hours")
		}
	}
	if err := f.Err(); err != nil {
		return noise.Stay{}, err
	}
	return noise.StayAt(level, time.Duration(hours*float64(time.Hour))), nil
}
