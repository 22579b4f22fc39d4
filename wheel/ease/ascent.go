package ease

import "math"

// ascent is how far a search for multipliers has come.
type ascent struct {
	step float64 // part of Polyak's step, (cost known − bound) ÷ |subgradient|²
	best float64 // bound so far
	idle int     // rounds since it grew
	left int     // rounds that may still be made
	done bool
}

const (
	roundsAtOnce = 5
	idleRounds   = 10 // rounds without gain until the step is halved
	leastStep    = 0.02
)

func newAscent(rounds int) ascent { return ascent{step: 1, best: math.Inf(-1), left: rounds} }

// reached records a bound and reports whether to go on.
func (a *ascent) reached(sum float64, comp *component) bool {
	if sum > a.best+1e-4*math.Abs(sum) {
		a.idle = 0
	} else if a.idle++; a.idle >= idleRounds {
		a.step, a.idle = a.step/2, 0
	}
	a.best = max(a.best, sum)
	comp.lower = max(comp.lower, sum)
	a.left--
	a.done = a.left <= 0 || a.step < leastStep || comp.exact()
	return !a.done
}
