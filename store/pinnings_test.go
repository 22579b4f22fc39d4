package store

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pinwright/wheel"
)

func TestAPinningIsReadBackAsItCameIn(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	machineID := addMachine(t, s, smallMachine("Hailstone", 20))
	rapid.Check(t, func(t *rapid.T) {
		p := anyPinning(t)
		id, err := s.AddPinning(ctx, machineID, 0, p)
		if err != nil {
			t.Fatal(err)
		}
		got, err := s.Pinning(ctx, id)
		if err != nil {
			t.Fatal(err)
		}
		p.Machine = "Hailstone"
		p.Sort() // pins come back as the wheel turns
		if len(p.Pins)+len(got.File.Pins) == 0 {
			p.Pins, got.File.Pins = nil, nil // empty or left out is the same
		}
		if !reflect.DeepEqual(got.File, p) {
			t.Fatalf("kept   %+v\nread back %+v", p, got.File)
		}
		if got.Title != p.Title || got.TempoBPM != p.TempoBPM || got.Pins != len(p.Pins) {
			t.Fatalf("listed as %q at %v with %d pins, is %q at %v with %d",
				got.Title, got.TempoBPM, got.Pins, p.Title, p.TempoBPM, len(p.Pins))
		}
	})
}

func anyPinning(t *rapid.T) *wheel.Pinning {
	p := &wheel.Pinning{
		Format:   wheel.PinningFormat,
		Title:    "T" + rapid.StringOfN(anyRune, 0, 50, -1).Draw(t, "title"),
		TempoBPM: rapid.OneOf(rapid.Just(0.0), rapid.Float64Range(1, wheel.MaxTempoBPM)).Draw(t, "tempo"),
		Pins:     []wheel.Pin{},
	}
	holes := rapid.SliceOfDistinct(rapid.IntRange(0, 20*256-1), func(h int) int { return h }).Draw(t, "holes")
	for _, h := range holes {
		pin := wheel.Pin{Channel: string(rune('a' + h/256)), Step: h % 256}
		if rapid.Bool().Draw(t, "aimed") {
			pin.Aim = wheel.AimAt(rapid.Float64Range(-256, 512).Draw(t, "aim"))
		}
		p.Pins = append(p.Pins, pin)
	}
	if rapid.Bool().Draw(t, "advanced") {
		p.Advance = map[string]int{"a": rapid.IntRange(-9, 9).Draw(t, "a"), "c": 1}
	}
	return p
}

func TestPinningsAreListedByTitleForTheirMachine(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	one := addMachine(t, s, smallMachine("One", 1))
	two := addMachine(t, s, smallMachine("Two", 1))
	of := addSong(t, s, "mill.mid", songFile(t, "Mill Race", 60))
	addPinning(t, s, one, of.ID, smallPinning("mill race", 12))
	addPinning(t, s, two, 0, smallPinning("Elsewhere", 3))
	addPinning(t, s, one, 0, smallPinning("Ladder", 0))
	rows, err := s.Pinnings(ctx, one)
	if err != nil {
		t.Fatal(err)
	}
	at := func(second int) time.Time { return time.Date(2026, 3, 1, 9, 0, second, 0, time.UTC) }
	want := []PinningRow{
		{ID: 3, MachineID: one, Title: "Ladder", TempoBPM: 84, Revision: 1, Added: at(6), Changed: at(6)},
		{ID: 1, MachineID: one, SongID: of.ID, Title: "mill race", TempoBPM: 84, Pins: 12, Revision: 1, Added: at(4), Changed: at(4)},
	}
	if !reflect.DeepEqual(rows, want) {
		t.Errorf("listed %+v\nwant   %+v", rows, want)
	}
	if rows, err := s.Pinnings(ctx, 77); err != nil || len(rows) != 0 {
		t.Errorf("a machine that is not there has pinnings %v (%v)", rows, err)
	}
}

func TestAPinningHasToFitItsMachine(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	id := addMachine(t, s, smallMachine("Hailstone", 1))
	good := addPinning(t, s, id, 0, smallPinning("Mill Race", 2))

	foreign := smallPinning("Mill Race", 1)
	foreign.Machine = "Brook"
	misfit := smallPinning("Mill Race", 1)
	misfit.Pins[0] = wheel.Pin{Channel: "z", Step: 256}
	wrong := smallPinning("", 1)
	for _, of := range []struct {
		file *wheel.Pinning
		kind error
		says string
	}{
		{foreign, wheel.ErrConflict, "the pinning Mill Race is for a machine called Brook, and this one is called Hailstone"},
		{misfit, wheel.ErrInvalid, "the pinning Mill Race does not fit Hailstone: " + misfit.CheckOn(smallMachine("Hailstone", 1)).Error()},
		{wrong, wheel.ErrInvalid, wrong.Check().Error()},
	} {
		_, err := s.AddPinning(ctx, id, 0, of.file)
		refused(t, err, of.kind, of.says)
		refused(t, s.ReplacePinning(ctx, good, 1, of.file), of.kind, of.says)
	}
	_, err := s.AddPinning(ctx, 9, 0, smallPinning("Mill Race", 1))
	refused(t, err, wheel.ErrNotFound, "there is no machine 9; it may have been removed")
	_, err = s.AddPinning(ctx, id, 9, smallPinning("Mill Race", 1))
	refused(t, err, wheel.ErrNotFound, "there is no song 9; it may have been removed")
	if rows, _ := s.Pinnings(ctx, id); len(rows) != 1 || rows[0].Revision != 1 {
		t.Errorf("there are now %+v", rows)
	}
}

func TestAnEditOfAnOldRevisionIsRefusedAndTheNewerOneStays(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	id := addPinning(t, s, addMachine(t, s, smallMachine("Hailstone", 1)), 0, smallPinning("Mill Race", 2))
	if err := s.ReplacePinning(ctx, id, 1, smallPinning("Mill Race", 7)); err != nil {
		t.Fatal(err)
	}
	refused(t, s.ReplacePinning(ctx, id, 1, smallPinning("Mill Race", 3)), wheel.ErrConflict,
		"Mill Race was changed by someone else meanwhile, and nothing was overwritten; look at it again, then repeat your change")
	p, err := s.Pinning(ctx, id)
	if err != nil {
		t.Fatal(err)
	}
	if p.Pins != 7 || p.Revision != 2 || !p.Changed.After(p.Added) {
		t.Errorf("it is now %+v", p.PinningRow)
	}
}

func TestRenamingKeepsThePins(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	id := addPinning(t, s, addMachine(t, s, smallMachine("Hailstone", 1)), 0, smallPinning("Mill Race", 5))
	if err := s.RenamePinning(ctx, id, "Mill Race, slow"); err != nil {
		t.Fatal(err)
	}
	refused(t, s.RenamePinning(ctx, id, " "), wheel.ErrInvalid, smallPinning(" ", 5).Check().Error())
	p, err := s.Pinning(ctx, id)
	if err != nil {
		t.Fatal(err)
	}
	if p.Title != "Mill Race, slow" || p.File.Title != p.Title || len(p.File.Pins) != 5 || p.Revision != 2 {
		t.Errorf("it is now %+v", p)
	}
}

func TestAPinningThatIsGoneIsSaidToBe(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	id := addPinning(t, s, addMachine(t, s, smallMachine("Hailstone", 1)), 0, smallPinning("Mill Race", 5))
	if err := s.RemovePinning(ctx, id); err != nil {
		t.Fatal(err)
	}
	_, err := s.Pinning(ctx, id)
	for _, err := range []error{err, s.ReplacePinning(ctx, id, 1, smallPinning("A", 1)), s.RenamePinning(ctx, id, "B")} {
		refused(t, err, wheel.ErrNotFound, "there is no pinning 1; it may have been removed")
	}
	refused(t, s.RemovePinning(ctx, id), wheel.ErrNotFound, "there is no pinning 1; it may have been removed already")
}

// A full row of the largest wheel is kept; four of them, with aims, make a
// file above the limit.
func TestAPinningOfHostileSizeIsKeptOrRefused(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	hurry(t, s)
	m := smallMachine("Hailstone", 4)
	m.Wheel.Steps = wheel.MaxSteps
	machineID := addMachine(t, s, m)
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Full"}
	for i := range 4 * wheel.MaxSteps {
		p.Pins = append(p.Pins, wheel.Pin{Channel: string(rune('a' + i/wheel.MaxSteps)), Step: i % wheel.MaxSteps})
	}
	all := p.Pins
	p.Pins = all[:wheel.MaxSteps]
	id := addPinning(t, s, machineID, 0, p)
	if got, err := s.Pinning(ctx, id); err != nil || len(got.File.Pins) != len(p.Pins) {
		t.Errorf("read back: %v", err)
	}
	p.Pins = all
	for i := range p.Pins {
		p.Pins[i].Aim = wheel.AimAt(float64(i%wheel.MaxSteps) + 0.123456789)
	}
	_, err := s.AddPinning(ctx, machineID, 0, p)
	refused(t, err, wheel.ErrTooLarge, "the file would be larger than 8 MiB, and larger ones are not read")
}

func TestConcurrentEditsLoseNothing(t *testing.T) {
	ctx := context.Background()
	path := t.TempDir() + "/pinwright.db"
	stores := []*Store{openAt(t, path), openAt(t, path)} // as two programs would
	id := addPinning(t, stores[0], addMachine(t, stores[0], smallMachine("Hailstone", 1)), 0, smallPinning("Mill Race", 0))
	const editors, edits = 8, 6
	done := make(chan error)
	for e := range editors {
		go func() {
			done <- func() error {
				s := stores[e%2]
				for i := range edits {
					for { // set a pin of one's own, and again if someone was faster
						p, err := s.Pinning(ctx, id)
						if err != nil {
							return err
						}
						p.File.Pins = append(p.File.Pins, wheel.Pin{Channel: "a", Step: e*edits + i})
						if err = s.ReplacePinning(ctx, id, p.Revision, p.File); err == nil {
							break
						} else if !isConflict(err) {
							return err
						}
					}
					if _, err := s.AddPinning(ctx, 1, 0, smallPinning(fmt.Sprint(e, i), i)); err != nil {
						return err
					}
				}
				return nil
			}()
		}()
	}
	for range editors {
		if err := <-done; err != nil {
			t.Error(err)
		}
	}
	p, err := stores[0].Pinning(ctx, id)
	if err != nil {
		t.Fatal(err)
	}
	if len(p.File.Pins) != editors*edits || p.Revision != 1+editors*edits {
		t.Errorf("%d pins at revision %d, want %d at %d", len(p.File.Pins), p.Revision, editors*edits, 1+editors*edits)
	}
	if rows, err := stores[1].Pinnings(ctx, 1); err != nil || len(rows) != 1+editors*edits {
		t.Errorf("%d pinnings (%v), want %d", len(rows), err, 1+editors*edits)
	}
	checkIntegrity(t, stores[0])
}

func isConflict(err error) bool { return errors.Is(err, wheel.ErrConflict) }
