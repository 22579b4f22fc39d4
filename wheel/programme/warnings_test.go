package programme

import (
	"testing"

	"pinwright/wheel"
)

func TestWarningTellsWorkAndPauseApart(t *testing.T) {
	for _, c := range []struct {
		need, have             float64
		wantNeed, wantHaveText string
	}{
		{38, 15, "38 minutes", "15 minutes"},
		{38.2, 15.25, "39 minutes", "15.2 minutes"},
		{21.7, 21.66, "21.7 minutes", "21.6 minutes"}, // alike in whole minutes, and to the nearest tenth
		{21.3, 21, "22 minutes", "21 minutes"},
		{0.9, 0.5, "0.9 minutes", "0.5 minutes"},
		{106, 58.9, "1 h 46 min", "58.9 minutes"},
		{106, 95.5, "1 h 46 min", "1 h 35 min"},
		{95.9, 95.5, "95.9 minutes", "95.5 minutes"},
	} {
		if need, have := apart(c.need, c.have); need != c.wantNeed || have != c.wantHaveText {
			t.Errorf("%g and %g are %q and %q, want %q and %q", c.need, c.have, need, have, c.wantNeed, c.wantHaveText)
		}
	}
}

// A song is added at a tempo that can be read, inside its window.
func TestTempoToAddIsATenthInsideTheWindow(t *testing.T) {
	for _, c := range []struct{ from, to, bpm, want float64 }{
		{50, 90, 83.99996640001343, 83.9},
		{50, 83.95, 120, 83.9},
		{50.04, 90, 40, 50.1},
		{50.02, 50.08, 90, 50.08}, // there is no tenth in it
		{50.021, 50.023, 50.0225, 50.022},
	} {
		if got := TempoToAdd(wheel.TempoWindow{FromBPM: c.from, ToBPM: c.to, Open: true}, c.bpm); got != c.want {
			t.Errorf("%g BPM in %g to %g is %g, want %g", c.bpm, c.from, c.to, got, c.want)
		}
	}
	if got := TempoToAdd(wheel.TempoWindow{}, 83.99996640001343); got != 83.9 {
		t.Errorf("without a window it is %g, want 83.9", got)
	}
}
