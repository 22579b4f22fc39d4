package limits

import (
	"errors"
	"fmt"
	"strings"

	"pinwright/timing"
	"pinwright/web/page"
	"pinwright/wheel/say"
)

// rungLine is one limit of the ladder, as the page lists it.
type rungLine struct {
	timing.Rung
	Words   string // what holds, by how much, where
	Gain    string // what mending it gains
	ID      string // tells it from the others
	Place   string // the address of its place on the wheel
	TryURL  string // the page with its mending on trial; empty where no one figure mends it
	Caution string // what else that mending does
}

// shownRungs is how many rungs of the ladder the page lists.
const shownRungs = 12

func (view *timingPage) fillLadder(tr trial) {
	rungs := tr.turn.Ladder()
	view.More = max(0, len(rungs)-shownRungs)
	for _, rung := range rungs[:min(len(rungs), shownRungs)] {
		line := rungLine{Rung: rung, ID: rungID(rung), Words: tr.works.RungSentence(rung), Gain: sentenceOf(tr.works.MendSentence(rung))}
		line.Place = page.PinURL(tr.pinning.ID, view.Choice.Tempo, tr.works.Machine.Channels[rung.Where.Channel].ID, rung.Where.Step)
		if rung.Mend != nil {
			line.TryURL = page.PinningURL(tr.pinning.ID, "timing?"+view.Choice.query(setText{rung.Mend.Path, say.Typed(rung.Mend.Workshop())}))
		}
		line.Caution = cautionWords(rung.Mend)
		view.Rungs = append(view.Rungs, line)
	}
}

// rungID is one for one limit, whatever else is on trial: a limit is of one
// kind, on one lane, between two channels.
func rungID(r timing.Rung) string {
	return fmt.Sprintf("%s-%d-%d-%d", r.Kind, r.Channel, r.Other, r.Lane)
}

// cautionWords says what a mending does beside lifting its limit.
func cautionWords(m *timing.Mend) string {
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

func trialNote(p timingPage) string {
	if p.Trial == nil {
		return ""
	}
	return " These are the limits on trial."
}
