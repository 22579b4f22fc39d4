package wheel

import (
	"fmt"
	"math"
)

// Wheel is the drum that carries pins.
type Wheel struct {
	RadiusMM        float64 `json:"radius_mm"` // to the pin tips
	SurfaceRadiusMM float64 `json:"surface_radius_mm,omitzero"`
	Steps           int     `json:"steps"`
	StepsPerBeat    int     `json:"steps_per_beat"`
	BeatsPerBar     int     `json:"beats_per_bar"`
	FirstRowMM      float64 `json:"first_row_mm,omitzero"` // from the wheel's edge to row 0
	RowPitchMM      float64 `json:"row_pitch_mm,omitzero"`
	PinDiameterMM   float64 `json:"pin_diameter_mm,omitzero"`
	PinStock        int     `json:"pin_stock,omitzero"`
	CrankTurns      float64 `json:"crank_turns,omitzero"` // turns of the crank for one of the wheel
	CrankMarks      int     `json:"crank_marks,omitzero"` // marks of a sensor in one turn of the crank; 1 if left out
	PinSDMM         Maybe   `json:"pin_sd_mm,omitzero"`   // how far pins stand from their places: standard deviation of the arc
	InertiaKgM2     float64 `json:"inertia_kg_m2,omitzero"`
}

// ArcMM is the arc between two steps at the pin tips, c = 2πR/N, in mm.
func (w Wheel) ArcMM() float64 { return 2 * math.Pi * w.RadiusMM / float64(w.Steps) }

// SurfaceMM is the radius on which sheets lie, in mm: the wheel's surface or,
// where the file leaves it out, the pin tips.
func (w Wheel) SurfaceMM() float64 {
	if w.SurfaceRadiusMM > 0 {
		return w.SurfaceRadiusMM
	}
	return w.RadiusMM
}

// StepPeriod is the time from one step to the next at a tempo in beats per
// minute, p = 60/(T q), in seconds.
func (w Wheel) StepPeriod(tempoBPM float64) float64 {
	return 60 / (tempoBPM * float64(w.StepsPerBeat))
}

// Tempo is the tempo in beats per minute at which a step takes p seconds,
// T = 60/(p q).
func (w Wheel) Tempo(p float64) float64 {
	return 60 / (p * float64(w.StepsPerBeat))
}

// TempoSlack is the fraction of a tempo within which two count as the same: a
// tempo turned into a step period and back may differ in its last bits.
const TempoSlack = 1e-12

// StepsPerBar is how many steps one bar takes.
func (w Wheel) StepsPerBar() int { return w.StepsPerBeat * w.BeatsPerBar }

// Place says where a step is as a musician counts: bar and beat from 1, and
// how many steps past the beat.
func (w Wheel) Place(step int) (bar, beat, past int) {
	step = w.Wrap(step)
	per := w.StepsPerBar()
	return step/per + 1, step%per/w.StepsPerBeat + 1, step % w.StepsPerBeat
}

// PlaceText is [Wheel.Place] in words: "bar 3 beat 2", or "bar 3 beat 2 +1/4"
// a quarter of a beat later.
func (w Wheel) PlaceText(step int) string {
	bar, beat, past := w.Place(step)
	if past == 0 {
		return fmt.Sprintf("bar %d beat %d", bar, beat)
	}
	d := gcd(past, w.StepsPerBeat)
	return fmt.Sprintf("bar %d beat %d +%d/%d", bar, beat, past/d, w.StepsPerBeat/d)
}

// Wrap brings any step to the turn, 0 … N−1.
func (w Wheel) Wrap(step int) int {
	step %= w.Steps
	if step < 0 {
		step += w.Steps
	}
	return step
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}
