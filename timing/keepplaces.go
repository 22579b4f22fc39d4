package timing

import (
	"cmp"
	"math/bits"
	"slices"
)

// Contribution is what one cause adds to the faults that have to be expected in
// a turn.
type Contribution struct {
	Cause
	Jam     bool    // it jams marbles; else it spoils notes
	PerTurn float64 // faults to be expected of it in a turn
	Places  int     // pins, or pairs of pins, that it comes from
	// Where most of it comes from, and there the first that the wheel brings
	// round: the step of the cause's channel, and of the other. −1 where there is
	// none.
	Step, OtherStep int
}

// Contributions are the causes that add most to the faults to be expected at a
// tempo, n of them at most, the worst first.
func (t *Turn) Contributions(tempoBPM float64, n int) []Contribution {
	p := t.works.Machine.Wheel.StepPeriod(tempoBPM)
	k := &t.risks
	k.find(t, t.works.scatter(), p, p)
	all := make([]share, 0, len(k.list)+len(k.sure))
	for i := range k.sure {
		s := &k.sure[i]
		all = append(all, share{s.cause, s.count, int(s.count), nil, s})
	}
	for i := range k.list {
		f := &k.list[i]
		if e := f.count * k.sc.chance(&f.odds, p); e > 0 {
			all = append(all, share{f.cause, e, int(f.count), f, nil})
		}
	}
	slices.SortFunc(all, func(a, b share) int {
		return cmp.Or(compareCauses(a.cause, b.cause), cmp.Compare(b.perTurn, a.perTurn))
	})
	var causes []share // its place that of the greatest of a cause
	for _, s := range all {
		if last := len(causes) - 1; last >= 0 && causes[last].cause == s.cause {
			causes[last].perTurn += s.perTurn
			causes[last].places += s.places
			continue
		}
		causes = append(causes, s)
	}
	slices.SortStableFunc(causes, func(a, b share) int { return cmp.Compare(b.perTurn, a.perTurn) })
	causes = causes[:min(n, len(causes))]
	told := make([]Contribution, len(causes))
	for i, s := range causes {
		told[i] = t.contribution(s)
	}
	return told
}

// share is what a risk, or a place that is sure to spoil notes, adds to the
// faults of a turn.
type share struct {
	cause   cause
	perTurn float64
	places  int
	risk    *risk
	sure    *sure
}

func compareCauses(a, b cause) int {
	return cmp.Or(cmp.Compare(a.rule, b.rule), cmp.Compare(a.channel, b.channel), cmp.Compare(a.other, b.other), cmp.Compare(a.lane, b.lane))
}

func (t *Turn) contribution(s share) Contribution {
	c := Contribution{Cause: t.works.unpack(s.cause), PerTurn: s.perTurn, Places: s.places, OtherStep: -1}
	n := t.works.Machine.Wheel.Steps
	switch {
	case s.sure != nil:
		c.Step = s.sure.step
		if s.sure.apart > 0 {
			c.OtherStep = wrap(c.Step+s.sure.apart, n)
		}
		return c
	case s.risk.ask < 0:
		c.Jam = s.risk.jam
		c.Step = t.rows[c.Channel].firstDifference(&t.rows[c.Other], wrap(int(s.risk.apart), n))
	default:
		c.Step = t.rows[c.Channel].firstGap(int(s.risk.apart))
	}
	c.OtherStep = wrap(c.Step+int(s.risk.apart), n)
	return c
}

// firstDifference is the first step at which r has a pin, and so has, in other,
// the step d later; −1 where there is none. d is in 0 … n−1.
func (r *row) firstDifference(other *row, d int) int {
	for i := range r.size() {
		if w := r.own(i) & other.word(i, d); w != 0 {
			return i<<6 + bits.TrailingZeros64(w)
		}
	}
	return -1
}
