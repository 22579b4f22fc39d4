package timing

// MaxRungs is how many rungs a ladder has at the most. [Turn.Limits] has all
// limits; nobody mends the two hundred and first before the first.
const MaxRungs = 200

// Rung is one limit of the ladder, with what it would buy to lift it.
type Rung struct {
	Limit
	Where   Finding // the first place that the wheel brings round where it bites
	Freed   float64 // the bare limit in BPM if this one limit were gone
	FreedOK bool    // false where there would still be none
	Next    float64 // the lowest limit that is higher by at least the narrowest band, or the machine's highest tempo, in BPM
	// Mends are what lifts the limit, the most useful first; see
	// [Turn.MendedLadder].
	Mends []Mend
}

// Ladder is the lowest limits in the order of [Turn.Limits], each with what it
// would buy to lift it; what would lift them is left out. A limit that is not the lowest, or not alone the
// lowest, frees nothing by itself: Freed is the highest safe tempo as it is.
func (t *Turn) Ladder() []Rung {
	t.scan()
	limits := t.limits()
	m := t.works.Machine
	rungs := make([]Rung, min(len(limits), MaxRungs))
	for i, l := range limits[:len(rungs)] {
		r := &rungs[i]
		*r = Rung{Limit: l, Freed: m.Limits.TempoMaxBPM, Next: m.Limits.TempoMaxBPM}
		switch {
		case i > 0:
			r.Freed = limits[0].BPM
		case len(limits) > 1:
			r.Freed = limits[1].BPM
		}
		if r.FreedOK = r.Freed-m.Limits.TempoMinBPM >= leastBand; !r.FreedOK {
			r.Freed = 0
		}
		for _, above := range limits[i+1:] {
			if above.BPM-l.BPM >= leastBand {
				r.Next = above.BPM
				break
			}
		}
		var ok bool
		if r.Where, ok = t.Where(l.Cause, l.BPM); !ok {
			r.Where = t.anywhere(l)
		}
	}
	return rungs
}

// MendedLadder is [Turn.Ladder] with what would lift the first n limits, worked
// out and compared at a tempo, in beats per minute.
func (t *Turn) MendedLadder(tempoBPM float64, n int) []Rung {
	rungs := t.Ladder()
	if len(rungs) == 0 || n == 0 {
		return rungs
	}
	mender := newMender(t, tempoBPM)
	for i := range rungs[:min(n, len(rungs))] {
		rungs[i].Mends = mender.compared(rungs[i], rungs)
	}
	return rungs
}
