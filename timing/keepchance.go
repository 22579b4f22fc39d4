package timing

import "math"

// far is how many standard deviations away a fault is taken not to happen:
// beyond nine its chance is below 1.2e-19.
const far = 9

// tail is the chance that a standard normal variable is below z,
// Φ(z) = erfc(−z/√2)/2.
func tail(z float64) float64 { return math.Erfc(-z/math.Sqrt2) / 2 }

// inside is the chance that a normal lead is between two bounds that lie one
// and other standard deviations to either side of its mean, Φ(one) + Φ(other) − 1.
// It is written so that nothing cancels where the mean is far outside.
func inside(one, other float64) float64 {
	if one > other {
		one, other = other, one
	}
	if other > far {
		return tail(one)
	}
	return max(tail(one)-tail(-other), 0)
}

// deviations is room/sd. Without any spread a bound is met or broken for certain;
// met exactly it is safe.
func deviations(room, sd float64) float64 {
	switch {
	case sd > 0:
		return room / sd
	case room > met:
		return math.Inf(1)
	}
	return math.Inf(-1)
}

// crankTurn is how the wheel's speed goes up and down within a turn of the
// crank: at angle φ it is 1 + ripple sin φ times the mean, so that a step takes
// f = 1/(1 + ripple sin φ) times its period.
//
// The average of g(sin φ) over the angle is Gauss and Chebyshev's quadrature,
//
//	(1/n) Σ g(cos((2k − 1)π/(2n))),  k = 1 … n,
//
// exact where g is a polynomial of degree 2n − 1 at most. What is averaged is
// Φ(a + b sin φ), nearly: its terms of degree k fall off as e^(−k²/(2b²)), so
// that n ≥ 3b leaves an error of e^(−18). A crank without ripple takes one node.
type crankTurn struct {
	ripple float64
	grids  [][]float64 // f at the nodes, fewest first
}

var gridSizes = [...]int{4, 8, 16, 32, 64}

func newCrankTurn(ripple float64) crankTurn {
	if ripple == 0 {
		return crankTurn{grids: [][]float64{{1}}}
	}
	c := crankTurn{ripple: ripple}
	for _, n := range gridSizes {
		grid := make([]float64, n)
		for k := range grid {
			grid[k] = 1 / (1 + ripple*math.Cos((2*float64(k)+1)*math.Pi/(2*float64(n))))
		}
		c.grids = append(c.grids, grid)
	}
	return c
}

// least and most are the shortest and the longest that a step can take, as
// fractions of its period.
func (c *crankTurn) least() float64 { return 1 / (1 + c.ripple) }
func (c *crankTurn) most() float64  { return 1 / (1 - c.ripple) }

// grid is the nodes that suffice where the crank moves a lead by swing to
// either side of its mean, in standard deviations.
func (c *crankTurn) grid(swing float64) []float64 {
	last := len(c.grids) - 1
	for k := range last {
		if n := float64(len(c.grids[k])); n >= 3*swing && n >= 16*c.ripple {
			return c.grids[k]
		}
	}
	return c.grids[last]
}

// odds is what the chance of one fault depends on. The earlier of two marbles
// or pins leads by rise·p·f + offset, a normal variable of variance
// fixed + perP2 p² + (wander·rise·p·f)²; the fault is a lead between −behind
// and ahead. Where there is no bound below, behind is infinite.
type odds struct {
	rise, offset  float64 // steps, seconds
	ahead, behind float64 // seconds
	variance
	// Of two strikes on one plate the earlier one's clear is what varies, and
	// only that strike can be in the other's way.
	eitherWay               bool
	aheadClear, behindClear float64 // variances
}

// sd is the lead's standard deviation at step period p where the wheel turns a
// lead of swing seconds.
func (o *odds) sd(p, turned, wander float64) float64 {
	return math.Sqrt(o.fixed + o.perP2*p*p + wander*wander*turned*turned)
}

// chance is that of the fault at step period p, averaged over the crank's angle.
func (sc *scatter) chance(o *odds, p float64) float64 {
	grid := sc.gridFor(o, p)
	sum := 0.0
	for _, f := range grid {
		turned := o.rise * p * f
		lead, sd := turned+o.offset, o.sd(p, turned, sc.wander)
		if o.eitherWay {
			sum += o.late(lead, sd*sd)
			continue
		}
		one := deviations(o.ahead-lead, sd)
		if one < -far {
			continue
		}
		if other := deviations(o.behind+lead, sd); other > -far {
			sum += inside(one, other)
		}
	}
	return sum / float64(len(grid))
}

// late is the chance that a plate is not clear when the later of two strikes comes.
func (o *odds) late(lead, variance float64) float64 {
	if lead < 0 {
		return tail(deviations(o.behind+lead, math.Sqrt(variance+o.behindClear)))
	}
	return tail(deviations(o.ahead-lead, math.Sqrt(variance+o.aheadClear)))
}

// gridFor is the nodes for a fault at step periods of at least p.
func (sc *scatter) gridFor(o *odds, p float64) []float64 {
	if sc.crank.ripple == 0 {
		return sc.crank.grids[0]
	}
	r := sc.crank.ripple
	turned := math.Abs(o.rise) * p * sc.crank.least()
	return sc.crank.grid(turned * r / (1 - r) / o.sd(p, turned, sc.wander))
}

// atMost is a bound on the chance of the fault at all step periods from shortest
// to longest, f being within [least, most] of the crank's. The lead is affine in
// p, its deviation grows with p, so both are between what they are at the ends.
func (sc *scatter) atMost(o *odds, shortest, longest, least, most float64) float64 {
	from, to := o.rise*shortest*least, o.rise*longest*most
	high := o.fixed + o.perP2*longest*longest + sc.wander*sc.wander*to*to
	farAway := far * far * high
	turned := from // where the deviation is least
	if from > to {
		from, to = to, from
	}
	one, other := o.ahead-o.offset-from, o.behind+o.offset+to
	if o.eitherWay {
		low := o.sd(shortest, turned, sc.wander)
		return max(
			tailBound(min(one, o.ahead), low*low+o.aheadClear, high+o.aheadClear, to+o.offset >= 0),
			tailBound(min(other, o.behind), low*low+o.behindClear, high+o.behindClear, from+o.offset < 0))
	}
	if one < 0 && one*one > farAway || other < 0 && other*other > farAway {
		return 0
	}
	high = math.Sqrt(high)
	low := high
	if one > 0 || other > 0 && other*other <= farAway {
		low = o.sd(shortest, turned, sc.wander)
	}
	return inside(highest(one, low, high), highest(other, low, high))
}

// tailBound is a bound on the chance of one order of two strikes, if it occurs.
func tailBound(room, low, high float64, occurs bool) float64 {
	if z := highest(room, math.Sqrt(low), math.Sqrt(high)); occurs && z > -far {
		return tail(z)
	}
	return 0
}

// highest is the highest that room/sd can be, sd being between low and high.
func highest(room, low, high float64) float64 {
	if room > 0 {
		return deviations(room, low)
	}
	return deviations(room, high)
}

// atMostOverTurn is a closer bound: the average of the bounds at the crank's
// angles.
func (sc *scatter) atMostOverTurn(o *odds, shortest, longest float64) float64 {
	grid := sc.gridFor(o, shortest)
	sum := 0.0
	for _, f := range grid {
		sum += sc.atMost(o, shortest, longest, f, f)
	}
	return sum / float64(len(grid))
}
