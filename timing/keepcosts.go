package timing

import (
	"cmp"
	"math"
	"slices"
)

// DoubtCost is what is lost by not knowing a figure better.
type DoubtCost struct {
	Figure string  // its path
	BPM    float64 // by which keep-below would be higher with it measured ten times
}

// leastWin is the least that is worth a measurement, in beats per minute.
const leastWin = 1e-3

// DoubtCosts is, for every figure of which that would change anything, by how
// much keep-below would be higher if the figure had been measured ten times: its
// doubt being s/√10 then (JCGM 100:2008, 4.2.3), or a √10th of what it is where
// the figure does not vary. The most comes first. It is empty where there is no
// keep-below, or nothing to win.
func (t *Turn) DoubtCosts() []DoubtCost {
	sc := newScatter(t.works, t.works.sources()) // its figures are moved: not the one that others use
	now, bare, ok := t.keepBelowAndBare(sc)
	if !ok || now == bare {
		return nil
	}
	var costs []DoubtCost
	for k, bears := range t.bearing(now) {
		d := sc.all[k].doubt
		better := doubt{d.s, cmp.Or(d.s, d.u) / math.Sqrt(10)}
		if !bears || sc.all[k].path == "" || better.u >= d.u || !t.vary(sc.with(k, better)) {
			continue
		}
		if bpm, ok := t.keepBelow(bare); ok && bpm-now >= leastWin {
			costs = append(costs, DoubtCost{sc.all[k].path, bpm - now})
		}
	}
	slices.SortStableFunc(costs, func(a, b DoubtCost) int { return cmp.Compare(b.BPM, a.BPM) })
	return costs
}

// slight is the share of what is put up with below which nobody asks what a
// fault comes from.
const slight = 1e-6

// bearing tells which figures bear on a fault that counts at a tempo.
func (t *Turn) bearing(tempoBPM float64) []bool {
	k, most := &t.risks, mostFaults(t.works.Machine)
	p := t.works.Machine.Wheel.StepPeriod(tempoBPM)
	bear := make([]bool, len(k.sc.all))
	channels := make([]bool, len(t.rows))
	for i := range k.list {
		f := &k.list[i]
		limit := most.SpoiltPerTurn
		if f.jam {
			limit = most.JamsPerTurn
		}
		if f.count*k.sc.chance(&f.odds, p) <= slight*limit {
			continue
		}
		channels[f.cause.channel], channels[f.cause.other] = true, true
		if f.ask < 0 {
			for _, m := range [...]int32{f.a, f.b} {
				for _, s := range k.sc.shifts[m] {
					bear[s.source] = true
				}
			}
		}
	}
	for k, x := range k.sc.all {
		bear[k] = bear[k] || x.use != useNothing && channels[x.channel]
	}
	return bear
}

// vary gives the risks that are listed the variances of another scatter. It
// reports whether that changes any.
func (t *Turn) vary(sc *scatter) (changed bool) {
	t.risks.sc = sc
	for i := range t.risks.list {
		if t.risks.list[i].vary(sc, t.works.Machine.Wheel.Steps) {
			changed = true
		}
	}
	return changed
}

// Share is a part of the way from the bare limit down to keep-below, in beats
// per minute: what not having it would win, scaled so that all parts together
// are the whole way.
type Share struct {
	By  ShareOf
	BPM float64
}

// ShareOf is what keeps the machine below its bare limit.
type ShareOf uint8

const (
	BySpread ShareOf = iota // figures vary from drop to drop: mend
	ByDoubt                 // figures are not known well: measure
	ByPins                  // pins are not where they should be: care
	ByCrank                 // the crank wanders and ripples: hand or drive
)

// Divide says what the distance between the bare limit and keep-below comes from.
// It is nil where there is no keep-below.
func (t *Turn) Divide() []Share {
	sc := newScatter(t.works, t.works.sources())
	now, bare, ok := t.keepBelowAndBare(sc)
	if !ok {
		return nil
	}
	shares := make([]Share, 4)
	sum := 0.0
	for i := range shares {
		shares[i].By = ShareOf(i)
		t.vary(sc.without(ShareOf(i)))
		if bpm, ok := t.keepBelow(bare); ok && bpm > now {
			shares[i].BPM = bpm - now
			sum += shares[i].BPM
		}
	}
	if sum > 0 {
		for i := range shares {
			shares[i].BPM *= (bare - now) / sum
		}
	}
	return shares
}

// without is the scatter with one thing that keeps the machine below its bare
// limit left out.
func (sc *scatter) without(what ShareOf) *scatter {
	n := *sc
	switch what {
	case BySpread, ByDoubt:
		all := slices.Clone(sc.all)
		for k := range all {
			if what == BySpread {
				all[k].s = 0
			} else {
				all[k].u = 0
			}
		}
		return newScatter(sc.works, all)
	case ByPins:
		n.pin = 0
	case ByCrank:
		n.wander, n.crank = 0, newCrankTurn(0)
	}
	return &n
}
