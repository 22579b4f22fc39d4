package timing

// MaxRungs is how many rungs a ladder has at the most. [Turn.Limits] has all
// limits; nobody mends the two hundred and first before the first.
const MaxRungs = 200

// Rung is one limit of the ladder, with what it would buy to mend it.
type Rung struct {
	Limit
	Where   Finding // the first place that the wheel brings round where it bites
	Freed   float64 // the highest safe tempo in BPM if this one limit were gone
	FreedOK bool    // false where there would still be none
	Next    float64 // the lowest limit that is higher by at least the narrowest band, or the machine's highest tempo, in BPM
	Mend    *Mend   // nil where no single figure is enough
}

// Ladder is the lowest limits in the order of [Turn.Limits], each with what it
// would buy to mend it. A limit that is not the lowest, or not alone the
// lowest, frees nothing by itself: Freed is the highest safe tempo as it is.
func (t *Turn) Ladder() []Rung {
	t.scan()
	limits := t.limits()
	m := t.works.Machine
	mender := newMender(t)
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
		r.Mend = mender.mend(*r)
	}
	return rungs
}
