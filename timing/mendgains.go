package timing

import (
	"cmp"
	"math"
	"slices"
)

// Marks is how a pinning stands on a machine: what a mend is for, and what else it
// can move. Tempos are nil where there are none.
type Marks struct {
	BareBPM, KeepBelowBPM, RedLineBPM *float64
	Faults                            // to be expected in a turn at the tempo in question
	FlamS                             float64
	Together                          *TempoRange
}

// Gains is what a mend changes.
type Gains struct {
	Before, After Marks
	Moves         []LimitMove // of other limits, in the order of the ladder
}

// LimitMove is a limit that a mend moves. To is the machine's highest tempo where
// the limit is gone.
type LimitMove struct {
	Cause
	FromBPM, ToBPM float64
}

func gain(before, after *float64) float64 {
	value := func(bpm *float64) float64 {
		if bpm == nil {
			return 0
		}
		return *bpm
	}
	return value(after) - value(before)
}

// RedLineGain is by how much the red line rises, in beats per minute, from 0 where
// there was none.
func (g Gains) RedLineGain() float64 { return gain(g.Before.RedLineBPM, g.After.RedLineBPM) }

// KeepBelowGain is the same of the tempo to keep below.
func (g Gains) KeepBelowGain() float64 { return gain(g.Before.KeepBelowBPM, g.After.KeepBelowBPM) }

// BareGain is the same of the bare limit.
func (g Gains) BareGain() float64 { return gain(g.Before.BareBPM, g.After.BareBPM) }

// marks is how the turn stands with a scatter of its machine. All is nothing while
// a figure is unknown.
func (t *Turn) marks(sc *scatter, tempoBPM float64) (s Marks) {
	if !t.isKnown() {
		return s
	}
	m := t.works.Machine
	keep, bare, ok := t.keepBelowAndBare(sc)
	if bare > 0 {
		s.BareBPM = &bare
	}
	if ok {
		red := min(keep, m.Limits.HouseBPM.Or(keep))
		s.KeepBelowBPM, s.RedLineBPM = &keep, &red
	}
	p := m.Wheel.StepPeriod(tempoBPM)
	t.risks.find(t, sc, p, p)
	s.Faults = t.risks.faults(p)
	s.FlamS = t.Flam(tempoBPM)
	if from, to, ok := t.Together(); ok {
		s.Together = &TempoRange{from, to}
	}
	return s
}

// marks is how things stand before anything is mended.
func (m *mender) marks() *Marks {
	if m.before == nil {
		s := m.Turn.marks(m.works.scatter(), m.tempo)
		m.before = &s
	}
	return m.before
}

// sameGain is how far apart two gains have to be to count as different, in beats
// per minute: what is shown.
const sameGain = 0.1

// compared is all that lifts a rung's limit, or brings the tempo to keep below
// nearer to it, the most useful first: what raises the red line most, then
// keep-below, then the bare limit, then what moves the sound least.
func (m *mender) compared(r Rung, rungs []Rung) []Mend {
	mends := slices.Concat(m.figures(r), m.group(r, rungs))
	kept := mends[:0]
	for _, mend := range mends {
		if m.weigh(&mend, r, rungs) {
			kept = append(kept, mend)
		}
	}
	mends = append(kept, m.spreads(r)...)
	rough := func(gain float64) float64 { return math.Round(gain / sameGain) }
	slices.SortStableFunc(mends, func(a, b Mend) int {
		return cmp.Or(
			cmp.Compare(rough(b.RedLineGain()), rough(a.RedLineGain())),
			cmp.Compare(rough(b.KeepBelowGain()), rough(a.KeepBelowGain())),
			cmp.Compare(rough(b.BareGain()), rough(a.BareGain())),
			cmp.Compare(math.Round(a.After.FlamS*1e4), math.Round(b.After.FlamS*1e4)))
	})
	return mends
}

// weigh works out what a mend wins and moves; ok is false where the machine would
// not work with it.
func (m *mender) weigh(mend *Mend, r Rung, rungs []Rung) (ok bool) {
	works, err := m.works.With(mend.Sets...)
	if err != nil {
		return false
	}
	t := Turn{works: works, rows: m.rows, trips: m.trips, pinning: m.pinning}
	mend.Before, mend.After = *m.marks(), t.marks(works.scatter(), m.tempo)
	after := map[Cause]float64{}
	for _, l := range t.Limits() {
		after[l.Cause] = l.BPM
	}
	for _, before := range rungs {
		bpm, bites := after[before.Cause]
		if !bites {
			bpm = works.Machine.Limits.TempoMaxBPM
		}
		if before.Cause != r.Cause && math.Abs(bpm-before.BPM) > sameTempo*bpm {
			mend.Moves = append(mend.Moves, LimitMove{before.Cause, before.BPM, bpm})
		}
	}
	return true
}
