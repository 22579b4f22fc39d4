package arrange

import (
	"context"
	"fmt"
	"strings"
	"time"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// refuses says why notes are not eased to a tempo at all: a figure is unknown, so
// that nothing could be called safe, or the house keeps below it.
func (e *easing) refuses(tempoBPM float64) string {
	l := &e.machine.Limits
	if house, ok := l.HouseBPM.Get(); ok && tempoBPM > house*(1+wheel.TempoSlack) {
		why := ""
		if l.HouseWhy != "" {
			why = " (" + l.HouseWhy + ")"
		}
		return fmt.Sprintf("%s BPM is above the house's limit, %s BPM%s; nothing was eased, so ask for %[2]s BPM or less", wheel.Number(tempoBPM), wheel.Number(house), why)
	}
	all := &wheel.Pinning{Format: wheel.PinningFormat, Machine: e.machine.Name, Pins: drive(e.machine, e.notes, e.advance)}
	if unknown := e.mech.Unmeasured(all); unknown != "" {
		return strings.TrimSuffix(unknown, ".") + "; nothing was eased"
	}
	return ""
}

// reach eases to the tempo to be trusted or, where that cannot be, as near to it
// as can be. cannot is sentences on what of the request cannot be.
func (e *easing) reach(ctx context.Context, limit time.Duration, tempoBPM float64) (r *outcome, cannot []string) {
	limits := e.machine.Limits
	if tempoBPM > limits.TempoMaxBPM {
		cannot = append(cannot, fmt.Sprintf("%s BPM is above the machine's highest tempo; eased for that, %s BPM",
			wheel.Number(tempoBPM), wheel.Number(limits.TempoMaxBPM)))
	}
	up := climb{easing: e, limit: limit}
	if e.decided() {
		up.limit = limit / 2
	}
	first, done := context.WithTimeout(ctx, up.limit)
	r = up.climb(first)
	done()
	if len(r.unmet) > 0 {
		cannot = append(cannot, e.unmetSentences(r)...)
		r = e.lower(ctx, limit/32, r.gaps.toBPM)
		switch {
		case len(r.unmet) > 0:
			cannot = append(cannot, fmt.Sprintf("with these decisions, not even the machine's lowest tempo, %s BPM, is safe", wheel.Number(limits.TempoMinBPM)))
			e.putBack(r)
			for _, n := range r.unmet {
				cannot = append(cannot, fmt.Sprintf("%s: %s is left out all the same, because other notes are where it could go", e.machine.Wheel.PlaceText(int(e.notes[n].aim)), e.machine.Channels[e.notes[n].channel].Name))
			}
		case r.keep > 0:
			cannot = append(cannot, fmt.Sprintf("with these decisions, the highest tempo found that can be trusted is %s BPM", say.TempoDown(r.keep)))
		default:
			cannot = append(cannot, "with these decisions, no tempo was found that can be trusted")
		}
	} else if !r.suffices() {
		r.exact = false
		found := "no tempo was found that can be"
		if r.keep > 0 {
			found = "the highest found that can be is " + say.TempoDown(r.keep) + " BPM"
		}
		cannot = append(cannot, fmt.Sprintf("%s BPM cannot be trusted, even eased; %s", wheel.Number(e.keep), found))
	}
	return r, cannot
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

// nearEnough is how near to the highest bare limit that can be reached it is
// looked for, in beats per minute.
const nearEnough = 0.01

// lower eases to the highest bare limit at which all decisions can be kept or,
// where there is none, to the lowest.
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
	for low = max(low, best.bare); above-low > nearEnough && ctx.Err() == nil; {
		middle := (low + above) / 2
		if r := try(middle); len(r.unmet) > 0 || r.bare < middle*(1-wheel.TempoSlack) {
			above = middle
		} else {
			best, low = r, max(middle, r.bare)
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
