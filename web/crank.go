package web

import (
	"bytes"
	"encoding/json"
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
)

// crankWatch is what a sensor at the crank has told since the program was
// started. It is kept in memory alone.
type crankWatch struct {
	mu      sync.Mutex
	machine int64 // that it counts for
	ownTime bool  // the sensor sends times of its own
	watch   timing.CrankWatch
	heard   time.Time // when it was last heard; zero: never
	problem string    // what was wrong with what it sent last
}

// silentAfter is how long a sensor may say nothing before that is told.
const silentAfter = 10 * time.Second

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
			return told, refuse(http.StatusUnprocessableEntity, "The sensor sent %q; it should send %s.", clip(string(data)), crankForm)
		}
		return crankTold{Turn: &count}, nil
	}
	dec := json.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	if err := dec.Decode(&told); err != nil || dec.More() {
		return told, refuse(http.StatusUnprocessableEntity, "The sensor sent %q; it should send %s.", clip(string(data)), crankForm)
	}
	if told.Turn == nil {
		return told, refuse(http.StatusUnprocessableEntity, "The sensor sent no turn; it should send %s.", crankForm)
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
		return refuse(http.StatusConflict, "There is no machine whose crank this could be; bring its machine file first.")
	}
	told, err := readCrankTold(r.Body)
	now := s.Now()
	c := &s.crankAt
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.machine != m.ID {
		c.machine, c.watch, c.heard, c.problem = m.ID, timing.CrankWatch{}, time.Time{}, ""
	}
	c.heard = now
	if err == nil {
		at := float64(now.UnixNano()) / 1e9
		if told.AtS != nil {
			at = *told.AtS
		}
		if own := told.AtS != nil; own != c.ownTime {
			c.ownTime, c.watch = own, timing.CrankWatch{}
		}
		if err = c.watch.Turned(m.File.Wheel, *told.Turn, at); err != nil {
			err = refuse(http.StatusUnprocessableEntity, "%s", sentence(err))
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
	State    string   `json:"state"` // "none", "turning" or "silent"
	Says     string   `json:"says"`
	Problem  string   `json:"problem"` // what was wrong with what came last
	BPM      *float64 `json:"bpm"`
	LastBPM  *float64 `json:"last_bpm"`
	CrankRPM *float64 `json:"crank_rpm"`
	Wander   *float64 `json:"wander"`
	Spans    int      `json:"spans"`
	Slower   bool     `json:"slower"` // above the red line
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
	heard, problem := c.heard, c.problem
	measured, ok := c.watch.Measured()
	if c.machine != m.ID {
		heard, problem, ok = time.Time{}, "", false
	}
	c.mu.Unlock()
	says := crankSays{State: "none", Says: "No sensor has been heard.", Problem: problem}
	if !heard.IsZero() {
		says.State, says.Says = "turning", ""
		if silent := s.Now().Sub(heard); silent > silentAfter {
			says.State, says.Says = "silent", fmt.Sprintf("The sensor has been silent for %s; what it told last stands.", spanWords(silent.Seconds()))
		} else if !ok {
			says.Says = "The sensor is heard; the crank has not been turned long enough to tell its speed."
		}
	}
	if ok {
		says.fill(m.File.Wheel, measured, win)
		says.Slower = says.Slower && says.State == "turning"
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
		if beats = timing.CrankAt(m.File.Wheel, 60).Beats; beats == 0 {
			return refuse(http.StatusUnprocessableEntity, "The file of %s does not say how many turns of the crank make one of the wheel; tap with the beat.", m.File.Name)
		}
	default:
		return refuse(http.StatusUnprocessableEntity, "Taps are told per %q; it should be “turn” or “beat”.", clip(per))
	}
	var passings []timing.Passing
	for text := range strings.SplitSeq(q.Get("at"), ",") {
		at, err := strconv.ParseFloat(text, 64)
		if err != nil || math.IsNaN(at) || math.Abs(at) > 1e12 || len(passings) == 512 {
			return refuse(http.StatusUnprocessableEntity, "The times of taps are %q; they should be up to 512 numbers of seconds between commas.", clip(q.Get("at")))
		}
		passings = append(passings, timing.Passing{Beats: float64(len(passings)) * beats, AtS: at})
	}
	says := crankSays{State: "turning"}
	measured, err := timing.MeasureCrank(passings)
	if err != nil {
		says.Says = sentence(err)
	} else {
		says.fill(m.File.Wheel, measured, win)
	}
	return answerJSON(w, says)
}

func (c *crankSays) fill(w wheel.Wheel, m timing.Measured, win *timing.Window) {
	c.BPM, c.LastBPM, c.Spans = &m.BPM, &m.LastBPM, m.Spans
	if m.WanderOK {
		c.Wander = &m.Wander
	}
	if rpm := timing.CrankAt(w, m.LastBPM).Turns; rpm > 0 {
		c.CrankRPM = &rpm
	}
	if win == nil {
		return
	}
	c.Slower = win.MaxSafeBPM > 0 && m.LastBPM > win.MaxSafeBPM
	span := fmt.Sprintf("%s to %s BPM", lowBPM(win.FromBPM), safeBPM(win.ToBPM))
	switch {
	case c.Slower:
		c.Judged = fmt.Sprintf("Slower: the red line is at %s BPM.", safeBPM(win.MaxSafeBPM))
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
			err = refuse(http.StatusConflict, "There is no machine yet; bring a machine file.")
		}
		return m, nil, err
	}
	id, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return nil, nil, refuse(http.StatusUnprocessableEntity, "The pinning asked for is %q; it should be the number of one.", clip(text))
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
	Wander     float64
	Revision   int
	Pinnings   []store.PinningRow
	Pinning    string
	Address    string
	Spans      int // from which a wander is told
}

func (s *server) crank(w http.ResponseWriter, r *http.Request) error {
	page := crankPage{frame: s.frame(r, "The crank"), Pinning: r.URL.Query().Get("pinning"), Address: "http://" + r.Host + "/crank", Spans: timing.MinIntervals}
	page.frame.Here = "/programmes"
	m, err := s.currentMachine(r.Context())
	if err != nil {
		return err
	}
	if m != nil {
		page.HasMachine, page.Wheel, page.Wander, page.Revision = true, m.File.Wheel, m.File.Limits.Wander, m.Revision
		if page.Pinnings, err = s.Store.Pinnings(r.Context(), m.ID); err != nil {
			return err
		}
	}
	s.show(w, r, http.StatusOK, crankView(page))
	return nil
}

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
		return refuse(http.StatusConflict, "There is no machine whose wander this could be.")
	}
	text := r.PostForm.Get("wander")
	percent, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), ",", ".", 1), 64)
	if err != nil {
		return refuse(http.StatusUnprocessableEntity, "The wander is %q; it should be a number of per cent.", clip(text))
	}
	revision, err := strconv.Atoi(r.PostForm.Get("revision"))
	if err != nil {
		return refuse(http.StatusUnprocessableEntity, "The page does not say which state of the machine it changes; open it again.")
	}
	err = s.Store.ChangeMachine(r.Context(), m.ID, revision, r.PostForm.Get("reason"), []wheel.Set{{Path: "limits.wander", Value: math.Round(percent*1e4) / 1e6}})
	if err != nil {
		return err
	}
	s.machineChanged(r.Context(), m.ID)
	return see(w, r, "/crank")
}
