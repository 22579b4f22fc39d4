package web

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"time"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// crankWatch is what a sensor at the crank has told since the program was
// started. It is kept in memory alone.
type crankWatch struct {
	mu      sync.Mutex
	machine int64 // that it counts for
	ownTime bool  // the sensor sends times of its own
	watch   timing.CrankWatch
	turned  time.Time // when a count that had grown was last taken; zero: never
	heard   time.Time // when a count was last taken
	sent    time.Time // when anything came last, sense or nonsense
	problem string    // what was wrong with what it sent last
}

// When a crank is said to stand still and a sensor to be silent. A slow turn may
// take longer than either: a crank is waited for until it would be at a rest, see
// [timing.RestRatio].
const (
	stillAfter  = 3 * time.Second
	silentAfter = 10 * time.Second
)

// state of the crank, with a sentence where there is something to say.
func (c *crankWatch) state(now time.Time) (state, says string) {
	m, measured := c.watch.Measured()
	rest := max(stillAfter, time.Duration(timing.RestRatio*min(m.LastS, 1e6)*float64(time.Second)))
	switch {
	case c.sent.IsZero():
		return "none", "No sensor has been heard."
	case c.heard.IsZero():
		return "none", "A sensor is heard; nothing that it sent makes sense."
	case !c.turned.IsZero() && now.Sub(c.turned) <= rest:
		if !measured {
			says = "The sensor is heard; the crank has not been turned long enough to tell its speed."
		}
		return "turning", says
	case now.Sub(c.heard) <= silentAfter && c.turned.IsZero():
		return "still", "The sensor is heard; the crank has not been turned yet."
	case now.Sub(c.heard) <= silentAfter:
		return "still", fmt.Sprintf("The crank has not turned for %s; what was told last stands.", spanWords(now.Sub(c.turned).Seconds()))
	case now.Sub(c.sent) <= silentAfter:
		return "silent", fmt.Sprintf("Nothing that the sensor has sent for %s makes sense; what it told last stands.", spanWords(now.Sub(c.heard).Seconds()))
	}
	return "silent", fmt.Sprintf("The sensor has been silent for %s; what it told last stands.", spanWords(now.Sub(c.sent).Seconds()))
}

// crankTold is what a sensor sends: {"turn": n, "at_s": t}, or n alone.
type crankTold struct {
	Turn *float64 `json:"turn"`
	AtS  *float64 `json:"at_s"`
}

const crankForm = `{"turn": 12, "at_s": 83.4}, or a bare count such as 12`

func readCrankTold(body io.Reader) (crankTold, error) {
	data, err := io.ReadAll(io.LimitReader(body, 4096))
	if err != nil {
		return crankTold{}, brokenOff(err)
	}
	data = bytes.TrimSpace(data)
	var told crankTold
	if len(data) > 0 && data[0] != '{' {
		var count float64
		if err := json.Unmarshal(data, &count); err != nil || bytes.Equal(data, []byte("null")) {
			return told, wheel.Refuse(wheel.ErrInvalid, "The sensor sent %q; it should send %s.", say.Short(string(data)), crankForm)
		}
		return crankTold{Turn: &count}, nil
	}
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&told); err != nil || dec.More() {
		return told, wheel.Refuse(wheel.ErrInvalid, "The sensor sent %q; it should send %s.", say.Short(string(data)), crankForm)
	}
	if told.Turn == nil {
		return told, wheel.Refuse(wheel.ErrInvalid, "The sensor sent no turn; it should send %s.", crankForm)
	}
	return told, nil
}

// crankTurned takes what a sensor tells of the crank.
func (s *server) crankTurned(w http.ResponseWriter, r *http.Request) error {
	m, err := s.currentMachine(r.Context())
	if err != nil {
		return err
	}
	if m == nil {
		return wheel.Refuse(wheel.ErrConflict, "There is no machine whose crank this could be; bring its machine file first.")
	}
	told, err := readCrankTold(r.Body)
	now := s.Now()
	c := &s.crankAt
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.machine != m.ID {
		c.machine, c.watch, c.problem = m.ID, timing.CrankWatch{}, ""
		c.turned, c.heard = time.Time{}, time.Time{}
	}
	c.sent = now
	if err == nil {
		at := float64(now.UnixNano()) / 1e9
		if told.AtS != nil {
			at = *told.AtS
		}
		if own := told.AtS != nil; own != c.ownTime {
			c.ownTime, c.watch = own, timing.CrankWatch{}
		}
		var turned bool
		switch turned, err = c.watch.Turned(m.File.Wheel, *told.Turn, at); {
		case err != nil:
			err = wheel.Refuse(wheel.ErrInvalid, "%s", say.Sentence(err))
		case turned:
			c.turned, c.heard = now, now
		default:
			c.heard = now
		}
	}
	c.problem = ""
	if err != nil {
		c.problem = err.Error()
		return err
	}
	w.WriteHeader(http.StatusNoContent)
	return nil
}

// crankSays is what the pages show of a crank that is turned.
type crankSays struct {
	State    string   `json:"state"` // "none", "turning", "still" or "silent"
	Says     string   `json:"says"`
	Problem  string   `json:"problem"` // what was wrong with what came last
	BPM      *float64 `json:"bpm"`
	LastBPM  *float64 `json:"last_bpm"`
	CrankRPM *float64 `json:"crank_rpm"`
	Wander   *float64 `json:"wander"`
	WanderSE *float64 `json:"wander_se"` // its standard error
	Spans    int      `json:"spans"`
	Beats    float64  `json:"beats"`
	Slower   bool     `json:"slower"` // it is being turned, above the red line
	Judged   string   `json:"judged"` // whether that is inside the window of the pinning asked for
}

// crankNow is what the sensor tells, judged by the window of a pinning if one is
// asked for.
func (s *server) crankNow(w http.ResponseWriter, r *http.Request) error {
	m, win, err := s.crankWindow(r)
	if err != nil {
		return err
	}
	c := &s.crankAt
	c.mu.Lock()
	says := crankSays{State: "none", Says: "No sensor has been heard."}
	var measured timing.Measured
	ok, present := false, false
	if c.machine == m.ID {
		says.State, says.Says = c.state(s.Now())
		says.Problem = c.problem
		measured, ok = c.watch.Measured()
		present = says.State == "turning" && c.watch.Current()
	}
	c.mu.Unlock()
	if ok {
		says.fill(m.File.Wheel, measured, win, present)
	}
	return answerJSON(w, says)
}

// crankTapped measures taps, one for each turn of the crank or each beat, given
// by their times in seconds.
func (s *server) crankTapped(w http.ResponseWriter, r *http.Request) error {
	m, win, err := s.crankWindow(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	beats := 1.0
	switch per := q.Get("per"); per {
	case "beat":
	case "turn", "":
		if beats = m.File.Wheel.CrankAt(60).Beats; beats == 0 {
			return wheel.Refuse(wheel.ErrInvalid, "The file of %s does not say how many turns of the crank make one of the wheel; tap with the beat.", m.File.Name)
		}
	default:
		return wheel.Refuse(wheel.ErrInvalid, "Taps are told per %q; it should be “turn” or “beat”.", say.Short(per))
	}
	var passings []timing.Passing
	for text := range strings.SplitSeq(q.Get("at"), ",") {
		at, err := strconv.ParseFloat(text, 64)
		if err != nil || math.IsNaN(at) || math.Abs(at) > 1e12 || len(passings) == 512 {
			return wheel.Refuse(wheel.ErrInvalid, "The times of taps are %q; they should be up to 512 numbers of seconds between commas.", say.Short(q.Get("at")))
		}
		passings = append(passings, timing.Passing{Beats: float64(len(passings)) * beats, AtS: at})
	}
	says := crankSays{State: "turning"}
	measured, err := timing.MeasureCrank(passings)
	if err != nil {
		says.Says = say.Sentence(err)
	} else {
		says.fill(m.File.Wheel, measured, win, true)
	}
	return answerJSON(w, says)
}

// fill says what was measured; present is whether it is turned like that now.
func (c *crankSays) fill(w wheel.Wheel, m timing.Measured, win *timing.Window, present bool) {
	c.BPM, c.LastBPM, c.Spans, c.Beats = &m.BPM, &m.LastBPM, m.Spans, m.Beats
	if m.WanderOK {
		c.Wander, c.WanderSE = &m.Wander, &m.WanderSE
	}
	if rpm := w.CrankAt(m.LastBPM).Turns; rpm > 0 {
		c.CrankRPM = &rpm
	}
	if win == nil {
		return
	}
	over := win.MaxSafeBPM > 0 && m.LastBPM > win.MaxSafeBPM
	c.Slower = over && present
	span := fmt.Sprintf("%s to %s BPM", say.TempoUp(win.FromBPM), say.TempoDown(win.ToBPM))
	switch {
	case c.Slower:
		c.Judged = fmt.Sprintf("Slower: the red line is at %s BPM.", say.TempoDown(win.MaxSafeBPM))
	case over:
		c.Judged = fmt.Sprintf("It was above the red line at %s BPM.", say.TempoDown(win.MaxSafeBPM))
	case !win.Open:
		c.Judged = "There is no window for this pinning."
	case win.Holds(m.LastBPM):
		c.Judged = "Inside the window, " + span + "."
	case m.LastBPM > win.ToBPM:
		c.Judged = "Above the window, " + span + "."
	default:
		c.Judged = "Below the window, " + span + "."
	}
}

// crankWindow is the machine whose crank is meant and, where the address names a
// pinning, its window.
func (s *server) crankWindow(r *http.Request) (*store.Machine, *timing.Window, error) {
	text := r.URL.Query().Get("pinning")
	if text == "" {
		m, err := s.currentMachine(r.Context())
		if err == nil && m == nil {
			err = wheel.Refuse(wheel.ErrConflict, "There is no machine yet; bring a machine file.")
		}
		return m, nil, err
	}
	id, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return nil, nil, wheel.Refuse(wheel.ErrInvalid, "The pinning asked for is %q; it should be the number of one.", say.Short(text))
	}
	p, err := s.Store.Pinning(r.Context(), id)
	if err != nil {
		return nil, nil, err
	}
	m, err := s.worked(r.Context(), p.MachineID)
	if err != nil {
		return nil, nil, err
	}
	turn, err := m.Turn(p.File)
	if err != nil {
		return nil, nil, err
	}
	visitors, err := s.Store.Visitors(r.Context())
	if err != nil {
		return nil, nil, err
	}
	win := turn.Window(visitors.Margin)
	return m.Machine, &win, nil
}

func answerJSON(w http.ResponseWriter, answer any) error {
	w.Header().Set("Content-Type", "application/json")
	return json.NewEncoder(w).Encode(answer)
}

// crankPage is where crew see how a crank is turned.
type crankPage struct {
	frame
	HasMachine bool
	Wheel      wheel.Wheel
	MachineID  int64
	Name       string // of the machine
	Wander     float64
	Revision   int
	Pinnings   []store.PinningRow
	Pinning    string
	Address    string
	Beats      int // from which a wander is told
	Turns      int // of the crank that they are; 0 where the file does not say
}

func (s *server) crank(w http.ResponseWriter, r *http.Request) error {
	page := crankPage{frame: s.frame(r, "The crank"), Pinning: r.URL.Query().Get("pinning"), Address: "http://" + r.Host + "/crank", Beats: timing.MinWanderBeats}
	page.frame.Here = "/programmes"
	m, err := s.currentMachine(r.Context())
	if err != nil {
		return err
	}
	if m != nil {
		page.HasMachine, page.MachineID, page.Name, page.Revision = true, m.ID, m.File.Name, m.Revision
		page.Wheel, page.Wander = m.File.Wheel, m.File.Limits.Wander
		if beats := page.Wheel.CrankAt(60).Beats; beats > 0 {
			page.Turns = int(min(max(math.Ceil(timing.MinWanderBeats/beats), timing.MinWanderSpans), 1e9))
		}
		if page.Pinnings, err = s.Store.Pinnings(r.Context(), m.ID); err != nil {
			return err
		}
	}
	s.show(w, r, http.StatusOK, crankView(page))
	return nil
}

// mostWanderPercent is the most that a machine's file may have.
const mostWanderPercent = 50

// keepWander makes a measured wander the machine's own.
func (s *server) keepWander(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return brokenOff(err)
	}
	m, err := s.currentMachine(r.Context())
	if err != nil {
		return err
	}
	if m == nil {
		return wheel.Refuse(wheel.ErrConflict, "There is no machine whose wander this could be.")
	}
	id, err := strconv.ParseInt(r.PostForm.Get("machine"), 10, 64)
	if err != nil {
		return wheel.Refuse(wheel.ErrInvalid, "The page does not say which machine's wander it changes; open it again.")
	}
	if id != m.ID {
		return s.otherMachine(r.Context(), id, m)
	}
	text := r.PostForm.Get("wander")
	percent, err := readNumber(text)
	if err != nil || !(percent >= 0 && percent <= mostWanderPercent) {
		return wheel.Refuse(wheel.ErrInvalid, "The wander is %q; it should be a number of per cent, 0 to %d.", say.Short(text), mostWanderPercent)
	}
	revision, err := strconv.Atoi(r.PostForm.Get("revision"))
	if err != nil {
		return wheel.Refuse(wheel.ErrInvalid, "The page does not say which state of the machine it changes; open it again.")
	}
	err = s.Store.ChangeMachine(r.Context(), m.ID, revision, r.PostForm.Get("reason"), []wheel.Set{{Path: "limits.wander", Value: math.Round(percent*1e4) / 1e6}})
	if err != nil {
		return err
	}
	s.machineChanged(r.Context(), m.ID)
	return see(w, r, "/crank")
}

// otherMachine refuses a wander that was measured while another machine was
// chosen.
func (s *server) otherMachine(ctx context.Context, measured int64, now *store.Machine) error {
	was := "a machine that has been removed"
	switch m, err := s.Store.Machine(ctx, measured); {
	case err == nil:
		was = m.File.Name
	case !errors.Is(err, wheel.ErrNotFound):
		return err
	}
	return wheel.Refuse(wheel.ErrConflict, "The page was opened for %s, and %s has been chosen since; nothing is changed. Choose the machine that was measured and open the page again.", was, now.File.Name)
}
