package web

import (
	"crypto/subtle"
	"fmt"
	"math"
	"net/http"
	"strings"
	"sync"
	"time"

	"github.com/go-chi/chi/v5"

	"pinwright/timing"
)

// visitorPage is the screen that visitors see while they turn the crank. Nothing
// on it can change anything.
type visitorPage struct {
	Title      string
	Story      string
	PinningID  int64
	Beat       timing.Cranking
	BeatsPer   int     // to the bar
	RedLineBPM float64 // 0: none is known
	RedTurns   float64 // of the crank in a minute
	Rim        string  // the wheel's pins, as a path
	Leaves     string  // where the screen leads when it is left
	Code       bool    // digits are asked for
}

func (s *server) visitor(w http.ResponseWriter, r *http.Request) error {
	p, song, m, turn, err := s.askedSong(r)
	if err != nil {
		return err
	}
	visitors, err := s.Store.Visitors(r.Context())
	if err != nil {
		return err
	}
	wh := m.File.Wheel
	page := visitorPage{
		Title: song.Title, Story: song.Story, PinningID: song.PinningID,
		Beat: timing.CrankAt(wh, song.TempoBPM), BeatsPer: wh.BeatsPerBar,
		Rim: rimPath(turn, len(m.File.Channels), wh.Steps), Code: visitors.LeaveCode != "",
		Leaves: fmt.Sprintf("/programmes/%d#song-%s", p.ID, chi.URLParam(r, "n")),
	}
	if bpm, ok := turn.MaxSafe(); ok {
		page.RedLineBPM, page.RedTurns = bpm, timing.CrankAt(wh, bpm).Turns
	}
	s.show(w, r, http.StatusOK, visitorView(page))
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

// leaveGuard slows whoever tries one code after another.
type leaveGuard struct {
	mu    sync.Mutex
	wrong []time.Time
}

const (
	maxLeaveTries = 5
	leaveWindow   = time.Minute
)

// leaveVisitors says whether the digits sent are those with which the visitors'
// screen is left. It changes nothing.
func (s *server) leaveVisitors(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return brokenOff(err)
	}
	visitors, err := s.Store.Visitors(r.Context())
	if err != nil {
		return err
	}
	now := s.Now()
	g := &s.leaving
	g.mu.Lock()
	defer g.mu.Unlock()
	for len(g.wrong) > 0 && now.Sub(g.wrong[0]) > leaveWindow {
		g.wrong = g.wrong[1:]
	}
	if len(g.wrong) >= maxLeaveTries {
		return refuse(http.StatusTooManyRequests, "Too many wrong codes; wait a minute.")
	}
	if visitors.LeaveCode != "" && subtle.ConstantTimeCompare([]byte(r.PostForm.Get("code")), []byte(visitors.LeaveCode)) != 1 {
		g.wrong = append(g.wrong, now)
		return refuse(http.StatusForbidden, "That is not the code.")
	}
	w.WriteHeader(http.StatusNoContent)
	return nil
}
