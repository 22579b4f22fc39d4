package limits

import (
	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// costLine is what measuring one figure would win.
type costLine struct{ Label, Doubt, Wins string }

// shownCosts is how many figures are named that are worth measuring.
const shownCosts = 8

// fillDoubts says what has to be measured first or, where everything is known,
// what to measure next.
func (p *timingPage) fillDoubts(tr trial) {
	m := tr.works.Machine
	for _, path := range tr.turn.Unknown() {
		p.Unknown = append(p.Unknown, labelOf(m, path))
	}
	if len(p.Unknown) > 0 {
		if bpm, ok := tr.turn.AtBest(); ok {
			p.AtBest = say.TempoDown(bpm)
		}
		return
	}
	costs := tr.turn.DoubtCosts()
	for _, c := range costs[:min(len(costs), shownCosts)] {
		f, err := m.Figure(c.Figure)
		if err != nil {
			continue
		}
		p.Costs = append(p.Costs, costLine{
			Label: say.Capital(f.Label), Doubt: "± " + say.Rounded(m.Doubt(c.Figure).U, 2) + " " + f.Unit, Wins: say.Rounded(c.BPM, 1),
		})
	}
	sum := 0.0
	shares := tr.turn.Divide()
	for _, s := range shares {
		sum += s.BPM
	}
	for _, s := range shares {
		if sum > 0 && s.BPM >= 0.05 {
			p.Shares = append(p.Shares, say.Rounded(s.BPM, 1)+" BPM "+shareWords(s.By))
		}
	}
}

// shareWords says what a share of the distance to the bare limit comes from.
func shareWords(by timing.ShareOf) string {
	switch by {
	case timing.BySpread:
		return "because drops are not alike (mend)"
	case timing.ByDoubt:
		return "because figures are not known well (measure)"
	case timing.ByPins:
		return "because pins do not stand exactly in their places (take care)"
	}
	return "because the crank does not turn evenly (hand or drive)"
}

func labelOf(m *wheel.Machine, path string) string {
	if f, err := m.Figure(path); err == nil {
		return say.Capital(f.Label)
	}
	return path
}
