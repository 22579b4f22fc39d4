package timing

import (
	"cmp"
	"slices"
)

// Finding is one broken rule at one tempo. Indices are −1 where they do not
// apply.
type Finding struct {
	Kind             Kind
	Channel, Step    int // the pin; of two marbles, that of the one ahead
	Other, OtherStep int // the pin that follows it
	Lane             int
	GapS, NeedS      float64 // what there is and what the rule asks for, in seconds
}

// MaxFindings is how many findings there can be in a list. Nobody mends more
// one by one.
const MaxFindings = 100_000

// Findings appends every broken rule at a tempo to dst, in the order in which
// the wheel turns: all of them, or MaxFindings if there are more. A bound met
// within a nanosecond is met.
func (t *Turn) Findings(tempoBPM float64, dst []Finding) []Finding {
	from := len(dst)
	dst = t.find(tempoBPM, dst)
	slices.SortFunc(dst[from:], compareFindings)
	return dst
}

// First is the first of the findings at a tempo, if there are any. It
// allocates nothing.
func (t *Turn) First(tempoBPM float64) (Finding, bool) {
	t.found = t.find(tempoBPM, t.found[:0])
	if len(t.found) == 0 {
		return Finding{}, false
	}
	return slices.MinFunc(t.found, compareFindings), true
}

// find is Findings in any order.
func (t *Turn) find(tempoBPM float64, dst []Finding) []Finding {
	p := t.works.Machine.Wheel.StepPeriod(tempoBPM)
	from := len(dst)
	dst = t.findFollowing(p, dst)
	for q := range t.pairs {
		if dst = t.findPair(p, q, dst); len(dst)-from >= MaxFindings {
			break
		}
	}
	for _, r := range t.works.rules.lone {
		dst = r.find(t, dst)
	}
	return dst[:min(len(dst), from+MaxFindings)]
}

// compareFindings orders findings as the wheel turns. Marbles that are under way
// for longer than a turn may meet those of one pin more than once: the nearest
// comes first.
func compareFindings(a, b Finding) int {
	switch { // what differs most often comes first
	case a.Step != b.Step:
		return a.Step - b.Step
	case a.Kind != b.Kind:
		return int(a.Kind.order) - int(b.Kind.order)
	case a.Channel != b.Channel:
		return a.Channel - b.Channel
	}
	return cmp.Or(a.OtherStep-b.OtherStep, a.Other-b.Other, a.Lane-b.Lane, cmp.Compare(a.GapS, b.GapS))
}

// AtBoth reports whether a finding is about both of its pins: about two marbles,
// not about one that comes too soon after another of its channel.
func (f Finding) AtBoth() bool { return f.Lane >= 0 || f.Other >= 0 && f.Other != f.Channel }

// Cause is the cause that a finding belongs to. Two channels are named in the
// order of the machine file, not in that of the marbles.
func (f Finding) Cause() Cause {
	c := Cause{f.Kind, f.Channel, f.Other, f.Lane}
	switch {
	case f.Kind.ofStep:
		c.Channel = -1
	case c.Other >= 0:
		c.Channel, c.Other = min(f.Channel, f.Other), max(f.Channel, f.Other)
	}
	return c
}
