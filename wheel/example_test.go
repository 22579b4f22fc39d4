package wheel_test

import (
	"fmt"
	"os"

	"pinwright/wheel"
	"pinwright/wheel/file"
)

// A file with much wrong in it is refused once, with all that is wrong.
func ExampleReadMachine() {
	_, err := file.ReadMachine([]byte(`{
	  "format": "pinwright-machine/1", "name": "Hailstone",
	  "marble": {"diameter_mm": 12, "clearence_mm": 2},
	  "wheel": {"radius_mm": 600, "steps": 256, "steps_per_beat": 4, "beats_per_bar": 4},
	  "lanes": [{"id": "drop-high", "kind": "fall", "length_mm": 240}],
	  "channels": [
	    {"id": "bar-c5", "name": "Bar C5", "row": 0, "kind": "bar", "keys": [72], "gate": {"reload_ms": -5}, "path": ["drop-low"]},
	    {"id": "bar-d5", "name": "Bar D5", "row": 0, "kind": "bar", "keys": [74], "path": ["drop-high"]}
	  ]
	}`))
	fmt.Println(err)
	// Output:
	// marble.clearence_mm is not a key this file can have; did you mean clearance_mm?
	// channels[0].gate.reload_ms is −5; a time cannot be negative
	// channels[0].path[0] is "drop-low", and no lane has that id
	// channels[1].row is 0, the row of channels[0] (bar-c5) already; every channel needs a row of its own
}

// A pin set two steps early still aims at the step where its note should sound.
func ExamplePinning() {
	p := wheel.Pinning{
		Format: wheel.PinningFormat, Title: "Mill Race", Machine: "Hailstone", TempoBPM: 84,
		Advance: map[string]int{"bar-c5": 2},
		Pins:    []wheel.Pin{{Channel: "bar-c5", Step: 14}},
	}
	fmt.Println(p.AimOf(p.Pins[0]))
	_, _ = file.Pinning(&p).WriteTo(os.Stdout)
	// Output:
	// 16
	// {
	//   "format": "pinwright-pinning/1",
	//   "title": "Mill Race",
	//   "machine": "Hailstone",
	//   "tempo_bpm": 84,
	//   "advance": {
	//     "bar-c5": 2
	//   },
	//   "pins": [
	//     {"channel":"bar-c5","step":14}
	//   ]
	// }
}

// Bars and beats count from 1, as musicians do.
func ExampleWheel_PlaceText() {
	w := wheel.Wheel{RadiusMM: 600, Steps: 256, StepsPerBeat: 4, BeatsPerBar: 4}
	fmt.Println(w.PlaceText(0))
	fmt.Println(w.PlaceText(14))
	fmt.Printf("%.2f mm from step to step\n", w.ArcMM())
	// Output:
	// bar 1 beat 1
	// bar 1 beat 4 +1/2
	// 14.73 mm from step to step
}
