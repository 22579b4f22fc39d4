package visitors

import (
	"bytes"
	"cmp"
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

// turnRequest is what a sensor sends: {"turn": n, "at_s": t}, or n alone; or
// {"mark": n, "at_s": t} with its count of the marks on the crank's disc.
type turnRequest struct {
	Turn *float64 `json:"turn"`
	Mark *float64 `json:"mark"`
	AtS  *float64 `json:"at_s"`
}

// turns is how many turns the crank of a wheel had made.
func (t turnRequest) turns(w wheel.Wheel) (float64, error) {
	if t.Mark == nil {
		return *t.Turn, nil
	}
	turns, err := crank.TurnOfMark(w, *t.Mark)
	if err != nil {
		return 0, wheel.Refuse(wheel.ErrInvalid, "%s", say.Sentence(err))
	}
	return turns, nil
}

const turnExample = `{"turn": 12, "at_s": 83.4}, {"mark": 97, "at_s": 83.4}, or a bare count such as 12`

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
	switch {
	case turn.Turn == nil && turn.Mark == nil:
		return turn, wheel.Refuse(wheel.ErrInvalid, "The sensor sent no turn and no mark; it should send %s.", turnExample)
	case turn.Turn != nil && turn.Mark != nil:
		return turn, wheel.Refuse(wheel.ErrInvalid, "The sensor sent a turn and a mark; it should send one of them, as in %s.", turnExample)
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
	var turns float64
	if err == nil {
		turns, err = turn.turns(m.File.Wheel)
	}
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
	if err := c.Count(m.File.Wheel, turns, turn.AtS, s.Now()); err != nil {
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
	WanderU  *float64 `json:"wander_u"`  // its standard uncertainty
	Ripple   *float64 `json:"ripple"`
	RippleU  *float64 `json:"ripple_u"` // its standard uncertainty
	Ripples  string   `json:"ripples"`  // the ripple in words, or why there is none
	Notes    []string `json:"notes"`    // what was wrong with the sensor's marks
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
	answer := crankAnswer{State: string(r.State), Says: r.Says, Problem: r.Problem, Slower: r.Slower, Judged: r.Judged, Ripples: r.Ripples, Notes: r.Notes}
	if !r.Known {
		return answer
	}
	answer.BPM, answer.LastBPM, answer.Spans, answer.Beats = &r.BPM, &r.LastBPM, r.Spans, r.Beats
	if r.WanderOK {
		answer.Wander, answer.WanderSE, answer.WanderU = &r.Wander, &r.WanderSE, &r.WanderU
	}
	if r.RippleOK {
		answer.Ripple, answer.RippleU = &r.Ripple.Fraction, &r.Ripple.U
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
	Revision   int
	Pinnings   []store.PinningRow
	Pinning    string
	Address    string
	Beats      int // from which a wander is shown
	Turns      int // of the crank that they are; 0 where the file does not say

	Wander, Ripple           wheel.Maybe // as the file has them
	Marks                    int         // of the sensor in a turn of the crank
	RippleMarks, RippleTurns int         // that ripple takes
}

func (s *area) crank(w http.ResponseWriter, r *http.Request) error {
	view := crankPage{Frame: s.Frame(r, "Crank").Under(page.Link{Text: "Programmes", URL: "/programmes"}), Pinning: r.URL.Query().Get("pinning"), Address: "http://" + r.Host + "/crank", RippleMarks: crank.MinRippleMarks, RippleTurns: crank.MinRippleTurns}
	view.Frame.Here = "/programmes"
	m, err := s.CurrentMachine(r.Context())
	if err != nil {
		return err
	}
	if m != nil {
		view.HasMachine, view.MachineID, view.Name, view.Revision = true, m.ID, m.File.Name, m.Revision
		view.Wheel, view.Wander, view.Ripple = m.File.Wheel, m.File.Limits.Wander, m.File.Limits.Ripple
		view.Beats, view.Turns, view.Marks = crank.BeatsForWander(view.Wheel), crank.TurnsForWander(view.Wheel), crank.MarksOf(view.Wheel)
		if view.Pinnings, err = s.Store.Pinnings(r.Context(), m.ID); err != nil {
			return err
		}
	}
	s.Show(w, r, http.StatusOK, crankView(view))
	return nil
}

// fileSays tells the wander and the ripple that the machine's file has.
func (p crankPage) fileSays() string {
	said := func(what string, of wheel.Maybe) string {
		if part, ok := of.Get(); ok {
			return fmt.Sprintf("a %s of %s %%", what, say.Percent(part))
		}
		return "no " + what
	}
	return fmt.Sprintf("The file of %s has %s and %s.", p.Name, said("wander", p.Wander), said("ripple", p.Ripple))
}

// typedPercent is a fraction in a field for per cent, empty where it is not known.
func typedPercent(of wheel.Maybe) string {
	part, ok := of.Get()
	if !ok {
		return ""
	}
	return say.Percent(part)
}

// The most that a machine's file may have; a ripple is less than the whole tempo.
const (
	mostWanderPercent = 50
	mostRipplePercent = 99.99
)

// keepCrank makes a measured wander or ripple the machine's own. What is left
// empty stays as it is.
func (s *area) keepCrank(w http.ResponseWriter, r *http.Request) error {
	m, err := s.CurrentMachine(r.Context())
	if err != nil {
		return err
	}
	if m == nil {
		return wheel.Refuse(wheel.ErrConflict, "There is no machine yet, so no wander or ripple can be kept.")
	}
	f := page.Sent(r)
	measured := f.Note("machine", "the machine whose figures it changes", 1)
	var sets []wheel.Set
	for _, figure := range []struct {
		name, what, path string
		most             float64
	}{
		{"wander", "The wander", "limits.wander", mostWanderPercent},
		{"ripple", "The ripple", "limits.ripple", mostRipplePercent},
	} {
		if f.Text(figure.name) == "" {
			continue
		}
		percent := f.Number(figure.name, figure.what, "per cent", 0, figure.most)
		sets = append(sets, wheel.Set{Path: figure.path, Value: math.Round(percent*1e4) / 1e6})
	}
	if len(sets) == 0 {
		f.Refuse("Both fields are empty; type a wander or a ripple.")
	}
	revision := f.Revision()
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
	if err := s.Store.ChangeMachine(r.Context(), m.ID, revision, reason, sets); err != nil {
		return err
	}
	s.Open.MachineChanged(r.Context(), m.ID)
	return page.Redirect(w, r, "/crank")
}

// otherMachine refuses figures that were measured while another machine was
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
