package timing

import "math"

// ask is what one rule asks of two pins that follow each other on one channel,
// D steps apart at step period p: D > arc and (D − arc) p ≥ needS.
type ask struct {
	kind  Kind
	arc   float64 // steps
	needS float64
	known bool // the figures are given; else it counts for no finding
}

// scanFollowing takes the rules between pins that follow each other on one
// channel. The closest two forbid all that any others do.
func (t *Turn) scanFollowing() {
	for i := range t.rows {
		gap := float64(t.rows[i].leastGap())
		if gap == 0 {
			continue
		}
		asks := t.works.rules.asks[i]
		for k := range asks {
			a := &asks[k]
			to := math.Inf(1)
			if gap > a.arc {
				to = a.needS / (gap - a.arc)
			}
			t.forbid(cause{a.kind.order, int32(i), int32(i), -1}, 0, to, a.needS)
		}
	}
}

func (t *Turn) findFollowing(p float64, dst []Finding) []Finding {
	for i := range t.rows {
		dst = t.findOnChannel(i, p, dst)
	}
	return dst
}

// findOnChannel appends where pins of one channel come too soon after those
// before them.
func (t *Turn) findOnChannel(i int, p float64, dst []Finding) []Finding {
	r := &t.rows[i]
	if r.pins == 0 {
		return dst
	}
	asks := t.works.rules.asks[i]
	for at := r.next(0); at < r.n; {
		after := r.next(at + 1)
		gap := float64(after - at)
		for k := range asks {
			a := &asks[k]
			if !a.known {
				continue
			}
			if free := (gap - a.arc) * p; gap <= a.arc || free < a.needS-met {
				dst = append(dst, Finding{a.kind, i, at, i, after % r.n, -1, free, a.needS})
			}
		}
		at = after
	}
	return dst
}

// stepsOn is how many steps after its pin a finding's other pin comes.
func (w *Works) stepsOn(f Finding) int {
	if d := w.Machine.Wheel.Wrap(f.OtherStep - f.Step); d > 0 {
		return d
	}
	return w.Machine.Wheel.Steps
}
