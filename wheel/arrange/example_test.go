package arrange_test

import (
	"context"
	"fmt"
	"log"

	"pinwright/timing"
	"pinwright/wheel/arrange"
	"pinwright/wheel/song"
)

// A machine of two bars, one of them behind a slower latch, and a tune of three
// notes of which it has two.
func ExampleSet() {
	w, err := timing.ReadMachine([]byte(`{
	  "format": "pinwright-machine/1", "name": "Two Bars",
	  "marble": {"diameter_mm": 12, "clearance_mm": 2},
	  "wheel": {"radius_mm": 100, "steps": 16, "steps_per_beat": 4, "beats_per_bar": 4},
	  "lanes": [],
	  "channels": [
	    {"id": "c5", "name": "Bar C5", "row": 0, "kind": "bar", "keys": [72], "path": [], "exit": [], "trip": {"latch_ms": 260}, "gate": {"reload_ms": 140}, "strike": {"clear_ms": 90}},
	    {"id": "e5", "name": "Bar E5", "row": 1, "kind": "bar", "keys": [76], "path": [], "exit": [], "trip": {"latch_ms": 18}, "gate": {"reload_ms": 140}, "strike": {"clear_ms": 90}}
	  ],
	  "limits": {"tempo_min_bpm": 30, "tempo_max_bpm": 180}
	}`))
	if err != nil {
		log.Fatal(err)
	}
	tune := &song.Song{
		Title: "Mill Race", TicksPerQuarter: 480,
		Tempos: []song.Tempo{{MicrosPerQuarter: 1_000_000}},
		Bars:   []song.Bar{{Ticks: 1920, Numerator: 4, Denominator: 4}},
		Notes: []song.Note{
			{Tick: 0, Key: 60, Velocity: 90, Channel: 1},
			{Tick: 480, Key: 64, Velocity: 90, Channel: 1},
			{Tick: 490, Key: 60, Velocity: 90, Channel: 1},
			{Tick: 960, Key: 67, Velocity: 90, Channel: 1},
		},
	}
	p, r, err := arrange.Set(context.Background(), w, tune, arrange.Request{Transpose: arrange.Transpose{Auto: true}, Advance: true})
	if err != nil {
		log.Fatal(err)
	}
	fmt.Printf("up %d semitones: %d of %d notes placed, %d out of range\n", r.Transpose, r.Placed, r.Notes, r.OutOfRange)
	for _, pin := range p.Pins {
		fmt.Printf("%s at step %d sounds at step %g\n", pin.Channel, pin.Step, p.AimOf(pin))
	}
	// Output:
	// up 12 semitones: 3 of 4 notes placed, 1 out of range
	// c5 at step 3 sounds at step 4
	// e5 at step 4 sounds at step 4
	// c5 at step 15 sounds at step 0
}
