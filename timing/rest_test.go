package timing

import (
	"math"
	"testing"

	"pinwright/wheel"
)

// Worked by hand. A drop of 240 mm from rest: the second marble must be 14 mm
// behind, √(2 × 0.014 m / g) = 53.434 ms after the first; g by the 3rd CGPM,
// 1901. Arc is 1 mm a step.
func TestRestIsTheLongestThatARuleAsksFor(t *testing.T) {
	m := bare(16,
		wheel.Channel{},
		wheel.Channel{Gate: wheel.Gate{ReloadMS: wheel.Known(250)}, Strike: wheel.Strike{ClearMS: wheel.Known(90)}},
		wheel.Channel{Gate: wheel.Gate{ReloadMS: wheel.Known(90)}, Strike: wheel.Strike{ClearMS: wheel.Known(250)}},
		wheel.Channel{Trip: wheel.Trip{HoldMM: wheel.Known(1.5), ReturnMS: wheel.Known(60)}}, // 1.5 × 125 ms + 60 ms; 1.5 × 500 ms + 60 ms
		wheel.Channel{Path: []string{"drop"}, Gate: wheel.Gate{ReloadMS: wheel.Known(50)}},
	)
	m.Lanes = []wheel.Lane{{ID: "drop", Kind: wheel.Fall, LengthMM: wheel.Known(240), Keep: wheel.Known(1)}}
	w, err := Compile(m)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		periodS float64
		want    []float64
	}{
		{0.125, []float64{0, 0.250, 0.250, 0.2475, 0.053434}},
		{0.5, []float64{0, 0.250, 0.250, 0.810, 0.053434}},
	} {
		for i, want := range c.want {
			if got := w.Rest(i, c.periodS); math.Abs(got-want) > 1e-6 {
				t.Errorf("channel %d at %g s a step: %g s, want %g", i, c.periodS, got, want)
			}
		}
	}
	if got := w.Hold(3); math.Abs(got-1.5) > 1e-9 {
		t.Errorf("held for %g steps, want 1.5", got)
	}
}
