package store

import (
	"context"
	"errors"
	"fmt"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pinwright/wheel"
	"pinwright/wheel/file"
)

func TestAMachineIsReadBackAsItCameIn(t *testing.T) {
	s := openNew(t)
	n := 0
	rapid.Check(t, func(t *rapid.T) {
		n++
		m := anyMachine(t, fmt.Sprint(rapid.StringOfN(anyRune, 0, 20, -1).Draw(t, "name"), n))
		id, err := s.AddMachine(context.Background(), m)
		if err != nil {
			t.Fatal(err)
		}
		got, err := s.Machine(context.Background(), id)
		if err != nil {
			t.Fatal(err)
		}
		if got, want := listed(got.File), listed(m); !reflect.DeepEqual(got, want) {
			t.Fatalf("kept   %+v\nread back %+v", want, got)
		}
		if got.Name != m.Name || got.Channels != len(m.Channels) {
			t.Fatalf("listed as %q with %d channels, is %q with %d", got.Name, got.Channels, m.Name, len(m.Channels))
		}
	})
}

// listed is the machine with lists that are empty as if they had been left
// out, which is the same machine.
func listed(m *wheel.Machine) *wheel.Machine {
	m = m.Clone()
	for i := range m.Channels {
		ch := &m.Channels[i]
		if len(ch.Keys) == 0 {
			ch.Keys = nil
		}
		if len(ch.Path) == 0 {
			ch.Path = nil
		}
		if len(ch.Exit) == 0 {
			ch.Exit = nil
		}
	}
	return m
}

var anyRune = rapid.RuneFrom([]rune("abc \"\\<>&'/%é♯♭日🎵\u2028\ufeff"))

func anyMachine(t *rapid.T, name string) *wheel.Machine {
	num := rapid.Float64Range(0, 1000)
	m := smallMachine(name, 0)
	m.Note = rapid.StringOfN(anyRune, 0, 200, -1).Draw(t, "note") + "\n\tSecond line"
	m.Marble.ClearanceMM = num.Draw(t, "clearance")
	m.Wheel.RadiusMM = rapid.Float64Range(1e-3, 1000).Draw(t, "radius")
	m.Limits.Wander = wheel.Known(rapid.Float64Range(0, 0.5).Draw(t, "wander"))
	m.Limits.FlamMS = num.Draw(t, "flam")
	for i := range rapid.IntRange(1, 5).Draw(t, "lanes") {
		m.Lanes = append(m.Lanes, wheel.Lane{
			ID: fmt.Sprint("lane<", i), Kind: wheel.Ramp, LengthMM: wheel.Known(rapid.Float64Range(1e-3, 1000).Draw(t, "length")),
			SlopeDeg: wheel.Known(rapid.Float64Range(-90, 90).Draw(t, "slope")), Keep: wheel.Known(rapid.Float64Range(0, 1).Draw(t, "keep")),
		})
	}
	for i := range rapid.IntRange(1, 20).Draw(t, "channels") {
		ch := wheel.Channel{
			ID: fmt.Sprint("ch\"", i), Name: fmt.Sprint("Bar & ", i), Row: i, Kind: rapid.SampledFrom(wheel.ChannelKinds).Draw(t, "kind"),
			Keys: []int{}, Service: rapid.SampledFrom([]wheel.Service{wheel.Playing, wheel.Resting}).Draw(t, "service"),
			Drum: rapid.Bool().Draw(t, "drum"), Path: []string{}, Exit: []string{},
			ExitMMS: wheel.Known(num.Draw(t, "exit")),
		}
		ch.Trip.LatchMS = wheel.Known(num.Draw(t, "latch"))
		ch.Gate.ReloadMS = wheel.Known(num.Draw(t, "reload"))
		switch rapid.SampledFrom([]string{"routed", "empty", "left out"}).Draw(t, "lists") {
		case "routed":
			ch.Keys, ch.Path = append(ch.Keys, i), append(ch.Path, m.Lanes[0].ID)
		case "left out":
			ch.Keys, ch.Path, ch.Exit = nil, nil, nil
		}
		m.Channels = append(m.Channels, ch)
	}
	return m
}

func TestMachinesAreListedByNameWithTheirPinnings(t *testing.T) {
	s := openNew(t)
	addMachine(t, s, smallMachine("Hailstone", 3))
	b := addMachine(t, s, smallMachine("brook", 2))
	addPinning(t, s, b, 0, smallPinning("One", 1))
	addPinning(t, s, b, 0, smallPinning("Two", 1))
	rows, err := s.Machines(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	at := func(second int) time.Time { return time.Date(2026, 3, 1, 9, 0, second, 0, time.UTC) }
	want := []MachineRow{
		{ID: 2, Name: "brook", Channels: 2, Pinnings: 2, Revision: 1, Added: at(2), Changed: at(2)},
		{ID: 1, Name: "Hailstone", Channels: 3, Pinnings: 0, Revision: 1, Added: at(1), Changed: at(1)},
	}
	if !reflect.DeepEqual(rows, want) {
		t.Errorf("listed %+v\nwant %+v", rows, want)
	}
}

func TestTwoMachinesOfOneNameAreRefused(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	addMachine(t, s, smallMachine("Hailstone", 1))
	other := addMachine(t, s, smallMachine("Brook", 1))
	const says = "there is a machine called Hailstone already; pinning files name their machine, so every machine needs a name of its own"
	_, err := s.AddMachine(ctx, smallMachine("Hailstone", 2))
	refused(t, err, wheel.ErrConflict, says)
	refused(t, s.ReplaceMachine(ctx, other, 1, smallMachine("Hailstone", 1)), wheel.ErrConflict, says)
	if rows, _ := s.Machines(ctx); len(rows) != 2 || rows[0].Name != "Brook" {
		t.Errorf("there are now %+v", rows)
	}
}

func TestAMachineFileThatIsWrongIsRefusedWithEveryProblem(t *testing.T) {
	s := openNew(t)
	m := smallMachine("Hailstone", 2)
	m.Channels[0].Gate.ReloadMS = wheel.Known(-5)
	m.Channels[1].Kind = "gong"
	_, err := s.AddMachine(context.Background(), m)
	refused(t, err, wheel.ErrInvalid, m.Check().Error())
	var problems wheel.Problems
	if !errors.As(err, &problems) || len(problems) != 2 {
		t.Errorf("the problems behind it are %v", problems)
	}
}

func TestAReplacedMachineKeepsItsIdAndPinnings(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	id := addMachine(t, s, smallMachine("Hailstone", 1))
	p := addPinning(t, s, id, 0, smallPinning("Mill Race", 3))
	if err := s.ReplaceMachine(ctx, id, 1, smallMachine("Hailstone II", 2)); err != nil {
		t.Fatal(err)
	}
	m, err := s.Machine(ctx, id)
	if err != nil {
		t.Fatal(err)
	}
	if m.Name != "Hailstone II" || m.Channels != 2 || m.Revision != 2 || !m.Changed.After(m.Added) {
		t.Errorf("it is now %+v", m.MachineRow)
	}
	kept, err := s.Pinning(ctx, p)
	if err != nil {
		t.Fatal(err)
	}
	if kept.File.Machine != "Hailstone II" {
		t.Errorf("its pinning names %q", kept.File.Machine)
	}
	came := []wheel.ChangedText{{Path: "channels.b", To: "Bar b"}, {Path: "name", From: "Hailstone", To: "Hailstone II"}}
	if changes, err := s.MachineChanges(ctx, id); err != nil || len(changes) != 1 || changes[0].Figures != nil || !slices.Equal(changes[0].Texts, came) {
		t.Errorf("kept: %+v, %v; want one change with %+v", changes, err, came)
	}
	again := smallMachine("Hailstone II", 2)
	again.Lanes[0].LengthMM = wheel.Known(260)
	if err := s.ReplaceMachine(ctx, id, 2, again); err != nil {
		t.Fatal(err)
	}
	changes, err := s.MachineChanges(ctx, id)
	want := wheel.ChangedFigure{Path: "lanes.drop.length_mm", From: wheel.Known(240), To: wheel.Known(260)}
	if err != nil || len(changes) != 2 || changes[0].Reason != "a new file was brought in" || len(changes[0].Figures) != 1 || changes[0].Figures[0] != want {
		t.Errorf("kept: %+v, %v; want %+v", changes, err, want)
	}
}

func TestAChangeFromAnOldRevisionOverwritesNothing(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	id := addMachine(t, s, smallMachine("Hailstone", 1))
	if err := s.ReplaceMachine(ctx, id, 1, smallMachine("Hailstone", 5)); err != nil {
		t.Fatal(err)
	}
	refused(t, s.ReplaceMachine(ctx, id, 1, smallMachine("Hailstone", 2)), wheel.ErrConflict,
		"Hailstone was changed by someone else meanwhile, and nothing was overwritten; look at it again, then repeat your change")
	if m, _ := s.Machine(ctx, id); m.Channels != 5 || m.Revision != 2 {
		t.Errorf("it is now %+v", m.MachineRow)
	}
}

func TestAMachineThatItsPinningsNoLongerFitIsRefused(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	id := addMachine(t, s, smallMachine("Hailstone", 2))
	p := smallPinning("Mill Race", 1)
	p.Pins = append(p.Pins, wheel.Pin{Channel: "b", Step: 9})
	addPinning(t, s, id, 0, p)
	smaller := smallMachine("Hailstone", 1)
	refused(t, s.ReplaceMachine(ctx, id, 1, smaller), wheel.ErrConflict, "the pinning Mill Race would no longer fit: "+
		p.CheckOn(smaller)[0].String()+"; change or remove it first, or add the new file as a machine of another name")
	if m, _ := s.Machine(ctx, id); m.Channels != 2 {
		t.Error("the machine was changed")
	}
}

func TestAMachineWithPinningsIsNotRemoved(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	id := addMachine(t, s, smallMachine("Hailstone", 1))
	one := addPinning(t, s, id, 0, smallPinning("One", 1))
	two := addPinning(t, s, id, 0, smallPinning("Two", 1))
	refused(t, s.RemoveMachine(ctx, id), wheel.ErrConflict, "Hailstone has 2 pinnings, which would go with it; remove them first")
	if err := s.RemovePinning(ctx, one); err != nil {
		t.Fatal(err)
	}
	refused(t, s.RemoveMachine(ctx, id), wheel.ErrConflict, "Hailstone has a pinning, which would go with it; remove that first")
	if err := s.RemovePinning(ctx, two); err != nil {
		t.Fatal(err)
	}
	if err := s.RemoveMachine(ctx, id); err != nil {
		t.Fatal(err)
	}
	_, err := s.Machine(ctx, id)
	refused(t, err, wheel.ErrNotFound, "there is no machine 1; it may have been removed")
	refused(t, s.RemoveMachine(ctx, id), wheel.ErrNotFound, "there is no machine 1; it may have been removed already")
	refused(t, s.ReplaceMachine(ctx, id, 1, smallMachine("Hailstone", 1)), wheel.ErrNotFound, "there is no machine 1; it may have been removed")
	if again := addMachine(t, s, smallMachine("Hailstone", 1)); again == id {
		t.Error("an id was given twice")
	}
}

func TestAMachineTooLargeToReadBackIsRefused(t *testing.T) {
	s := openNew(t)
	m := smallMachine("Hailstone", 300)
	for i := range m.Channels {
		m.Channels[i].ID = fmt.Sprint("channel-", i)
		m.Channels[i].Name = fmt.Sprint("Channel ", i)
		m.Channels[i].Keys[0] = i % 128
		m.Channels[i].Note = strings.Repeat("🎵", 10000)
	}
	_, err := s.AddMachine(context.Background(), m)
	refused(t, err, wheel.ErrTooLarge, "the file would be larger than 8 MiB, and larger ones are not read")
}

func TestListsThatAFileLeavesEmptyOrOutAreKept(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	m, err := file.ReadMachine([]byte(`{
		"format": "pinwright-machine/1", "name": "Hailstone",
		"marble": {"diameter_mm": 12, "clearance_mm": 2},
		"wheel": {"radius_mm": 600, "steps": 256, "steps_per_beat": 4, "beats_per_bar": 4},
		"lanes": [],
		"channels": [{"id": "a", "name": "A", "row": 0, "kind": "bar", "keys": [], "path": []}]
	}`))
	if err != nil {
		t.Fatal(err)
	}
	p, err := file.ReadPinning([]byte(`{"format": "pinwright-pinning/1", "title": "Nothing yet", "pins": []}`))
	if err != nil {
		t.Fatal(err)
	}
	addPinning(t, s, addMachine(t, s, m), 0, p)
	if rows, err := s.Pinnings(ctx, 1); err != nil || len(rows) != 1 || rows[0].Pins != 0 {
		t.Errorf("listed %+v (%v)", rows, err)
	}
}
