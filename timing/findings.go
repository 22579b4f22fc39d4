package timing

import (
	"cmp"
	"math"
	"math/bits"
	"slices"
)

// Finding is one broken rule at one tempo. Indices are −1 where they do not
// apply.
type Finding struct {
	Kind             Kind
	Channel, Step    int // the pin; of a meeting, the marble ahead
	Other, OtherStep int // the pin that follows it
	Lane             int
	GapS, NeedS      float64 // what there is and what the rule asks for, in seconds
}

// MaxFindings is how many findings are told at the most. A pinning with more
// is past mending one by one.
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
	dst = t.findOnChannels(p, dst)
	for a, b := range t.pairs {
		if dst = t.findMeetings(p, a, b, dst); len(dst)-from >= MaxFindings {
			break
		}
	}

	dst = t.findOnSteps(dst)
	return dst[:min(len(dst), from+MaxFindings)]
}

// compareFindings orders findings as the wheel turns.
func compareFindings(a, b Finding) int {
	if a.Step != b.Step { // as it is with nearly all
		return a.Step - b.Step
	}
	return cmp.Or(cmp.Compare(a.Kind, b.Kind), a.Channel-b.Channel, a.OtherStep-b.OtherStep, a.Other-b.Other, a.Lane-b.Lane)
}

func (t *Turn) findOnChannels(p float64, dst []Finding) []Finding {
	for i := range t.rows {
		dst = t.findOnChannel(i, p, dst)
	}
	return dst
}

func (t *Turn) findOnChannel(i int, p float64, dst []Finding) []Finding {
	r := &t.rows[i]
	if r.pins == 0 {
		return dst
	}
	c := &t.works.Channels[i]
	for at := r.next(0); at < r.n; {
		after := r.next(at + 1)
		f := Finding{Channel: i, Step: at, Other: i, OtherStep: after % r.n, Lane: -1}
		gap := float64(after - at)
		if free := (gap - c.Hold) * p; gap <= c.Hold || free < c.Return-met {
			f.Kind, f.GapS, f.NeedS = Crowded, free, c.Return
			dst = append(dst, f)
		}
		f.GapS = gap * p
		if f.GapS < c.Reload-met {
			f.Kind, f.NeedS = Unready, c.Reload
			dst = append(dst, f)
		}
		if f.GapS < c.Clear-met {
			f.Kind, f.NeedS = Unclear, c.Clear
			dst = append(dst, f)
		}
		at = after
	}
	return dst
}

// findMeetings takes the same pairs as scanPair, at one period.
func (t *Turn) findMeetings(p float64, a, b Passage, dst []Finding) []Finding {
	l := t.leadOf(a, b)
	d, last := l.differences(p, p)
	ra, rb := &t.rows[a.Channel], &t.rows[b.Channel]
	if a.Channel == b.Channel {
		d = max(d, 1)
	}
	for most := len(dst) + MaxFindings; d <= last && len(dst) < most; d++ {
		ahead := p*(float64(d)+l.rho) + l.offset
		if ahead <= met-l.behind || ahead >= l.ahead-met {
			continue
		}
		turned := wrap(d, ra.n)
		for i := range ra.size() {
			for both := ra.own(i) & rb.word(i, turned); both != 0; both &= both - 1 {
				step := i<<6 + bits.TrailingZeros64(both)
				f := Finding{Meeting, a.Channel, step, b.Channel, wrap(step+d, ra.n), a.Lane, ahead, l.ahead}
				if ahead < 0 {
					f = Finding{Meeting, b.Channel, f.OtherStep, a.Channel, step, a.Lane, math.Abs(ahead), l.behind}
				}
				dst = append(dst, f)
			}
		}
	}
	return dst
}

func (t *Turn) findOnSteps(dst []Finding) []Finding {
	if most := t.works.Machine.Limits.TripsAtOnce; most > 0 {
		for step, trips := range t.trips {
			if int(trips) > most {
				first := slices.IndexFunc(t.rows, func(r row) bool { return r.has(step) })
				dst = append(dst, Finding{Overload, first, step, -1, -1, -1, float64(trips), float64(most)})
			}
		}
	}
	for i := range t.rows {
		if r := &t.rows[i]; t.works.Channels[i].Resting && r.pins > 0 {
			for at := r.next(0); at < r.n; at = r.next(at + 1) {
				dst = append(dst, Finding{Silent, i, at, -1, -1, -1, 0, 0})
			}
		}
	}
	return dst
}
