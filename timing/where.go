package timing

// Where is a pin, or a pair, at which a cause is broken just above a tempo at
// which it first bites: the first that the wheel brings round. ok is false
// where there is none.
func (t *Turn) Where(c Cause, bpm float64) (f Finding, ok bool) {
	const above = 1 + 1e-6
	for _, f := range t.Findings(bpm*above, nil) {
		if f.cause() == c {
			return f, true
		}
	}
	return Finding{}, false
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
