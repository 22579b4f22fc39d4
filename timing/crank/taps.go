package crank

import (
	"math"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// MaxTaps is how many taps are measured at a time.
const MaxTaps = 512

// Per is what one tap stands for.
type Per string

const (
	PerTurn Per = "turn" // of the crank
	PerBeat Per = "beat"
)

// Tapped reports taps by their times in seconds, judged by a window where there
// is one. The error, with [wheel.ErrInvalid], says that there is no telling what
// a tap stands for.
func Tapped(m *wheel.Machine, per Per, atS []float64, window *wheel.TempoWindow) (Report, error) {
	turnBeats := m.Wheel.CrankAt(60).Beats
	beats := 1.0
	switch per {
	case PerBeat:
	case PerTurn:
		if beats = turnBeats; beats == 0 {
			return Report{}, wheel.Refuse(wheel.ErrInvalid, "The file of %s does not say how many turns of the crank make one of the wheel; tap with the beat.", m.Name)
		}
	default:
		return Report{}, wheel.Refuse(wheel.ErrInvalid, "Taps are sent per %q; it should be “turn” or “beat”.", say.Short(string(per)))
	}
	passings := make([]Passing, len(atS))
	for i, at := range atS {
		passings[i] = Passing{float64(i) * beats, at}
	}
	r := Report{State: Turning}
	measured, err := Measure(passings, turnBeats)
	if err != nil {
		r.Says = say.Sentence(err)
		return r, nil
	}
	measured.RippleNo = "Taps do not show ripple: it takes a sensor with at least " + say.Whole(MinRippleMarks) + " marks in a turn of the crank."
	r.measured(m.Wheel, measured, window, true)
	r.Notes = nil
	return r, nil
}

// TurnsForWander is how many turns of a wheel's crank it takes to estimate a
// wander, see [MinWanderBeats]; 0 where the machine's file does not say how the
// crank is geared.
func TurnsForWander(w wheel.Wheel) int {
	beats := w.CrankAt(60).Beats
	if beats == 0 {
		return 0
	}
	return int(min(max(math.Ceil(MinWanderBeats/beats), MinWanderSpans), 1e9))
}

// BeatsForWander is how many beats it takes, by the turn or by the beat.
func BeatsForWander(w wheel.Wheel) int {
	return max(MinWanderBeats, int(math.Ceil(min(MinWanderSpans*w.CrankAt(60).Beats, 1e9))))
}
