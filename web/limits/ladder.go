package limits

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"pinwright/timing"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// rungLine is one limit of the ladder, as the page lists it.
type rungLine struct {
	timing.Rung
	Words  string       // where it is and what it needs, in short
	Whole  string       // the same as a sentence
	Mend   *timing.Mend // the most useful that can be tried; nil where there is none
	Asked  bool         // mends were looked for
	Change string       // what it changes, from what to what
	Gain   string       // what that gains, as a sentence
	Others []mendLine   // other mends, to compare it with
	ID     string       // tells it from the others
	Place  string       // the address of its place on the wheel
	Where  *place
	TryURL string // the page with its mending on trial; empty where there is none
}

// shownRungs is how many rungs of the ladder the page lists, and mendedRungs for
// how many of them it looks for what would lift them.
const (
	shownRungs  = 40
	mendedRungs = 6
)

func (view *timingPage) fillLadder(tr trial) {
	rungs := tr.turn.MendedLadder(tr.tempo, mendedRungs)
	view.More = max(0, len(rungs)-shownRungs)
	for i, rung := range rungs[:min(len(rungs), shownRungs)] {
		line := rungLine{Rung: rung, ID: rungID(rung), Words: rungWords(tr.works, rung), Whole: sentenceOf(tr.works.RungSentence(rung)), Asked: i < mendedRungs}
		line.Place = page.PinURL(tr.pinning.ID, view.Choice.Tempo, tr.works.Machine.Channels[rung.Where.Channel].ID, rung.Where.Step)
		if at := slices.IndexFunc(rung.Mends, func(m timing.Mend) bool { return m.Kind != timing.OfSpread }); at >= 0 {
			line.Mend = &rung.Mends[at]
			line.Gain, line.Change = sentenceOf(tr.works.MendSentence(rung, *line.Mend)), mendWords(tr.works, rung, line.Mend)
			line.TryURL = view.tryURL(tr, *line.Mend)
		}
		for k := range rung.Mends {
			if mend := &rung.Mends[k]; mend != line.Mend && len(line.Others) < shownMends {
				line.Others = append(line.Others, mendLine{
					Change: mendWords(tr.works, rung, mend), Gain: sentenceOf(tr.works.GainSentence(*mend)), TryURL: view.tryURL(tr, *mend),
				})
			}
		}
		line.Where = placeOf(tr, view.Choice, "where-"+line.ID, rung.Cause)
		if caution := cautionWords(line.Mend); caution != "" && !slices.Contains(view.Cautions, caution) {
			view.Cautions = append(view.Cautions, caution)
		}
		view.Rungs = append(view.Rungs, line)
	}
}

// mendLine is a mend to compare another with.
type mendLine struct {
	Change, Gain string
	TryURL       string // empty where it cannot be tried
}

// shownMends is how many other mends are shown of one limit.
const shownMends = 3

// tryURL is the page with a mend on trial; empty where it has too many figures
// for an address, or none to set.
func (view *timingPage) tryURL(tr trial, mend timing.Mend) string {
	if len(mend.Sets) == 0 || len(mend.Sets) > mostTried {
		return ""
	}
	var tried []setText
	for _, set := range mend.Sets {
		tried = append(tried, setText{set.Path, say.Typed(set.Value)})
	}
	return page.PinningURL(tr.pinning.ID, "timing?"+view.Choice.query(tried...))
}

// rungID is one for one limit, whatever else is on trial: a limit is of one
// kind, on one lane, between two channels.
func rungID(r timing.Rung) string {
	return fmt.Sprintf("%s-%d-%d-%d", r.Kind, r.Channel, r.Other, r.Lane)
}

// rungWords says in short where a limit is, and how long what it needs takes.
// What is broken at the machine's slowest already is said whole.
func rungWords(w *timing.Works, r timing.Rung) string {
	m, at := w.Machine, r.Where
	if r.BPM == m.Limits.TempoMinBPM || at.NeedS <= 0 {
		return w.RungSentence(r)
	}
	words := m.Channels[at.Channel].Name + ", " + m.Wheel.PlaceText(at.Step)
	if r.Lane >= 0 {
		words += fmt.Sprintf(", and %s, %s, in lane %s", m.Channels[at.Other].Name, m.Wheel.PlaceText(at.OtherStep), m.Lanes[r.Lane].ID)
	}
	return words + ": needs " + say.MS(at.NeedS*1000)
}

// mendWords says a mending as a change of its figure, rounded to what hands can
// set.
func mendWords(w *timing.Works, r timing.Rung, mend *timing.Mend) string {
	f, err := w.Machine.Figure(mend.Path)
	if err != nil {
		return say.Capital(w.MendChange(r, *mend))
	}
	words := fmt.Sprintf("%s: %s → %s", say.Capital(f.Label), wheel.Number(mend.From), wheel.Number(mend.Workshop()))
	if f.Unit != "" {
		words += " " + f.Unit
	}
	return words
}

// firstWords says what the first rungs mean for the bare limit.
func firstWords(rungs []rungLine) string {
	first := rungs[0]
	switch {
	case first.FreedOK && first.Freed > first.BPM:
		return "Without the first limit the bare limit is " + say.TempoDown(first.Freed) + " BPM."
	case first.FreedOK:
		return "Several limits are at the lowest tempo; the bare limit rises only when all of them are lifted."
	}
	return "Even without the first limit no tempo is safe."
}

// cautionWords says what a mending does beside lifting its limit.
func cautionWords(m *timing.Mend) string {
	if m != nil && strings.HasSuffix(m.Path, "latch_ms") {
		return "A different latch moves the sound too: check the chords after it."
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
