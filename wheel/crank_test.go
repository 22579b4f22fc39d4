package wheel_test

import (
	"math"
	"testing"

	"pinwright/wheel"
)

var eightTurns = wheel.Wheel{RadiusMM: 600, Steps: 256, StepsPerBeat: 4, BeatsPerBar: 4, CrankTurns: 8}

// 256 steps at 4 to the beat are 64 beats a turn, 8 to a turn of the crank; at 60
// BPM the wheel takes 64 s, the crank 8 s and goes round 7.5 times a minute
// (worked by hand).
func TestCrankTurnsAsTheFileGearsIt(t *testing.T) {
	c := eightTurns.CrankAt(60)
	if c.TurnS != 64 || c.Beats != 8 || c.Turns != 7.5 || c.EveryS != 8 {
		t.Errorf("at 60 BPM: %+v", c)
	}
	ungeared := eightTurns
	ungeared.CrankTurns = 0
	if c := ungeared.CrankAt(60); c.TurnS != 64 || c.Turns != 0 || c.EveryS != 0 || c.Beats != 0 {
		t.Errorf("without crank_turns: %+v", c)
	}
}

// Tips 600 mm from the axis go round 2π · 600 = 3769.911 mm in the 64 s of a
// turn at 60 BPM, which is 58.905 mm/s; 60/64 turns are 0.9375 a minute; 60 s are
// 60 beats of 4 steps, so a step takes 0.25 s. Twice the tempo is twice as fast
// (worked by hand).
func TestWheelGoesRoundAsTheTempoAsks(t *testing.T) {
	for bpm, want := range map[float64]wheel.Cranking{
		60:  {StepS: 0.25, TurnS: 64, WheelTurns: 0.9375, SurfaceMMS: 58.9049},
		120: {StepS: 0.125, TurnS: 32, WheelTurns: 1.875, SurfaceMMS: 117.8097},
	} {
		got := eightTurns.CrankAt(bpm)
		if got.StepS != want.StepS || got.TurnS != want.TurnS || got.WheelTurns != want.WheelTurns || math.Abs(got.SurfaceMMS-want.SurfaceMMS) > 1e-4 {
			t.Errorf("at %g BPM: %+v, want %+v", bpm, got, want)
		}
	}
}
