package pinnings

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"

	"github.com/a-h/templ"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/web/desk"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// mostListed is how many findings the page lists; the wheel marks all.
const mostListed = 100

// firstListed is how many are in view before the list is opened; static/css/wheel.css
// hides the rest.
const firstListed = 8

// verdictPanel is the verdict as the page tells it.
type verdictPanel struct {
	Pins       int
	TempoBPM   float64
	Findings   []timing.Finding
	Bands      []timing.Band
	MaxSafeBPM *float64 // the bare limit; nil where the lowest tempo is not safe
	Faults     string   // what has to be expected at the tempo, in words
	FlamMS     float64
	Together   *timing.TempoRange

	works     *timing.Works
	PinningID int64
	Tempo     string // as in the field
	Stop      string // what stops it from being faster, in words
	Counts    []findingCount
	Marks     string // [[kind, channel, [step, …]], …] for the drawing
	More      int    // findings that are not listed
	Limits    wheel.Limits
	Stock     string // how many pins of how many, in words
	PinStock  int    // 0: not counted
	Turn      wheel.TurnCounts
	Fullest   string // the place of the fullest step, in words
	Strip     page.Strip
}

type findingCount struct {
	Kind  timing.Kind
	Count int
}

// listedFinding is a finding as the page lists it.
type listedFinding struct {
	Kind    timing.Kind
	Channel string // its id
	Step    int
	Text    string
}

// Listed is the findings that the page lists. Of thousands, the sentences are
// what takes its time: only these have one.
func (v verdictPanel) Listed() []listedFinding {
	listed := make([]listedFinding, min(len(v.Findings), mostListed))
	for i, f := range v.Findings[:len(listed)] {
		listed[i] = listedFinding{f.Kind, v.channelID(f.Channel), f.Step, v.works.Sentence(f)}
	}
	return listed
}

// channelID is empty for a finding of a whole step.
func (v verdictPanel) channelID(channel int) string {
	if channel < 0 {
		return ""
	}
	return v.works.Machine.Channels[channel].ID
}

// verdict is the panel alone, for a page that is open.
func (s *area) verdict(w http.ResponseWriter, r *http.Request) error {
	p, m, err := s.PinningAt(r)
	if err != nil {
		return err
	}
	panel, err := s.judge(r, p, m)
	if err != nil {
		status, lines := s.Explain(r, err)
		s.Show(w, r, status, noVerdict(lines))
		return nil
	}
	s.Show(w, r, http.StatusOK, newVerdict(panel))
	return nil
}

// WriteVerdict writes the verdict on an open pinning as the wheel's page shows it.
func WriteVerdict(ctx context.Context, s desk.Snapshot) (desk.Verdict, error) {
	panel, err := panelOf(page.Compiled{Machine: s.Machine, Works: s.Works}, s.Turn, s.Standing, s.File, s.PinningID, s.TempoBPM)
	if err != nil {
		return desk.Verdict{}, err
	}
	var stands, listed, line strings.Builder
	for _, part := range []struct {
		view templ.Component
		text *strings.Builder
	}{{verdictStands(panel), &stands}, {verdictListed(panel), &listed}, {brief(panel), &line}} {
		if err := part.view.Render(ctx, part.text); err != nil {
			return desk.Verdict{}, err
		}
	}
	return desk.Verdict{Stands: stands.String(), Listed: listed.String(), Brief: line.String()}, nil
}

func (s *area) judge(r *http.Request, p *store.Pinning, m page.Compiled) (verdictPanel, error) {
	tempo := page.TempoOf(p, m)
	if asked := r.URL.Query().Get("tempo"); asked != "" {
		var err error
		if tempo, err = page.ReadTempo(asked); err != nil {
			return verdictPanel{}, err
		}
	}
	turn, err := m.Turn(p.File)
	if err != nil {
		return verdictPanel{}, err
	}
	return panelOf(m, turn, turn.Standing(), p.File, p.ID, tempo)
}

// panelOf is the verdict on a turn, which has a pinning's pins on it, at a
// tempo as the page tells it.
func panelOf(m page.Compiled, turn *timing.Turn, stands timing.Standing, file *wheel.Pinning, pinningID int64, tempo float64) (verdictPanel, error) {
	panel := verdictPanel{
		Pins: turn.Pins(), TempoBPM: tempo, Findings: turn.Findings(tempo, nil), Bands: turn.Bands(), FlamMS: turn.Flam(tempo) * 1000,
		works: m.Works, PinningID: pinningID, Tempo: say.Typed(tempo), Stop: m.Works.StandingSentence(stands),
		Limits: m.File.Limits, Stock: stockOnMachine(len(file.Pins), page.FactsOf(m)), PinStock: m.File.Wheel.PinStock,
	}
	panel.More = max(0, len(panel.Findings)-mostListed)
	if stands.Safe {
		panel.MaxSafeBPM = &stands.MaxSafeBPM
	}
	if len(stands.Unknown) == 0 {
		panel.Faults = turn.FaultSentence(tempo)
	}
	if from, to, ok := turn.Together(); ok {
		panel.Together = &timing.TempoRange{FromBPM: from, ToBPM: to}
	}
	panel.Turn = file.CountTurn(m.File)
	panel.Strip = page.StripFrom(m.Works, page.StripFacts{Bands: panel.Bands, Standing: stands, Together: panel.Together, Lowest: lowestOf(stands)}).WithOwn(file)
	panel.Fullest = m.File.Wheel.PlaceText(panel.Turn.Fullest)
	counts := map[timing.Kind]int{}
	for _, f := range panel.Findings {
		counts[f.Kind]++
	}
	for _, k := range timing.Kinds() {
		if n := counts[k]; n > 0 {
			panel.Counts = append(panel.Counts, findingCount{k, n})
		}
	}
	text, err := json.Marshal(panel.marks())
	panel.Marks = string(text)
	return panel, err
}

// lowestOf is what breaks at the slowest tempo, nil if nothing does.
func lowestOf(stands timing.Standing) *timing.Cause {
	if stands.Safe || !stands.Stopped {
		return nil
	}
	cause := stands.Stop.Cause()
	return &cause
}

// marks gathers the steps at which each kind of finding stands on each
// channel. A finding about two marbles stands at both of their pins.
func (v verdictPanel) marks() [][3]any {
	type row struct {
		kind    timing.Kind
		channel int
	}
	steps := map[row][]int{}
	var rows []row
	mark := func(at row, step int) {
		if steps[at] == nil {
			rows = append(rows, at)
		}
		steps[at] = append(steps[at], step)
	}
	for _, f := range v.Findings {
		mark(row{f.Kind, f.Channel}, f.Step)
		if f.AtBoth() {
			mark(row{f.Kind, f.Other}, f.OtherStep)
		}
	}
	marks := make([][3]any, len(rows))
	for i, r := range rows {
		marks[i] = [3]any{r.kind.String(), v.channelID(r.channel), steps[r]}
	}
	return marks
}

// shownBands is how many bands the page lists.
const shownBands = 6

func bandWords(bands []timing.Band) string {
	var words []string
	for _, b := range bands[:min(len(bands), shownBands)] {
		words = append(words, say.TempoRange(b.From, b.To))
	}
	text := strings.Join(words, ", ")
	if more := len(bands) - shownBands; more > 0 {
		text += fmt.Sprintf(" and %d more", more)
	}
	return text
}

// stockOnMachine says how many pins a pinning takes of how many there are.
func stockOnMachine(pins int, m page.MachineFacts) string {
	words := fmt.Sprintf("%s on %s", say.Count(pins, "pin", "pins"), m.Name)
	if m.Wheel.PinStock > 0 {
		words += fmt.Sprintf(", of %d in stock", m.Wheel.PinStock)
	}
	return words
}
