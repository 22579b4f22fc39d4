package arrange

import (
	"context"
	"errors"
	"math"
	"time"

	"pinwright/wheel"
)

const (
	climbStep  = 0.5 // by which the bare limit is raised, in beats per minute
	climbsTo   = 2   // times the tempo to be trusted; no bare limit beyond that is tried
	climbCount = 40  // most problems that are solved for one easing
	climbLate  = 4   // solved at the least, even where there is no time: notes are then placed first come, first served
)

// climb looks for the bare limit to give the solver so that what it answers can
// be trusted at the tempo asked for: that tempo, raised in steps of climbStep.
//
// The answer at a bare limit is often good for some of the next steps as well:
// for those up to its own bare limit. It costs the least there too, as every rule
// of a lower bare limit holds at a higher one, so that no cost can fall. So those
// steps have the same answer and need no solving, and going up from answer to
// answer finds the first step that suffices.
//
// While a quarter of the time lasts, and of the problems three quarters are not
// solved, it goes up so. Then it guesses: keep-below is
// nearly the same part of the bare limit for one answer as for the next. From a
// step that does not suffice and one that does it goes on by halving, to a step
// that suffices next to an answer that does not. That is the first that suffices
// unless keep-below falls somewhere below although the bare limit rises. In all
// it solves climbCount problems at the most; each but the last has a part of the
// time.
type climb struct {
	*easing
	limit  time.Duration // of it all
	solved int
	low    int      // all steps up to it do not suffice, or are taken not to
	high   int      // suffices, if found is there
	found  *outcome // that suffices
	best   *outcome // of those that do not, the one to be trusted up to the highest tempo, the cheapest of several
	latest *outcome // of those that do not
	unmet  *outcome // at which decisions cannot be kept
	last   int      // the highest step to be tried
}

// suffices reports whether what was found can be trusted at the tempo asked for.
func (r *outcome) suffices() bool {
	g := r.gaps
	reached := min(g.toBPM, g.machine.Limits.TempoMaxBPM)
	return len(r.unmet) == 0 && r.bare >= reached*(1-wheel.TempoSlack) && r.keep >= g.keepBPM*(1-wheel.TempoSlack)
}

// at is the bare limit of a step.
func (c *climb) at(step int) float64 {
	return c.mech.EasingTempo(c.keep) + climbStep*float64(step)
}

// reached is the highest step that has a bare limit of at most bpm.
func (c *climb) reached(bpm float64) int {
	return int(math.Floor((bpm*(1+wheel.TempoSlack) - c.at(0)) / climbStep))
}

func (c *climb) climb(ctx context.Context) *outcome {
	started := time.Now()
	c.low, c.last = -1, int(math.Ceil((climbsTo-1)*c.keep/climbStep))
	for c.solved == 0 || c.solved < climbCount && c.low < c.last && !errors.Is(ctx.Err(), context.Canceled) {
		if c.found != nil && c.high <= c.low+1 || ctx.Err() != nil && (c.found != nil || c.solved >= climbLate) {
			break
		}
		c.try(ctx, c.next(time.Since(started) < c.limit/4 && c.solved < climbCount*3/4), c.limit/8)
	}
	switch {
	case c.found != nil:
		return c.finish(ctx)
	case c.unmet != nil:
		return c.unmet
	}
	return c.best
}

// next is the step to try next.
func (c *climb) next(oneByOne bool) int {
	switch {
	case oneByOne || c.latest == nil:
		return c.low + 1
	case c.found != nil:
		return (c.low + c.high) / 2
	case c.latest.keep > 0:
		guess := c.reached(c.latest.bare*c.keep/c.latest.keep) + 1
		return min(max(guess, c.low+1), c.last)
	}
	return min(2*c.low+2, c.last)
}

// try eases to a step's bare limit and notes what that says of the others.
func (c *climb) try(ctx context.Context, step int, limit time.Duration) {
	ctx, done := context.WithTimeout(ctx, limit)
	defer done()
	c.solved++
	r := c.to(ctx, c.at(step))
	switch {
	case len(r.unmet) > 0:
		c.unmet, c.last = r, step-1 // higher up there is even less room
	case r.suffices():
		c.found, c.high = r, step
	default:
		c.low = max(step, c.reached(r.bare))
		if c.latest = r; c.best == nil || r.keep > c.best.keep*(1+wheel.TempoSlack) {
			c.best = r
		}
	}
}

// finish takes the time that is left for a proof of the answer that was found, or
// a cheaper one. Where the cheaper one cannot be trusted the first is kept.
func (c *climb) finish(ctx context.Context) *outcome {
	if c.found.exact || ctx.Err() != nil {
		return c.found
	}
	r := c.to(ctx, c.at(c.high))
	if r.suffices() && r.cost <= c.found.cost {
		return r
	}
	c.found.lower = max(c.found.lower, min(r.lower, c.found.cost))
	return c.found
}
