package limits

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// timingPage answers what limits a machine with a pinning on it, and what
// would lift the limit. Beside the machine as it is stands the machine on
// trial, where any of its figures has been changed for a try.
type timingPage struct {
	page.Frame
	Pinning  *store.Pinning
	Facts    page.MachineFacts
	Choice   timingChoice
	Problem  []string // what is wrong with the figures tried; the trial is left out then
	Now      page.Strip
	Trial    *page.Strip // nil where nothing is tried
	Tried    []triedFigure
	Rungs    []rungLine
	More     int // rungs that are not listed
	Figures  []figureGroup
	Lanes    []wheel.Lane
	Bars     int
	Graph    laneDrawing
	At       atTempo
	Moves    []moveLine
	Changes  []store.MachineChange
	Revision int // of the machine
}

// shownRungs is how many rungs of the ladder the page lists.
const shownRungs = 12

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

type triedFigure struct {
	wheel.Figure // as it is
	To           float64
}

type rungLine struct {
	timing.Rung
	Words  string // what holds, by how much, where
	Buys   string // what mending it buys
	ID     string // tells it from the others
	Place  string // the address of its place on the wheel
	TryURL string // the page with its mending on trial; empty where no one figure mends it
	Mind   string // what else that mending does
}

type figureGroup struct {
	Name    string
	Figures []wheel.Figure
}

type moveLine struct {
	Name                                  string
	Resting                               bool
	Release, Strike, Path, Clear, Home, V float64 // s; m/s
}

func readTimingChoice(v url.Values) timingChoice {
	c := timingChoice{Tempo: v.Get("tempo"), Lane: v.Get("lane"), From: v.Get("from"), Bars: v.Get("bars")}
	paths, values := v["path"], v["value"]
	for i := range min(len(paths), len(values), 64) {
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

// trial is a pinning on a machine as it is and with figures tried.
type trial struct {
	pinning *store.Pinning
	now     page.Compiled
	sets    []timing.Set
	works   *timing.Works // with the figures tried
	turn    *timing.Turn
	tempo   float64
}

func (s *area) askedTrial(r *http.Request, c timingChoice) (trial, error) {
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

// noTempo is a tempo that cannot be read.
type noTempo struct{ err error }

func (b *noTempo) Error() string { return b.err.Error() }
func (b *noTempo) Unwrap() error { return b.err }

func (s *area) timing(w http.ResponseWriter, r *http.Request) error {
	c := readTimingChoice(r.URL.Query())
	view := timingPage{Choice: c}
	tr, err := s.askedTrial(r, c)
	if bad := (*noTempo)(nil); errors.As(err, &bad) && page.WantsPart(r) {
		// The page that is open stays, with what is typed into it.
		w.Header().Set("HX-Retarget", "#at")
		w.Header().Set("HX-Reswap", "outerHTML")
		s.Show(w, r, http.StatusUnprocessableEntity, noTempoView(say.Sentence(bad)))
		return nil
	}
	if bad := asBadTrial(err); bad != nil {
		view.Problem = strings.Split(say.Sentence(bad), "\n")
	} else if err != nil {
		return err
	}
	if err := s.fillTiming(r, &view, tr); err != nil {
		return err
	}
	if page.WantsPart(r) {
		w.Header().Set("HX-Replace-Url", page.PinningURL(tr.pinning.ID, "timing?"+c.query()))
		s.Show(w, r, http.StatusOK, timingResults(view))
		return nil
	}
	s.Show(w, r, http.StatusOK, timingView(view))
	return nil
}

// timingAt is what changes with the tempo alone, for a hand on the handle.
func (s *area) timingAt(w http.ResponseWriter, r *http.Request) error {
	tr, err := s.askedTrial(r, readTimingChoice(r.URL.Query()))
	if bad := (*noTempo)(nil); errors.As(err, &bad) {
		s.Show(w, r, http.StatusUnprocessableEntity, noTempoView(say.Sentence(bad)))
		return nil
	}
	if err != nil && asBadTrial(err) == nil {
		return err
	}
	s.Show(w, r, http.StatusOK, atTempoView(atTempoOf(tr)))
	return nil
}

// timingLane is the drawing of a lane alone, for a tempo or a stretch that was
// settled on. The address is then that of the page with it.
func (s *area) timingLane(w http.ResponseWriter, r *http.Request) error {
	c := readTimingChoice(r.URL.Query())
	tr, err := s.askedTrial(r, c)
	if err != nil && asBadTrial(err) == nil {
		return err
	}
	w.Header().Set("HX-Replace-Url", page.PinningURL(tr.pinning.ID, "timing?"+c.query()))
	s.Show(w, r, http.StatusOK, laneDrawn(laneOf(tr, c)))
	return nil
}

func laneOf(tr trial, c timingChoice) laneDrawing {
	d, err := drawLane(tr, c)
	if err != nil {
		d.Problem = say.Sentence(err)
	}
	return d
}

// keepTrial makes the figures on trial the machine's own, dated, with the
// reason given.
func (s *area) keepTrial(w http.ResponseWriter, r *http.Request) error {
	c := readTimingChoice(r.PostForm)
	tr, err := s.askedTrial(r, c)
	if err != nil {
		return err
	}
	if len(tr.sets) == 0 {
		return wheel.Refuse(wheel.ErrInvalid, "No figure is on trial; try one first, then keep it.")
	}
	revision, err := strconv.Atoi(r.PostForm.Get("revision"))
	if err != nil {
		return wheel.Refuse(wheel.ErrInvalid, "The page does not say which state of the machine it changes; open it again.")
	}
	if err := s.Store.ChangeMachine(r.Context(), tr.now.ID, revision, r.PostForm.Get("reason"), tr.sets); err != nil {
		return err
	}
	s.Open.MachineChanged(r.Context(), tr.now.ID)
	kept := timingChoice{Tempo: c.Tempo, Lane: c.Lane, From: c.From, Bars: c.Bars}
	return page.Redirect(w, r, page.PinningURL(tr.pinning.ID, "timing?"+kept.query()))
}

func asBadTrial(err error) error {
	if bad := (*badTrial)(nil); errors.As(err, &bad) {
		return bad.err
	}
	return nil
}

func (s *area) fillTiming(r *http.Request, view *timingPage, tr trial) error {
	m := tr.now
	view.Frame = s.Frame(r, tr.pinning.Title+", timing")
	view.Frame.Machine = m.File.Name
	view.Pinning, view.Facts, view.Revision = tr.pinning, page.FactsOf(m), m.Revision
	view.Choice.Tempo = say.Typed(tr.tempo)
	view.Lanes = m.File.Lanes
	view.Bars = max(1, m.File.Wheel.Steps/m.File.Wheel.StepsPerBar())
	view.Figures = figureGroups(m.File)
	view.Choice.fillValues(m.File)
	present, err := m.Turn(tr.pinning.File)
	if err != nil {
		return err
	}
	visitors, err := s.Store.Visitors(r.Context())
	if err != nil {
		return err
	}
	view.Now = page.StripOf(m.Works, present).WithWindow(present.Window(visitors.Margin).TempoWindow)
	if len(tr.sets) > 0 {
		strip := page.StripOf(tr.works, tr.turn).WithWindow(tr.turn.Window(visitors.Margin).TempoWindow)
		view.Trial = &strip
		for _, set := range tr.sets {
			was, err := m.File.Figure(set.Path)
			if err != nil {
				return err
			}
			view.Tried = append(view.Tried, triedFigure{was, set.Value})
		}
	}
	view.fillLadder(tr)
	view.Graph = laneOf(tr, view.Choice)
	view.At = atTempoOf(tr)
	for i := range tr.works.Channels {
		c := &tr.works.Channels[i]
		view.Moves = append(view.Moves, moveLine{
			Name: m.File.Channels[i].Name, Resting: c.Resting,
			Release: c.Release, Strike: c.Strike, Path: c.Strike - c.Release, Clear: c.Strike + c.Clear, Home: c.Home, V: c.StrikeSpeed,
		})
	}
	view.Changes, err = s.Store.MachineChanges(r.Context(), m.ID)
	return err
}

func (view *timingPage) fillLadder(tr trial) {
	rungs := tr.turn.Ladder()
	view.More = max(0, len(rungs)-shownRungs)
	for _, rung := range rungs[:min(len(rungs), shownRungs)] {
		line := rungLine{Rung: rung, ID: rungID(rung), Words: tr.works.RungSentence(rung), Buys: sentenceOf(tr.works.MendSentence(rung))}
		line.Place = page.PinURL(tr.pinning.ID, view.Choice.Tempo, tr.works.Machine.Channels[rung.Where.Channel].ID, rung.Where.Step)
		if rung.Mend != nil {
			line.TryURL = page.PinningURL(tr.pinning.ID, "timing?"+view.Choice.query(setText{rung.Mend.Path, say.Typed(rung.Mend.Workshop())}))
		}
		line.Mind = mindWords(rung.Mend)
		view.Rungs = append(view.Rungs, line)
	}
}

// rungID is one for one limit, whatever else is on trial: a limit is of one
// kind, on one lane, between two channels.
func rungID(r timing.Rung) string {
	return fmt.Sprintf("%s-%d-%d-%d", r.Kind, r.Channel, r.Other, r.Lane)
}

// mindWords says what a mending does beside lifting its limit.
func mindWords(m *timing.Mend) string {
	switch {
	case m == nil:
		return ""
	case strings.HasSuffix(m.Path, "clearance_mm"):
		return "A smaller clearance mends nothing: it is a margin given up. Measure first how near marbles may safely come."
	case strings.HasSuffix(m.Path, "latch_ms"):
		return "A changed latch moves the sound as well: look at the chords after it."
	}
	return ""
}

// sentenceOf begins text with a capital and ends it with a full stop.
func sentenceOf(text string) string {
	if text == "" {
		return ""
	}
	return say.Sentence(errors.New(text))
}

// figureGroups lists a machine's figures under what they belong to.
func figureGroups(m *wheel.Machine) []figureGroup {
	var groups []figureGroup
	for _, f := range m.Figures() {
		name := groupName(m, f.Path)
		if n := len(groups); n == 0 || groups[n-1].Name != name {
			groups = append(groups, figureGroup{Name: name})
		}
		g := &groups[len(groups)-1]
		g.Figures = append(g.Figures, f)
	}
	return groups
}

func groupName(m *wheel.Machine, path string) string {
	head, rest, _ := strings.Cut(path, ".")
	switch head {
	case "channels":
		for i := range m.Channels {
			if strings.HasPrefix(rest, m.Channels[i].ID+".") {
				return m.Channels[i].Name
			}
		}
	case "lanes":
		for _, l := range m.Lanes {
			if strings.HasPrefix(rest, l.ID+".") {
				return "Lane " + l.ID
			}
		}
	}
	return say.Capital(head)
}

// without is the choice less one figure on trial.
func (c timingChoice) without(s setText) timingChoice {
	c.Sets = c.withoutPaths([]setText{s})
	return c
}

// triedLabel names a figure on trial, and what it is without the trial.
func triedLabel(p timingPage, s setText) string {
	for _, g := range p.Figures {
		for _, f := range g.Figures {
			if f.Path == s.Path {
				return figureWords(f) + " as it is; tried with"
			}
		}
	}
	return say.Short(s.Path)
}

// triedName names a figure on trial.
func triedName(p timingPage, s setText) string {
	for _, g := range p.Figures {
		for _, f := range g.Figures {
			if f.Path == s.Path {
				return f.Label
			}
		}
	}
	return say.Short(s.Path)
}

func triedWords(t triedFigure) string {
	from := wheel.Number(t.Value)
	if !t.Given {
		from = "not given"
	}
	words := fmt.Sprintf("%s from %s to %s", t.Label, from, wheel.Number(t.To))
	if t.Unit != "" {
		words += " " + t.Unit
	}
	return words
}

// keptWords says one figure of a change that was kept.
func keptWords(p timingPage, c store.ChangedFigure) string {
	for _, g := range p.Figures {
		for _, f := range g.Figures {
			if f.Path == c.Path {
				f.Value, f.Given = c.From, true
				return triedWords(triedFigure{f, c.To})
			}
		}
	}
	return fmt.Sprintf("%s from %s to %s", c.Path, wheel.Number(c.From), wheel.Number(c.To))
}

func trialNote(p timingPage) string {
	if p.Trial == nil {
		return ""
	}
	return " These are the limits on trial."
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
