package timing

// Where is a pin, or a pair, at which a cause is broken just above a tempo at
// which it first bites: the first that the wheel brings round. ok is false
// where there is none.
func (t *Turn) Where(c Cause, bpm float64) (f Finding, ok bool) {
	const above = 1 + 1e-6
	t.found = t.findCause(c, t.works.Machine.Wheel.StepPeriod(bpm*above), t.found[:0])
	for _, g := range t.found {
		if g.cause() == c && (!ok || compareFindings(g, f) < 0) {
			f, ok = g, true
		}
	}
	return f, ok
}

// findCause appends the findings of a cause at a step period, and others of
// the same channel or kind.
func (t *Turn) findCause(c Cause, p float64, dst []Finding) []Finding {
	switch c.Kind {
	case Meeting:
		if a, b, ok := t.works.passagesOf(c); ok {
			return t.findMeetings(p, a, b, dst)
		}
		return dst
	case Overload, Silent:
		return t.findOnSteps(dst)
	}
	return t.findOnChannel(c.Channel, p, dst)
}

// passagesOf is the two passages that meet in a meeting's lane, in the order
// in which they are compared everywhere.
func (w *Works) passagesOf(c Cause) (a, b Passage, ok bool) {
	found := 0
	for _, pass := range w.lanes[c.Lane].passages {
		if pass.Channel == c.Channel {
			a = pass
			found |= 1
		}
		if pass.Channel == c.Other {
			b = pass
			found |= 2
		}
	}
	return a, b, found == 3
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

// cause is the cause that a finding belongs to. Two channels that meet are
// named in the order of the machine file, whichever marble leads.
func (f Finding) cause() Cause {
	switch f.Kind {
	case Meeting:
		return Cause{f.Kind, min(f.Channel, f.Other), max(f.Channel, f.Other), f.Lane}
	case Overload:
		return Cause{f.Kind, -1, -1, -1}
	case Silent:
		return Cause{f.Kind, f.Channel, -1, -1}
	}
	return Cause{f.Kind, f.Channel, f.Channel, -1}
}
