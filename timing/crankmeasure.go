package timing

import (
	"errors"
	"math"
)

// Passing is how far a wheel had been turned, in beats, at a time in seconds.
type Passing struct{ Beats, AtS float64 }

// Measured is how a hand turned the crank.
type Measured struct {
	BPM      float64 // over all of it
	LastBPM  float64 // between the last two passings
	Wander   float64 // standard deviation of the beat's tempo, as a fraction
	WanderOK bool    // false with fewer than MinIntervals
	Spans    int     // between passings
	Beats    float64
}

// MinIntervals is the fewest spans between passings from which a wander is told.
const MinIntervals = 8

// beatCorrelation is that of one beat's tempo with the next in the model of a
// hand on the crank: a first-order autoregression.
const beatCorrelation = 0.9

// MeasureCrank works out tempo and wander from passings in the order of their
// times. The tempo is all beats over all time. Between two passings k beats
// apart only the mean of the tempos of those beats can be seen. Where each is
// T (1 + x), x a first-order autoregression of standard deviation σ and
// correlation ρ = 0.9 from beat to beat, that mean has the variance
//
//	σ² (k (1 − ρ²) − 2ρ (1 − ρᵏ)) / (k² (1 − ρ)²)
//
// (the variance of the mean of such a series; textbook formula, from memory), by
// which what is seen is set right. Spans of less than a beat count as one.
//
// The error says that there is nothing to measure: fewer than two passings, or
// beats and times that do not both grow.
func MeasureCrank(passings []Passing) (Measured, error) {
	n := len(passings) - 1
	if n < 1 {
		return Measured{}, errors.New("the crank has not been turned long enough to tell its speed")
	}
	m := Measured{Spans: n, Beats: passings[n].Beats - passings[0].Beats}
	tempo := func(i int) float64 {
		return 60 * (passings[i+1].Beats - passings[i].Beats) / (passings[i+1].AtS - passings[i].AtS)
	}
	for i := range n {
		if bpm := tempo(i); !(bpm > 0) || math.IsInf(bpm, 0) || passings[i+1].AtS < passings[i].AtS {
			return Measured{}, errors.New("the crank's turns and their times have to grow together")
		}
	}
	m.BPM = 60 * m.Beats / (passings[n].AtS - passings[0].AtS)
	m.LastBPM = tempo(n - 1)
	if n < MinIntervals {
		return m, nil
	}
	mean := 0.0
	for i := range n {
		mean += tempo(i) / float64(n)
	}
	squares, seen := 0.0, 0.0
	for i := range n {
		x := tempo(i)/mean - 1
		squares += x * x
		seen += meanVariance(passings[i+1].Beats-passings[i].Beats) / float64(n)
	}
	m.Wander, m.WanderOK = math.Sqrt(squares/float64(n-1)/seen), true
	return m, nil
}

// meanVariance is the variance of the mean of k beats over that of one.
func meanVariance(k float64) float64 {
	const r = beatCorrelation
	if k <= 1 {
		return 1
	}
	return (k*(1-r*r) - 2*r*(1-math.Pow(r, k))) / (k * k * (1 - r) * (1 - r))
}
