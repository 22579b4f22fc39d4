package limits

import (
	"errors"
	"net/http"
	"net/url"
	"strings"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// timingChoice is what the address of the page asks for.
type timingChoice struct {
	Tempo string
	Lane  string
	From  string
	Bars  string
	Sets  []setText
}

// setText is a figure on trial as it was typed.
type setText struct{ Path, Value string }

// mostTried is how many figures an address may put on trial.
const mostTried = 64

func readTimingChoice(v url.Values) timingChoice {
	c := timingChoice{Tempo: v.Get("tempo"), Lane: v.Get("lane"), From: v.Get("from"), Bars: v.Get("bars")}
	paths, values := v["path"], v["value"]
	for i := range min(len(paths), len(values), mostTried) {
		set := setText{strings.TrimSpace(paths[i]), strings.TrimSpace(values[i])}
		if set.Path != "" {
			c.Sets = append(c.Sets, set)
		}
	}
	return c
}

// query writes the choice as the address has it, with further figures on
// trial.
func (c timingChoice) query(more ...setText) string {
	v := url.Values{}
	for name, value := range map[string]string{"tempo": c.Tempo, "lane": c.Lane, "from": c.From, "bars": c.Bars} {
		if value != "" {
			v.Set(name, value)
		}
	}
	for _, s := range append(c.withoutPaths(more), more...) {
		v.Add("path", s.Path)
		v.Add("value", s.Value)
	}
	return v.Encode()
}

func (c timingChoice) withoutPaths(taken []setText) []setText {
	var kept []setText
	for _, s := range c.Sets {
		again := false
		for _, t := range taken {
			again = again || s.Path == t.Path
		}
		if !again {
			kept = append(kept, s)
		}
	}
	return kept
}

// without is the choice less one figure on trial.
func (c timingChoice) without(s setText) timingChoice {
	c.Sets = c.withoutPaths([]setText{s})
	return c
}

// at is the choice with another tempo.
func (c timingChoice) at(tempo string) timingChoice {
	c.Tempo = tempo
	return c
}

// sets reads the figures on trial. A figure without a value is one that was
// chosen and not filled in yet.
func (c timingChoice) sets() ([]timing.Set, error) {
	var sets []timing.Set
	for _, s := range c.Sets {
		if s.Value == "" {
			continue
		}
		v, err := page.ReadNumber(s.Value)
		if err != nil {
			return nil, &badTrial{wheel.Refuse(wheel.ErrInvalid, "%s is tried with %q; it should be a number.", say.Short(s.Path), say.Short(s.Value))}
		}
		sets = append(sets, timing.Set{Path: s.Path, Value: v})
	}
	return sets, nil
}

// fillValues puts a figure that was chosen from the list on trial with the value
// it has, to be changed from there.
func (c *timingChoice) fillValues(m *wheel.Machine) {
	for i := range c.Sets {
		if c.Sets[i].Value != "" {
			continue
		}
		if f, err := m.Figure(c.Sets[i].Path); err == nil {
			c.Sets[i].Value = say.Typed(f.Value)
		}
	}
}

// trial is a pinning on a machine as it is and with figures tried.
type trial struct {
	pinning *store.Pinning
	now     page.Compiled
	sets    []timing.Set
	works   *timing.Works // with the figures tried
	turn    *timing.Turn
	tempo   float64
}

// readTrial is the trial that a choice asks for of the pinning in the path of a
// request. With a [badTrial] comes the machine as it is.
func (s *area) readTrial(r *http.Request, c timingChoice) (trial, error) {
	p, m, err := s.PinningAt(r)
	if err != nil {
		return trial{}, err
	}
	tr := trial{pinning: p, now: m, works: m.Works, tempo: page.TempoOf(p, m)}
	if c.Tempo != "" {
		if tr.tempo, err = page.ReadTempo(c.Tempo); err != nil {
			return tr, &noTempo{err}
		}
	}
	if tr.turn, err = m.Turn(p.File); err != nil {
		return tr, err
	}
	if tr.sets, err = c.sets(); err != nil || len(tr.sets) == 0 {
		return tr, err
	}
	works, err := m.Works.With(tr.sets...)
	if err != nil {
		tr.sets = nil
		return tr, &badTrial{err}
	}
	turn, err := works.Turn(p.File)
	if err != nil {
		tr.sets = nil
		return tr, &badTrial{err}
	}
	tr.works, tr.turn = works, turn
	return tr, nil
}

// badTrial is a trial that cannot be made; the machine as it is stands.
type badTrial struct{ err error }

func (b *badTrial) Error() string { return b.err.Error() }

func (b *badTrial) Unwrap() error { return b.err }

func asBadTrial(err error) error {
	if bad := (*badTrial)(nil); errors.As(err, &bad) {
		return bad.err
	}
	return nil
}

// noTempo is a tempo that cannot be read.
type noTempo struct{ err error }

func (b *noTempo) Error() string { return b.err.Error() }

func (b *noTempo) Unwrap() error { return b.err }

// keepTrial makes the figures on trial the machine's own, dated, with the
// reason given.
func (s *area) keepTrial(w http.ResponseWriter, r *http.Request) error {
	c := readTimingChoice(r.PostForm)
	tr, err := s.readTrial(r, c)
	if err != nil {
		return err
	}
	if len(tr.sets) == 0 {
		return wheel.Refuse(wheel.ErrInvalid, "No figure is on trial; try one first, then keep it.")
	}
	form := page.Sent(r)
	revision := form.Revision()
	if err := form.Err(); err != nil {
		return err
	}
	if err := s.Store.ChangeMachine(r.Context(), tr.now.ID, revision, form.Values.Get("reason"), tr.sets); err != nil {
		return err
	}
	s.Open.MachineChanged(r.Context(), tr.now.ID)
	kept := timingChoice{Tempo: c.Tempo, Lane: c.Lane, From: c.From, Bars: c.Bars}
	return page.Redirect(w, r, page.PinningURL(tr.pinning.ID, "timing?"+kept.query()))
}
