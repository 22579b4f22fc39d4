package store_test

import (
	"context"
	"errors"
	"fmt"
	"log"
	"os"
	"path/filepath"
	"time"

	"pinwright/store"
	"pinwright/wheel"
)

// Two people change one pinning from what both saw. The second is told, and
// the work of the first stays.
func Example() {
	dir, err := os.MkdirTemp("", "workshop")
	if err != nil {
		log.Fatal(err)
	}
	defer os.RemoveAll(dir)
	ctx := context.Background()
	s, err := store.Open(ctx, filepath.Join(dir, "pinwright.db"), time.Now)
	if err != nil {
		log.Fatal(err)
	}
	defer s.Close()

	machine, err := wheel.ReadMachine([]byte(`{
		"format": "pinwright-machine/1", "name": "Hailstone",
		"marble": {"diameter_mm": 12, "clearance_mm": 2},
		"wheel": {"radius_mm": 600, "steps": 256, "steps_per_beat": 4, "beats_per_bar": 4},
		"lanes": [{"id": "drop", "kind": "fall", "length_mm": 240}, {"id": "out", "kind": "fall", "length_mm": 90}],
		"channels": [{"id": "bar-c5", "name": "Bar C5", "row": 0, "kind": "bar", "keys": [72], "path": ["drop"], "exit": ["out"]}]
	}`))
	if err != nil {
		log.Fatal(err)
	}
	machineID, err := s.AddMachine(ctx, machine)
	if err != nil {
		log.Fatal(err)
	}
	id, err := s.AddPinning(ctx, machineID, 0, &wheel.Pinning{
		Format: wheel.PinningFormat, Title: "Mill Race", TempoBPM: 84,
		Pins: []wheel.Pin{{Channel: "bar-c5", Step: 14}},
	})
	if err != nil {
		log.Fatal(err)
	}

	seen, err := s.Pinning(ctx, id)
	if err != nil {
		log.Fatal(err)
	}
	first, second := seen.File.Clone(), seen.File.Clone()
	first.Pins[0].Step = 15
	second.TempoBPM = 90
	fmt.Println(s.ReplacePinning(ctx, id, seen.Revision, first))
	err = s.ReplacePinning(ctx, id, seen.Revision, second)
	fmt.Println(errors.Is(err, store.ErrConflict), err)
	// Output:
	// <nil>
	// true Mill Race was changed by someone else meanwhile, and nothing was overwritten; look at it anew and make your change again
}
