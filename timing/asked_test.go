package timing_test

import (
	"iter"
	"math"
	"slices"
	"testing"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/arrange"
)

// What setting, advancing and exporting ask of mechanics, a machine answers.
var (
	_ arrange.Mechanics = (*timing.Works)(nil)
	_ arrange.Spreads   = (*timing.Works)(nil)
	_ arrange.Strikes   = (*timing.Works)(nil)
)

// Two channels with 4 steps a beat at 60 BPM, 250 ms a step. Worked by hand: a
// latch of 100 ms makes every strike of b late by 100 ms, and a gate of 600 ms
// misses the second of its two pins one step apart. The chord on step 0 is
// spread by the 100 ms, and so are all strikes.
func TestStrikesAndSpreadsAreThoseOfTheTurn(t *testing.T) {
	w, err := timing.ReadMachine([]byte(`{
	  "format": "pinwright-machine/1", "name": "Two Bars",
	  "marble": {"diameter_mm": 12, "clearance_mm": 2},
	  "wheel": {"radius_mm": 100, "steps": 16, "steps_per_beat": 4, "beats_per_bar": 4},
	  "lanes": [],
	  "channels": [
	    {"id": "a", "name": "A", "row": 0, "kind": "bar", "keys": [72], "path": [], "exit": []},
	    {"id": "b", "name": "B", "row": 1, "kind": "bar", "keys": [76], "path": [], "exit": [], "trip": {"latch_ms": 100}, "gate": {"reload_ms": 600}}
	  ],
	  "limits": {"tempo_min_bpm": 30, "tempo_max_bpm": 180}
	}`))
	if err != nil {
		t.Fatal(err)
	}
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Mill Race", Machine: "Two Bars", TempoBPM: 60,
		Pins: []wheel.Pin{{Channel: "a", Step: 0}, {Channel: "b", Step: 0}, {Channel: "b", Step: 1}}}
	type strike struct {
		channel int
		ms      float64
	}
	for _, c := range []struct {
		name     string
		sounding func(*wheel.Pinning, float64) (iter.Seq2[int, float64], error)
		want     []strike
	}{
		{"written", w.Written, []strike{{0, 0}, {1, 0}, {1, 250}}},
		{"played", w.Played, []strike{{0, 0}, {1, 100}}},
	} {
		strikes, err := c.sounding(p, 60)
		if err != nil {
			t.Fatal(err)
		}
		var got []strike
		for channel, atS := range strikes {
			got = append(got, strike{channel, math.Round(atS * 1000)})
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: %v, want %v", c.name, got, c.want)
		}
	}
	all, chord, err := w.Spreads(p, 60)
	if err != nil || math.Abs(all-0.1) > 1e-9 || math.Abs(chord-0.1) > 1e-9 {
		t.Errorf("spread %g s, of the chord %g s, %v; want 0.1", all, chord, err)
	}
	if all, chord, err = w.Spreads(&wheel.Pinning{Format: wheel.PinningFormat, Machine: "Two Bars"}, 60); all != 0 || chord != 0 || err != nil {
		t.Errorf("no pins: spread %g s, of the chord %g s, %v", all, chord, err)
	}
	p.Pins = append(p.Pins, wheel.Pin{Channel: "g9"})
	if _, err := w.Written(p, 60); err == nil {
		t.Error("a channel that the machine does not have is written")
	}
	if _, _, err := w.Spreads(p, 60); err == nil {
		t.Error("a channel that the machine does not have is spread")
	}
}
