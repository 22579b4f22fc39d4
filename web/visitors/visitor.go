package visitors

import (
	"crypto/subtle"
	"fmt"
	"math"
	"net/http"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"pinwright/timing"
	"pinwright/timing/window"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/place/cards"
	"pinwright/wheel/say"
)

// visitorPage is the screen that visitors see while they turn the crank. Nothing
// on it can change anything.
type visitorPage struct {
	Title      string
	Story      string
	PinningID  int64
	Beat       wheel.Cranking
	BeatsPer   int     // to the bar
	RedLineBPM float64 // above it the screen says to turn slower
	TopBPM     float64 // the fastest for visitors
	Ask, Most  cards.Speeds
	Machine    *wheel.Machine
	Rim        string // the wheel's pins, as a path
	Leaves     string // where the screen leads when it is left
	Code       bool   // digits are asked for
}

func (s *area) visitor(w http.ResponseWriter, r *http.Request) error {
	at, err := s.songAt(r)
	if err != nil {
		return err
	}
	p, song, m, turn := at.programme, at.song, at.machine, at.turn
	leaves := page.ProgrammeURL(p.ID) + "#song-" + chi.URLParam(r, "n")
	if why := cards.CheckTempo(song.TempoBPM, at.window.TempoWindow); why != nil {
		lines := append([]string{fmt.Sprintf("%s: %v.", song.Title, why)}, window.Remedy(m.Works, turn, at.window.Own, p.Name)...)
		s.Show(w, r, http.StatusConflict, visitorRefused(s.Frame(r, "No visitors’ screen for this song"), lines, leaves))
		return nil
	}
	visitors, err := s.Store.Visitors(r.Context())
	if err != nil {
		return err
	}
	wh := m.File.Wheel
	s.Show(w, r, http.StatusOK, visitorView(visitorPage{
		Title: song.Title, Story: song.Story, PinningID: song.PinningID,
		Beat: wh.CrankAt(song.TempoBPM), BeatsPer: wh.BeatsPerBar,
		RedLineBPM: at.window.RedLineBPM, TopBPM: at.window.TopBPM, Machine: m.File,
		Ask: cards.Asked(wh, song.TempoBPM), Most: cards.Most(wh, at.window.TopBPM),
		Rim: rimPath(turn, len(m.File.Channels), wh.Steps), Code: visitors.LeaveCode != "", Leaves: leaves,
	}))
	return nil
}

// finestRim is how many strokes round the rim can be told apart.
const finestRim = 512

// rimPath is a stroke on the wheel's rim for each step with a pin, the seam at
// the top.
func rimPath(turn *timing.Turn, channels, steps int) string {
	fine := min(steps, finestRim)
	has := make([]bool, fine)
	for step := range steps {
		for c := 0; c < channels && !has[step*fine/steps]; c++ {
			has[step*fine/steps] = turn.Has(c, step)
		}
	}
	var path strings.Builder
	for i, pin := range has {
		if !pin {
			continue
		}
		sin, cos := math.Sincos(float64(i) / float64(fine) * 2 * math.Pi)
		fmt.Fprintf(&path, "M%.2f %.2fL%.2f %.2f", 39*sin, -39*cos, 44*sin, -44*cos)
	}
	return path.String()
}

// leaveVisitors says whether the digits sent are those with which the visitors'
// screen is left. It changes nothing.
func (s *area) leaveVisitors(w http.ResponseWriter, r *http.Request) error {
	visitors, err := s.Store.Visitors(r.Context())
	if err != nil {
		return err
	}
	code := r.PostForm.Get("code")
	if visitors.LeaveCode == "" {
		w.WriteHeader(http.StatusNoContent)
		return nil
	}
	if code == "" {
		return wheel.Refuse(wheel.ErrForbidden, "The code to leave this screen is asked for.") // which is no try
	}
	right, wait := s.leaving.try(page.ClientAddress(r.RemoteAddr), s.Now(), func() bool {
		return subtle.ConstantTimeCompare([]byte(code), []byte(visitors.LeaveCode)) == 1
	})
	switch seconds := int(math.Ceil(wait.Seconds())); {
	case right:
		w.WriteHeader(http.StatusNoContent)
		return nil
	case wait > 0:
		w.Header().Set("Retry-After", strconv.Itoa(seconds))
		return wheel.Refuse(wheel.ErrTooMany, "Too many wrong codes on this screen. Wait %s, then try once more.", say.Count(seconds, "second", "seconds"))
	}
	return wheel.Refuse(wheel.ErrForbidden, "That is not the code.")
}
