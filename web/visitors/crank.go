package visitors

import (
	"bytes"
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"io"
	"math"
	"net/http"
	"strconv"
	"strings"
	"sync"

	"pinwright/store"
	"pinwright/timing/crank"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// crankSensor is the sensor at the crank of a machine, since the program was
// started. It is kept in memory alone.
type crankSensor struct {
	mu      sync.Mutex
	machine int64 // that it counts for
	crank.Sensor
}

// turnRequest is what a sensor sends: {"turn": n, "at_s": t}, or n alone.
type turnRequest struct {
	Turn *float64 `json:"turn"`
	AtS  *float64 `json:"at_s"`
}

const turnExample = `{"turn": 12, "at_s": 83.4}, or a bare count such as 12`

// readTurn reads what a sensor sends.
func readTurn(body io.Reader) (turnRequest, error) {
	data, err := io.ReadAll(io.LimitReader(body, 4096))
	if err != nil {
		return turnRequest{}, page.Broken(err)
	}
	data = bytes.TrimSpace(data)
	var turn turnRequest
	if len(data) > 0 && data[0] != '{' {
		var count float64
		if err := json.Unmarshal(data, &count); err != nil || bytes.Equal(data, []byte("null")) {
			return turn, wheel.Refuse(wheel.ErrInvalid, "The sensor sent %q; it should send %s.", say.Short(string(data)), turnExample)
		}
		return turnRequest{Turn: &count}, nil
	}
	if err := page.DecodeJSON(bytes.NewReader(data), &turn); err != nil {
		return turn, wheel.Refuse(wheel.ErrInvalid, "The sensor sent %q; it should send %s.", say.Short(string(data)), turnExample)
	}
	if turn.Turn == nil {
		return turn, wheel.Refuse(wheel.ErrInvalid, "The sensor sent no turn; it should send %s.", turnExample)
	}
	return turn, nil
}

// countTurn takes a count that a sensor sends.
func (s *area) countTurn(w http.ResponseWriter, r *http.Request) error {
	m, err := s.CurrentMachine(r.Context())
	if err != nil {
		return err
	}
	if m == nil {
		return wheel.Refuse(wheel.ErrConflict, "There is no machine yet. Bring its machine file first.")
	}
	turn, err := readTurn(r.Body)
	c := &s.sensor
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.machine != m.ID {
		c.machine, c.Sensor = m.ID, crank.Sensor{}
	}
	if err != nil {
		c.Nonsense(err, s.Now())
		return err
	}
	if err := c.Count(m.File.Wheel, *turn.Turn, turn.AtS, s.Now()); err != nil {
		return err
	}
	w.WriteHeader(http.StatusNoContent)
	return nil
}

// crankAnswer is what the pages show of a crank that is turned.
type crankAnswer struct {
	State    string   `json:"state"` // a [crank.State]
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

// crankNow reports what the sensor has counted, judged by the window of a pinning
// if one is asked for.
func (s *area) crankNow(w http.ResponseWriter, r *http.Request) error {
	m, win, err := s.crankWindow(r)
	if err != nil {
		return err
	}
	c := &s.sensor
	c.mu.Lock()
	var report crank.Report
	if c.machine == m.ID {
		report = c.Report(m.File.Wheel, win, s.Now())
	} else {
		report = new(crank.Sensor).Report(m.File.Wheel, win, s.Now())
	}
	c.mu.Unlock()
	return page.JSON(w, crankAnswerOf(report))
}

// crankTapped measures taps, one for each turn of the crank or each beat, given
// by their times in seconds.
func (s *area) crankTapped(w http.ResponseWriter, r *http.Request) error {
	m, win, err := s.crankWindow(r)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	var atS []float64
	for text := range strings.SplitSeq(q.Get("at"), ",") {
		at, err := strconv.ParseFloat(text, 64)
		if err != nil || math.IsNaN(at) || math.Abs(at) > 1e12 || len(atS) == crank.MaxTaps {
			return wheel.Refuse(wheel.ErrInvalid, "The times of the taps are %q; they should be up to %d numbers of seconds, separated by commas.", say.Short(q.Get("at")), crank.MaxTaps)
		}
		atS = append(atS, at)
	}
	report, err := crank.Tapped(m.File, cmp.Or(crank.Per(q.Get("per")), crank.PerTurn), atS, win)
	if err != nil {
		return err
	}
	return page.JSON(w, crankAnswerOf(report))
}

// crankAnswerOf is a report as the pages' scripts read it.
func crankAnswerOf(r crank.Report) crankAnswer {
	answer := crankAnswer{State: string(r.State), Says: r.Says, Problem: r.Problem, Slower: r.Slower, Judged: r.Judged}
	if !r.Known {
		return answer
	}
	answer.BPM, answer.LastBPM, answer.Spans, answer.Beats = &r.BPM, &r.LastBPM, r.Spans, r.Beats
	if r.WanderOK {
		answer.Wander, answer.WanderSE = &r.Wander, &r.WanderSE
	}
	if r.RPM > 0 {
		answer.CrankRPM = &r.RPM
	}
	return answer
}

// crankWindow is the machine whose crank is meant and, where the address names a
// pinning, its window.
func (s *area) crankWindow(r *http.Request) (*store.Machine, *wheel.TempoWindow, error) {
	text := r.URL.Query().Get("pinning")
	if text == "" {
		m, err := s.CurrentMachine(r.Context())
		if err == nil && m == nil {
			err = wheel.Refuse(wheel.ErrConflict, "There is no machine yet. Bring a machine file.")
		}
		return m, nil, err
	}
	id, err := strconv.ParseInt(text, 10, 64)
	if err != nil {
		return nil, nil, wheel.Refuse(wheel.ErrInvalid, "The pinning asked for is %q; it should be the number of a pinning.", say.Short(text))
	}
	p, err := s.Store.Pinning(r.Context(), id)
	if err != nil {
		return nil, nil, err
	}
	m, err := s.Compiled(r.Context(), p.MachineID)
	if err != nil {
		return nil, nil, err
	}
	house, err := s.house(r.Context(), m)
	if err != nil {
		return nil, nil, err
	}
	win, err := house.Window(p.File)
	return m.Machine, &win, err
}

// crankPage is where crew see how a crank is turned.
type crankPage struct {
	page.Frame
	HasMachine bool
	Wheel      wheel.Wheel
	MachineID  int64
	Name       string // of the machine
	Wander     float64
	Revision   int
	Pinnings   []store.PinningRow
	Pinning    string
	Address    string
	Beats      int // from which a wander is shown
	Turns      int // of the crank that they are; 0 where the file does not say
}

func (s *area) crank(w http.ResponseWriter, r *http.Request) error {
	view := crankPage{Frame: s.Frame(r, "Crank").Under(page.Link{Text: "Programmes", URL: "/programmes"}), Pinning: r.URL.Query().Get("pinning"), Address: "http://" + r.Host + "/crank", Beats: crank.MinWanderBeats}
	view.Frame.Here = "/programmes"
	m, err := s.CurrentMachine(r.Context())
	if err != nil {
		return err
	}
	if m != nil {
		view.HasMachine, view.MachineID, view.Name, view.Revision = true, m.ID, m.File.Name, m.Revision
		view.Wheel, view.Wander = m.File.Wheel, m.File.Limits.Wander.Or(0)
		view.Turns = crank.TurnsForWander(view.Wheel)
		if view.Pinnings, err = s.Store.Pinnings(r.Context(), m.ID); err != nil {
			return err
		}
	}
	s.Show(w, r, http.StatusOK, crankView(view))
	return nil
}

// mostWanderPercent is the most that a machine's file may have.
const mostWanderPercent = 50

// keepWander makes a measured wander the machine's own.
func (s *area) keepWander(w http.ResponseWriter, r *http.Request) error {
	m, err := s.CurrentMachine(r.Context())
	if err != nil {
		return err
	}
	if m == nil {
		return wheel.Refuse(wheel.ErrConflict, "There is no machine yet, so no wander can be kept.")
	}
	f := page.Sent(r)
	measured := f.Note("machine", "the machine whose wander it changes", 1)
	percent, revision := f.Number("wander", "The wander", "per cent", 0, mostWanderPercent), f.Revision()
	reason, err := wheel.ChangeReason(f.Text("reason"))
	if err != nil {
		f.Refuse(say.Sentence(err))
	}
	if err := f.Err(); err != nil {
		return err
	}
	if measured != m.ID {
		return s.otherMachine(r.Context(), measured, m)
	}
	err = s.Store.ChangeMachine(r.Context(), m.ID, revision, reason, []wheel.Set{{Path: "limits.wander", Value: math.Round(percent*1e4) / 1e6}})
	if err != nil {
		return err
	}
	s.Open.MachineChanged(r.Context(), m.ID)
	return page.Redirect(w, r, "/crank")
}

// otherMachine refuses a wander that was measured while another machine was
// chosen.
func (s *area) otherMachine(ctx context.Context, measured int64, now *store.Machine) error {
	was := "a machine that has been removed"
	switch m, err := s.Store.Machine(ctx, measured); {
	case err == nil:
		was = m.File.Name
	case !errors.Is(err, wheel.ErrNotFound):
		return err
	}
	return wheel.Refuse(wheel.ErrConflict, "The page was opened for %s, and %s has been chosen since. Nothing was changed. Choose the machine that was measured and open the page again.", was, now.File.Name)
}
