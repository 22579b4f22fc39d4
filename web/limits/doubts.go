package limits

import (
	"errors"
	"net/http"
	"slices"
	"strings"

	"pinwright/web/page"
	"pinwright/wheel/say"
)

// costLine is what measuring one figure would win.
type costLine struct{ Label, Doubt, Wins string }

// shownCosts is how many figures are named that are worth measuring.
const shownCosts = 8

// fillUnknown says what has to be measured before anything is safe.
func (p *timingPage) fillUnknown(tr trial) {
	unknown := tr.turn.Unknown()
	if len(unknown) == 0 {
		return
	}
	p.Unknown = page.ToMeasure(tr.now, tr.works.Machine.Grounds(), func(path string) bool { return slices.Contains(unknown, path) })
	if bpm, ok := tr.turn.AtBest(); ok {
		p.AtBest = say.TempoDown(bpm)
	}
}

// doubts is what keeps the machine below its bare limit, and what measuring would
// win. On a large machine it takes seconds to work out, so it is asked for by
// itself.
type doubts struct {
	Costs   []costLine
	Divided string // as a sentence
}

func (s *area) timingDoubts(w http.ResponseWriter, r *http.Request) error {
	tr, err := s.readTrial(r, readTimingChoice(r.URL.Query()))
	if bad := (*noTempo)(nil); err != nil && !errors.As(err, &bad) && asBadTrial(err) == nil {
		return err
	}
	s.Show(w, r, http.StatusOK, whatDoubtCosts(doubtsOf(tr)))
	return nil
}

func doubtsOf(tr trial) (d doubts) {
	if tr.turn == nil {
		return d
	}
	m := tr.works.Machine
	costs := tr.turn.DoubtCosts()
	for _, c := range costs[:min(len(costs), shownCosts)] {
		f, err := m.Figure(c.Figure)
		if err != nil {
			continue
		}
		d.Costs = append(d.Costs, costLine{
			Label: say.Capital(f.Label), Doubt: strings.TrimSpace("± " + say.Rounded(m.Doubt(c.Figure).U, 2) + " " + f.Unit), Wins: say.Rounded(c.BPM, 1),
		})
	}
	d.Divided = tr.works.DivideSentence(tr.turn.Standing(), tr.turn.Divide())
	return d
}
