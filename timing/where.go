package timing

// Where is a pin, or a pair, at which a cause is broken just above a tempo at
// which it first bites: the first that the wheel brings round. ok is false
// where there is none.
func (t *Turn) Where(c Cause, bpm float64) (f Finding, ok bool) {
	const above = 1 + 1e-6
	t.found = t.findCause(c, t.works.Machine.Wheel.StepPeriod(bpm*above), t.found[:0])
	for _, g := range t.found {
		if g.Cause() == c && (!ok || compareFindings(g, f) < 0) {
			f, ok = g, true
		}
	}
	return f, ok
}

// findCause appends the findings of a cause at a step period, and others of
// the same channel or kind.
func (t *Turn) findCause(c Cause, p float64, dst []Finding) []Finding {
	rule := t.works.rule(c.Kind)
	if _, ok := rule.(followRule); ok && c.Channel == c.Other {
		return t.findOnChannel(c.Channel, p, dst)
	}
	switch r := rule.(type) {
	case pairRule:
		if q, ok := t.works.pairOf(c); ok {
			return t.findPair(p, q, dst)
		}
	case loneRule:
		return r.find(t, dst)
	}
	return dst
}

// anywhere is a place of a limit that bites over too narrow a stretch of tempo
// to be found in: the first pins of its channels.
func (t *Turn) anywhere(l Limit) Finding {
	c := l.Cause
	first := func(channel int) int {
		if channel < 0 {
			return -1
		}
		return wrap(t.rows[channel].next(0), t.rows[channel].n)
	}
	return Finding{Kind: c.Kind, Channel: c.Channel, Step: first(c.Channel), Other: c.Other, OtherStep: first(c.Other), Lane: c.Lane, GapS: l.NeedS, NeedS: l.NeedS}
}
