package arrange

import (
	"context"
	"fmt"
	"time"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// reaches reports whether a highest safe tempo is one asked for, but for the
// last bits, which a tempo may lose on its way to a step period and back.
func (r *outcome) reaches(bpm float64) bool { return r.safe && r.maxSafe >= bpm*(1-1e-9) }

// reach eases to a tempo or, where that cannot be, as near to it as can be.
// cannot is sentences on what of the request cannot be.
func (e *easing) reach(ctx context.Context, limit time.Duration, tempoBPM float64) (r *outcome, cannot []string) {
	limits := e.machine.Limits
	target := e.mech.EasingTempo(tempoBPM)
	if tempoBPM > limits.TempoMaxBPM {
		cannot = append(cannot, fmt.Sprintf("%s BPM is above the machine's highest tempo; eased for that, %s BPM",
			wheel.Number(tempoBPM), wheel.Number(limits.TempoMaxBPM)))
	}
	first, done := within(ctx, limit/2, e.decided())
	r = e.to(first, target)
	done()
	if len(r.unmet) > 0 {
		cannot = append(cannot, r.unmetSentences(target)...)
		r = e.lower(ctx, limit/32, target)
		if len(r.unmet) > 0 {
			cannot = append(cannot, fmt.Sprintf("with these decisions, not even the machine's lowest tempo, %s BPM, is safe", wheel.Number(limits.TempoMinBPM)))
			e.putBack(r)
			for _, n := range r.unmet {
				cannot = append(cannot, fmt.Sprintf("%s: %s is left out all the same, because other notes are where it could go", e.machine.Wheel.PlaceText(int(e.notes[n].aim)), e.machine.Channels[e.notes[n].channel].Name))
			}
		} else {
			cannot = append(cannot, fmt.Sprintf("with these decisions, the highest safe tempo found is %s BPM", say.TempoDown(r.maxSafe)))
		}
	} else if !r.reaches(target) {
		r.exact = false
		cannot = append(cannot, fmt.Sprintf("%s BPM was not made safe", wheel.Number(target)))
	}
	return r, cannot
}

// within is a context with less time, where only a part of it may be used.
func within(ctx context.Context, limit time.Duration, only bool) (context.Context, context.CancelFunc) {
	if !only {
		return ctx, func() {}
	}
	return context.WithTimeout(ctx, limit)
}

// decided reports whether there is a note that may not be left out.
func (e *easing) decided() bool {
	for i := range e.wishes {
		if !e.wishes[i].mayLeaveOut() {
			return true
		}
	}
	return false
}

// nearEnough is how near to the highest tempo that can be reached it is looked
// for, in beats per minute.
const nearEnough = 0.01

// lower eases to the highest tempo at which all decisions can be kept or, where
// there is none, to the lowest.
func (e *easing) lower(ctx context.Context, each time.Duration, above float64) *outcome {
	try := func(bpm float64) *outcome {
		ctx, done := context.WithTimeout(ctx, each)
		defer done()
		return e.to(ctx, bpm)
	}
	low := e.mech.EasingTempo(0)
	best := try(low)
	if len(best.unmet) > 0 {
		return best
	}
	for low = max(low, best.maxSafe); above-low > nearEnough && ctx.Err() == nil; {
		middle := (low + above) / 2
		if r := try(middle); len(r.unmet) > 0 || !r.reaches(middle) {
			above = middle
		} else {
			best, low = r, max(middle, r.maxSafe)
		}
	}
	return best
}

// putBack puts notes that were to stay back to where they may be, as far as
// there is a hole for them.
func (e *easing) putBack(r *outcome) {
	type hole struct{ channel, step int32 }
	taken := make(map[hole]bool, len(e.notes))
	for i := range e.notes {
		if !r.left[i] {
			taken[hole{r.to[i].channel, r.gaps.step(int32(i), r.to[i])}] = true
		}
	}
	for _, n := range r.unmet {
		for _, c := range e.notes[n].choices {
			for _, later := range [...]int32{0, 1, -1, 2, -2} {
				s := site{c, later}
				h := hole{c, r.gaps.step(n, s)}
				if r.left[n] && e.wishes[n].allows(s) && !taken[h] {
					r.left[n], r.to[n], taken[h] = false, s, true
				}
			}
		}
	}
	r.exact = false
	r.count()
	r.lower = 0
	e.verify(r)
}
