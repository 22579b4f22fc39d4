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
	"pinwright/wheel/file"
	"pinwright/wheel/history"
)

// workshop is a store with one machine and an empty pinning, whose id is 1.
func workshop() (s *store.Store, done func()) {
	dir, err := os.MkdirTemp("", "workshop")
	if err != nil {
		log.Fatal(err)
	}
	ctx := context.Background()
	s, err = store.Open(ctx, filepath.Join(dir, "pinwright.db"), time.Now)
	if err != nil {
		log.Fatal(err)
	}

	machine, err := file.ReadMachine([]byte(`{
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
	_, err = s.AddPinning(ctx, machineID, 0, &wheel.Pinning{
		Format: wheel.PinningFormat, Title: "Mill Race", TempoBPM: 84,
		Pins: []wheel.Pin{{Channel: "bar-c5", Step: 14}},
	})
	if err != nil {
		log.Fatal(err)
	}
	return s, func() {
		s.Close()
		os.RemoveAll(dir)
	}
}

// Two people bring another file for one pinning from what both saw. The second
// is told, and the work of the first stays.
func Example() {
	ctx := context.Background()
	s, done := workshop()
	defer done()
	seen, err := s.Pinning(ctx, 1)
	if err != nil {
		log.Fatal(err)
	}
	first, second := seen.File.Clone(), seen.File.Clone()
	first.Pins[0].Step = 15
	second.TempoBPM = 90
	fmt.Println(s.ReplacePinning(ctx, 1, seen.Revision, first))
	err = s.ReplacePinning(ctx, 1, seen.Revision, second)
	fmt.Println(errors.Is(err, wheel.ErrConflict), err)
	// Output:
	// <nil>
	// true Mill Race was changed by someone else meanwhile, and nothing was overwritten; look at it again, then repeat your change
}

// Two people edit one pinning at once. Both edits are kept, but for the hole
// of which each made something else; that one is asked about.
func ExampleStore_Edit() {
	ctx := context.Background()
	s, done := workshop()
	defer done()
	was := wheel.Pin{Channel: "bar-c5", Step: 14}
	aimed := wheel.Pin{Channel: "bar-c5", Step: 14, Aim: wheel.AimAt(16)}
	for _, e := range []history.NewEdit{
		{ID: "phone-1", By: "Ann", Kind: "pull", Words: "pull Bar C5, bar 1 beat 4 +1/2", Changes: []wheel.PinChange{wheel.Pull(was)}},
		{ID: "laptop-1", By: "Ben", Kind: "nudge", Words: "aim Bar C5 at bar 2 beat 1", Changes: []wheel.PinChange{
			{Channel: "bar-c5", Step: 14, Was: was.InHole(), Now: aimed.InHole()},
			wheel.Drive(wheel.Pin{Channel: "bar-c5", Step: 30}),
		}},
	} {
		kept, err := s.Edit(ctx, 1, e)
		if err != nil {
			log.Fatal(err)
		}
		fmt.Println("edit", kept.Seq, "changes", len(kept.Changes))
		for _, c := range kept.Held {
			fmt.Println("held back: step", c.Step, "was to have", c.Now, "and has now, by", c.By+":", c.Is)
		}
	}
	back, err := s.Undo(ctx, 1, 1, "phone-2", "Ann")
	fmt.Println(back.Seq, err)
	back, err = s.Undo(ctx, 1, 2, "phone-3", "Ann")
	fmt.Println(back.Seq, back.Words, err)
	// Output:
	// edit 1 changes 1
	// edit 2 changes 1
	// held back: step 14 was to have a pin aimed at 16 and has now, by Ann: no pin
	// 0 Mill Race was edited meanwhile, and nothing was undone: undo would now take back “aim Bar C5 at bar 2 beat 1”; look at it first
	// 3 aim Bar C5 at bar 2 beat 1 <nil>
}
