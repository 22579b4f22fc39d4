package timing

import "math"

// Bare is how fast a pinning could be played if every figure were exact and
// every drop alike, in beats per minute. Each is nil where there is none: where
// the machine's lowest tempo breaks a rule already, and where a figure is
// unknown.
type Bare struct {
	MaxSafeBPM *float64 // the bare limit: the lower of the next two
	NotesBPM   *float64 // up to here no rule is broken that touches a note
	LanesBPM   *float64 // up to here no marbles meet that have both struck
	// StopBPM is down to which tempo below the machine's lowest no rule is
	// broken, 0 where none is at any. Every play starts and stops through there.
	StopBPM *float64
}

// Bare is the pinning's bare limit and what it is made of.
func (t *Turn) Bare() Bare {
	if !t.isKnown() {
		return Bare{}
	}
	t.scan()
	return t.bare()
}

// bare is Bare after a scan of a pinning whose figures are all known.
func (t *Turn) bare() (b Bare) {
	if bpm, ok := maxSafe(t.bands(), t.works.Machine.Limits.TempoMinBPM); ok {
		down := t.stop()
		b.MaxSafeBPM, b.StopBPM = &bpm, &down
	}
	notes, lanes := 0.0, 0.0 // the longest periods at which rules bite
	for _, bite := range t.first {
		if t.works.touchesNote(bite.cause) {
			notes = max(notes, bite.below)
		} else {
			lanes = max(lanes, bite.below)
		}
	}
	b.NotesBPM, b.LanesBPM = t.upTo(notes), t.upTo(lanes)
	return b
}

// upTo is the tempo up to which nothing bites where the longest period at which
// something does is below; nil where that is the machine's lowest tempo.
func (t *Turn) upTo(below float64) *float64 {
	limits := t.works.Machine.Limits
	shortest, _ := t.periods()
	bpm := limits.TempoMaxBPM
	if below > shortest {
		bpm = t.works.Machine.Wheel.Tempo(below)
	}
	if bpm-limits.TempoMinBPM < leastBand {
		return nil
	}
	return &bpm
}

// touchesNote is false for a cause that is about two marbles which have both
// struck.
func (w *Works) touchesNote(c cause) bool {
	if _, ok := w.rules.all[c.rule].(pairRule); !ok || c.lane < 0 {
		return true
	}
	q, ok := w.pairOf(w.unpack(c))
	return !ok || !q.of.rule.afterStrikes(q.a, q.b)
}

// stop is the tempo down to which the first band goes on below the machine's
// lowest: rules between pins that follow each other bite no more there, and
// pairs bite at single differences.
func (t *Turn) stop() float64 {
	_, longest := t.periods()
	next := math.Inf(1)
	for q := range t.pairs {
		l := t.works.leadOf(q)
		d, last := l.differences(longest, math.Inf(1))
		ra, rb := &t.rows[q.a.Channel], &t.rows[q.b.Channel]
		if q.a.Channel == q.b.Channel {
			d = max(d, 1)
		}
		for ; d <= last; d++ {
			from, to, ok := l.forbidden(d)
			if ok && from < to && to > longest && from < next && ra.differ(rb, wrap(d, ra.n)) {
				next = max(from, longest)
			}
		}
	}
	if math.IsInf(next, 1) {
		return 0
	}
	return t.works.Machine.Wheel.Tempo(next)
}
