package crank

import (
	"errors"
	"math"
)

// Passing is how far a wheel had been turned, in beats, at a time in seconds.
type Passing struct{ Beats, AtS float64 }

// Measured is how a hand turned the crank.
type Measured struct {
	BPM      float64 // over all of it
	LastBPM  float64 // over the latest passings, lastBeats or more
	LastS    float64 // that those took
	Wander   float64 // standard deviation of the beat's tempo, as a fraction
	WanderSE float64 // standard error of Wander, as a fraction of the tempo too
	WanderU  float64 // its standard uncertainty: twice it holds the true wander 95 times in 100
	WanderOK bool    // false with fewer than MinWanderBeats or MinWanderSpans

	WanderMixed bool // it is not of whole turns of the crank: it has ripple in it

	Ripple   Ripple
	RippleOK bool
	RippleNo string // why there is no ripple, as a sentence

	Spans int // between passings
	Beats float64
}

// lastBeats is over how many beats the present tempo is taken at least: over one, a
// tap or a sensor's pulse out of place would count twice as much.
const lastBeats = 2

// Measure works out tempo and wander from passings in the order of their
// times. The tempo is all beats over all time. turnBeats is how many beats a turn
// of the crank has, 0 where that is not known: then ripple is taken for wander.
//
// The error says that there is nothing to measure: fewer than two passings, or
// beats and times that do not both grow.
func Measure(passings []Passing, turnBeats float64) (Measured, error) {
	n := len(passings) - 1
	if n < 1 {
		return Measured{}, errors.New("the crank has not been turned long enough to tell its speed")
	}
	for i := range n {
		if bpm := tempoBetween(passings[i], passings[i+1]); !(bpm > 0) || math.IsInf(bpm, 0) || passings[i+1].AtS < passings[i].AtS {
			return Measured{}, errors.New("the crank's turns and their times have to grow together")
		}
	}
	m := tempoOf(passings, lastBeats)
	m.findWander(passings, turnBeats)
	return m, nil
}

func tempoBetween(a, b Passing) float64 { return 60 * (b.Beats - a.Beats) / (b.AtS - a.AtS) }

// tempoOf is what is measured of passings but for the wander.
func tempoOf(passings []Passing, lastBeats float64) Measured {
	n := len(passings) - 1
	last := n - 1
	for last > 0 && passings[n].Beats-passings[last].Beats < lastBeats {
		last--
	}
	return Measured{
		Spans: n, Beats: passings[n].Beats - passings[0].Beats, BPM: tempoBetween(passings[0], passings[n]),
		LastBPM: tempoBetween(passings[last], passings[n]), LastS: passings[n].AtS - passings[last].AtS,
	}
}
