package crank

import (
	"math"
	"math/rand/v2"
)

// madeUp is a crank that a test turns: its angle over time, by numerical
// integration of its angular speed. It shares nothing with the package.
//
//	dφ/dt = ω (1 + x) (1 + once · sin(φ + α) + twice · sin(2φ + β))
//
// with x a first-order autoregression from beat to beat, of correlation 0.9 and a
// standard deviation of wander, as dry runs have it.
type madeUp struct {
	bpm, turnBeats      float64
	wander, once, twice float64
	alpha, beta         float64   // radians
	jitterS             float64   // standard deviation of each time
	disc                []float64 // where each mark really lies, in turns; even where nil
	stepS               float64   // of the integration; 0.02 where 0
}

// mostMarks in a turn are noted by a made-up crank; 1, 2, 4, 8, 16 and 32 are some
// of them.
const mostMarks = 32

// turned are the times at which each of the marks passes, from the first on.
func (c madeUp) turned(r *rand.Rand, turns int) []float64 {
	omega := 2 * math.Pi * c.bpm / 60 / c.turnBeats
	x, beat := c.wander*r.NormFloat64(), 1
	speed := func(phi float64) float64 {
		return omega * (1 + x) * (1 + c.once*math.Sin(phi+c.alpha) + c.twice*math.Sin(2*phi+c.beta))
	}
	place := func(mark int) float64 { // radians
		turn, in := float64(mark/mostMarks), mark%mostMarks
		if c.disc != nil {
			return 2 * math.Pi * (turn + c.disc[in])
		}
		return 2 * math.Pi * (turn + float64(in)/mostMarks)
	}
	dt := c.stepS
	if dt == 0 {
		dt = 0.02
	}
	var at []float64
	phi, t := 0.0, 0.0
	for len(at) <= turns*mostMarks {
		// Runge and Kutta's fourth-order step.
		k1 := speed(phi)
		k2 := speed(phi + dt/2*k1)
		k3 := speed(phi + dt/2*k2)
		k4 := speed(phi + dt*k3)
		to := phi + dt/6*(k1+2*k2+2*k3+k4)
		for len(at) <= turns*mostMarks && place(len(at)) <= to {
			// Between two steps the angle is the cubic with the speeds at both ends:
			// halve to where it meets the mark.
			low, high := 0.0, 1.0
			k5 := speed(to)
			for range 40 {
				s := (low + high) / 2
				angle := (2*s*s*s-3*s*s+1)*phi + (s*s*s-2*s*s+s)*dt*k1 + (3*s*s-2*s*s*s)*to + (s*s*s-s*s)*dt*k5
				if angle < place(len(at)) {
					low = s
				} else {
					high = s
				}
			}
			at = append(at, t+low*dt+c.jitterS*r.NormFloat64())
		}
		phi, t = to, t+dt
		for phi/(2*math.Pi)*c.turnBeats >= float64(beat) {
			beat++
			x = 0.9*x + c.wander*math.Sqrt(1-0.81)*r.NormFloat64()
		}
	}
	return at
}

// ripple is what a made-up crank's is: half the difference between the fastest and
// the slowest of 36,000 places.
func (c madeUp) ripple() float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for i := range 36000 {
		phi := float64(i) / 36000 * 2 * math.Pi
		v := c.once*math.Sin(phi+c.alpha) + c.twice*math.Sin(2*phi+c.beta)
		low, high = min(low, v), max(high, v)
	}
	return (high - low) / 2
}

// marked are so many of the marks to a turn.
func marked(at []float64, perTurn int) (marks []Mark) {
	for i := 0; i < len(at); i += mostMarks / perTurn {
		marks = append(marks, Mark{len(marks), at[i]})
	}
	return marks
}
