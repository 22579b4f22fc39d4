package timing

import (
	"math"
	"math/bits"
)

// pair is two passages that a rule keeps from each other. A passage is paired
// with itself as well: with that of another pin, or of another turn.
type pair struct {
	of   *pairing
	a, b *Passage
}

// pairs yields every pair whose channels both have pins.
func (t *Turn) pairs(yield func(pair) bool) {
	for k := range t.works.rules.pairs {
		of := &t.works.rules.pairs[k]
		for _, ps := range of.groups {
			for i := range ps {
				if t.rows[ps[i].Channel].pins == 0 {
					continue
				}
				first := i
				if !of.ownToo {
					first++
				}
				for j := first; j < len(ps); j++ {
					if t.rows[ps[j].Channel].pins > 0 && !yield(pair{of, &ps[i], &ps[j]}) {
						return
					}
				}
			}
		}
	}
}

// pairsOf yields every pair of a channel's passage and another's, pins or none,
// in the order of the first one's way.
func (w *Works) pairsOf(channel, other int) func(yield func(pair) bool) {
	return func(yield func(pair) bool) {
		for k := range w.rules.pairs {
			of := &w.rules.pairs[k]
			if channel == other && !of.ownToo {
				continue
			}
			for _, a := range of.visits[channel] {
				for _, b := range of.visits[other] {
					if a.group == b.group && !yield(pair{of, a.Passage, b.Passage}) {
						return
					}
				}
			}
		}
	}
}

// pairOf is the pair of a cause.
func (w *Works) pairOf(c Cause) (pair, bool) {
	for q := range w.pairsOf(c.Channel, c.Other) {
		if q.of.kind == c.Kind && q.a.Lane == c.Lane {
			return q, true
		}
	}
	return pair{}, false
}

// lead is by how much passage a of a pin leads passage b of one d steps later:
// p (d + ρb − ρa) + (τb − τa) = slope·p + offset.
type lead struct {
	rho, offset float64 // ρb − ρa in steps, τb − τa in seconds
	ahead       float64 // need of a over b, s
	behind      float64 // need of b over a, s
}

func (w *Works) leadOf(q pair) lead {
	return lead{
		rho:    w.Channels[q.b.Channel].Reach - w.Channels[q.a.Channel].Reach,
		offset: q.b.Enter - q.a.Enter,
		ahead:  q.of.rule.need(w, q.a, q.b),
		behind: q.of.rule.need(w, q.b, q.a),
	}
}

// differences is the range of d at which the two can meet at some period in
// [shortest, longest]: −behind < p (d + ρ) + offset < ahead.
func (l lead) differences(shortest, longest float64) (from, to int) {
	low, high := -l.behind-l.offset, l.ahead-l.offset
	from = int(math.Ceil(min(low/shortest, low/longest) - l.rho))
	to = int(math.Floor(max(high/shortest, high/longest) - l.rho))
	return from, to
}

// never is true of needs that together are within the slack of both bounds: they
// are always met.
func (l lead) never() bool { return l.ahead+l.behind <= 2*met }

// forbidden is the open interval of periods at which a pin d steps later meets
// the earlier one's marble. ok is false where there is none.
func (l lead) forbidden(d int) (from, to float64, ok bool) {
	if l.never() {
		return 0, 0, false
	}
	low, high, slope := -l.behind-l.offset, l.ahead-l.offset, float64(d)+l.rho
	switch {
	case slope > 0:
		return low / slope, high / slope, high > 0
	case slope < 0:
		return high / slope, low / slope, low < 0
	default:
		return 0, math.Inf(1), low < 0 && high > 0
	}
}

// scanPair takes two passages of every turn with every other. Two pins matter
// only through their difference in steps, so each difference that occurs
// forbids its interval once.
func (t *Turn) scanPair(q pair) {
	shortest, longest := t.periods()
	l := t.works.leadOf(q)
	d, last := l.differences(shortest, longest)
	ra, rb := &t.rows[q.a.Channel], &t.rows[q.b.Channel]
	if q.a.Channel == q.b.Channel {
		d = max(d, 1) // a pin's own marble is no pair, and later turns mirror earlier ones
	}
	first := bite{below: -1}
	for ; d <= last; d++ {
		from, to, ok := l.forbidden(d)
		from, to = max(from, 0), min(to, longest)
		if !ok || to <= shortest || from >= to {
			continue
		}
		if to <= first.below && t.cover.holds(from, to) {
			continue
		}
		if !ra.differ(rb, wrap(d, ra.n)) {
			continue
		}
		c := q.cause()
		t.cover.add(span{from, to, c})
		if to > first.below {
			first = bite{c, to, l.ahead}
			if float64(d)+l.rho < 0 {
				first.least = l.behind
			}
		}
	}
	if first.below > 0 {
		t.first = append(t.first, first)
	}
}

// cause is that of two passages, whose channels are named in the order of the
// machine file.
func (q pair) cause() cause {
	one, two := int32(q.a.Channel), int32(q.b.Channel)
	return cause{q.of.kind.order, min(one, two), max(one, two), int32(q.a.Lane)}
}

// findPair takes the same pairs of marbles as scanPair, at one period.
func (t *Turn) findPair(p float64, q pair, dst []Finding) []Finding {
	if !q.a.Known || !q.b.Known {
		return dst
	}
	l := t.works.leadOf(q)
	d, last := l.differences(p, p)
	kind, a, b := q.of.kind, q.a, q.b
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
				f := Finding{kind, a.Channel, step, b.Channel, wrap(step+d, ra.n), a.Lane, ahead, l.ahead}
				if ahead < 0 {
					f = Finding{kind, b.Channel, f.OtherStep, a.Channel, step, a.Lane, math.Abs(ahead), l.behind}
				}
				dst = append(dst, f)
			}
		}
	}
	return dst
}

func wrap(d, n int) int {
	if d %= n; d < 0 {
		d += n
	}
	return d
}
