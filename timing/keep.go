package timing

import (
	"math"

	"pinwright/wheel"
)

// Faults is what has to be expected in one turn of the wheel at a tempo: how
// many notes are spoilt, and how many times two marbles jam in a lane.
type Faults struct{ SpoiltPerTurn, JamsPerTurn float64 }

// Faults is what has to be expected of the pins on the wheel at a tempo, in
// beats per minute, from how much figures vary and how well they are known.
// Figures are taken to be normal, and faults to be few: of one that follows from
// another nothing is known.
func (t *Turn) Faults(tempoBPM float64) Faults {
	p := t.works.Machine.Wheel.StepPeriod(tempoBPM)
	t.risks.find(t, t.works.scatter(), p, p)
	return t.risks.faults(p)
}

// faults is what has to be expected at a step period.
func (k *risks) faults(p float64) Faults {
	sum := Faults{SpoiltPerTurn: k.certain}
	for i := range k.list {
		f := &k.list[i]
		sum.add(f, f.count*k.sc.chance(&f.odds, p))
	}
	return sum
}

func (s *Faults) add(f *risk, n float64) {
	if f.jam {
		s.JamsPerTurn += n
	} else {
		s.SpoiltPerTurn += n
	}
}

// within reports whether no more has to be expected than is put up with.
func (s Faults) within(most Faults) bool {
	return s.SpoiltPerTurn <= most.SpoiltPerTurn && s.JamsPerTurn <= most.JamsPerTurn
}

// KeepBelow is the tempo up to which the machine can be trusted, in beats per
// minute: the highest such that at it and at every slower one in the machine's
// range no more faults have to be expected than the machine's limits put up
// with, and no rule is broken. ok is false where that is not so at the lowest, or
// where a figure is unknown that a channel with pins needs.
func (t *Turn) KeepBelow() (bpm float64, ok bool) {
	bpm, _, ok = t.keepBelowAndBare(t.works.scatter())
	return bpm, ok
}

// keepBelowAndBare is keep-below and the bare limit. The risks up to the bare
// limit are listed then.
func (t *Turn) keepBelowAndBare(sc *scatter) (now, bare float64, ok bool) {
	if bare, ok = t.MaxSafe(); !ok {
		return 0, 0, false
	}
	now, ok = t.keepBelowOf(sc, bare)
	return now, bare, ok
}

// keepBelowOf is keep-below of a pinning whose bare limit is known. The risks up
// to there are listed then.
func (t *Turn) keepBelowOf(sc *scatter, bare float64) (bpm float64, ok bool) {
	t.findBelow(sc, bare)
	return t.keepBelow(bare)
}

// RedLine is the fastest that the machine should be played, in beats per minute:
// keep-below, or the limit of its house where that is lower. ok is false where
// there is no keep-below.
func (t *Turn) RedLine() (bpm float64, ok bool) {
	if bpm, ok = t.KeepBelow(); !ok {
		return 0, false
	}
	return t.works.redLine(bpm), true
}

// redLine is the red line of a tempo to keep below.
func (w *Works) redLine(keepBelow float64) float64 {
	return min(keepBelow, w.Machine.Limits.HouseBPM.Or(keepBelow))
}

// findBelow lists the risks at all tempos from the machine's lowest to bare.
func (t *Turn) findBelow(sc *scatter, bare float64) {
	_, longest := t.periods()
	t.risks.find(t, sc, t.works.Machine.Wheel.StepPeriod(bare), longest)
}

// keepBelow is KeepBelow with the risks that are listed.
func (t *Turn) keepBelow(bare float64) (bpm float64, ok bool) {
	m := t.works.Machine
	_, longest := t.periods()
	shortest := m.Wheel.StepPeriod(bare)
	most := mostFaults(m)
	if t.risks.certain > most.SpoiltPerTurn {
		return 0, false
	}
	t.search.start(&t.risks, most)
	switch p, through := t.search.down(longest, shortest, 0, len(t.risks.list)); {
	case through:
		return bare, true
	case p < longest:
		return m.Wheel.Tempo(p), true
	}
	if t.risks.faults(longest).within(most) {
		return m.Limits.TempoMinBPM, true
	}
	return 0, false
}

// search goes from slow to fast for the first step period at which more has to
// be expected than is put up with. It halves ranges of the period until what is
// at most to be expected in one is put up with: so no slower tempo is left out,
// where faults come and go.
type search struct {
	k    *risks
	most Faults
	on   []atRisk // what matters in the ranges under way
}

// atRisk is a risk, by its place in the list, and the chance that it has at most.
type atRisk struct {
	risk int32
	most float32
}

// grainBelow is how closely the search looks, as a fraction of the period: a
// millionth of a beat in a hundred.
const grainBelow = 1e-8

func (s *search) start(k *risks, most Faults) {
	s.k, s.most, s.on = k, most, s.on[:0]
	for i := range k.list {
		s.on = append(s.on, atRisk{risk: int32(i)})
	}
}

// down goes through the step periods from slow to fast, with the risks that are
// listed at from … to. It returns the period that it got to; through is false
// where it was stopped there.
func (s *search) down(slow, fast float64, from, to int) (p float64, through bool) {
	ok := s.passes(slow, fast, from, to)
	if ok {
		s.on = s.on[:to]
		return fast, true
	}
	if slow-fast <= grainBelow*slow {
		s.on = s.on[:to]
		return slow, false
	}
	from, to = to, len(s.on)
	middle := math.Sqrt(slow * fast)
	if p, through = s.down(slow, middle, from, to); through {
		p, through = s.down(middle, fast, from, to)
	}
	s.on = s.on[:from]
	return p, through
}

// passes reports whether what is at most to be expected between two step periods
// is put up with. It lists the risks that matter there after the others.
func (s *search) passes(slow, fast float64, from, to int) bool {
	k, sc := s.k, s.k.sc
	least, highest := sc.crank.least(), sc.crank.most()
	sum := Faults{SpoiltPerTurn: k.certain}
	for _, on := range s.on[from:to] {
		f := &k.list[on.risk]
		if n := sc.atMost(&f.odds, fast, slow, least, highest); n > 0 {
			sum.add(f, f.count*n)
			s.on = append(s.on, atRisk{on.risk, float32(n)})
		}
	}
	if sum.within(s.most) || sc.crank.ripple == 0 {
		return sum.within(s.most)
	}
	sum = Faults{SpoiltPerTurn: k.certain}
	for _, on := range s.on[to:] {
		f, n := &k.list[on.risk], float64(on.most)
		if n > small {
			n = sc.atMostOverTurn(&f.odds, fast, slow)
		}
		if sum.add(f, f.count*n); !sum.within(s.most) {
			return false
		}
	}
	return true
}

// small is a chance that need not be averaged over the crank's turn.
const small = 1e-11

// mostFaults is what a machine's limits put up with.
func mostFaults(m *wheel.Machine) Faults {
	return Faults{m.Limits.MostSpoilt(), m.Limits.MostJams()}
}
