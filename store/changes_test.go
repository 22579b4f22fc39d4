package store

import (
	"context"
	"errors"
	"reflect"
	"slices"
	"testing"
	"time"

	"pinwright/wheel"
)

func TestAChangeOfAMachineIsDatedAndGivesItsReason(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	m := smallMachine("Mill", 2)
	id, err := s.AddMachine(ctx, m)
	if err != nil {
		t.Fatal(err)
	}
	path := "channels." + m.Channels[0].ID + ".gate.reload_ms"
	was := m.Channels[0].Gate.ReloadMS.Or(0)
	if err := s.ChangeMachine(ctx, id, 1, "  New spring  ", []wheel.Set{{Path: path, Value: was + 20}}); err != nil {
		t.Fatal(err)
	}
	if err := s.ChangeMachine(ctx, id, 2, "Cleaner rails", []wheel.Set{{Path: path, Value: was + 5}, {Path: "marble.clearance_mm", Value: 3.5}}); err != nil {
		t.Fatal(err)
	}
	kept, err := s.Machine(ctx, id)
	if err != nil || kept.Revision != 3 || kept.File.Channels[0].Gate.ReloadMS != wheel.Known(was+5) || kept.File.Marble.ClearanceMM != 3.5 {
		t.Fatalf("kept %+v, %v", kept, err)
	}
	changes, err := s.MachineChanges(ctx, id)
	if err != nil || len(changes) != 2 {
		t.Fatalf("%d changes, %v", len(changes), err)
	}
	if c := changes[0]; c.Reason != "Cleaner rails" || len(c.Figures) != 2 || c.Figures[0] != (wheel.ChangedFigure{Path: path, From: wheel.Known(was + 20), To: wheel.Known(was + 5)}) {
		t.Errorf("the latest is %+v", c)
	}
	if c := changes[1]; c.Reason != "New spring" || c.At.IsZero() {
		t.Errorf("the first is %+v", c)
	}
	if err := s.RemoveMachine(ctx, id); err != nil {
		t.Error(err)
	}
}

func TestAChangeThatCannotBeKeptLeavesTheMachineAsItIs(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	m := smallMachine("Mill", 1)
	id, err := s.AddMachine(ctx, m)
	if err != nil {
		t.Fatal(err)
	}
	reload := "channels." + m.Channels[0].ID + ".gate.reload_ms"
	for _, c := range []struct {
		name     string
		id       int64
		revision int
		reason   string
		sets     []wheel.Set
		kind     error
	}{
		{"no reason", id, 1, " \t ", []wheel.Set{{Path: reload, Value: 3}}, wheel.ErrInvalid},
		{"a reason of two lines", id, 1, "a\nb", []wheel.Set{{Path: reload, Value: 3}}, wheel.ErrInvalid},
		{"nothing changed", id, 1, "why", []wheel.Set{{Path: reload, Value: m.Channels[0].Gate.ReloadMS.Or(0)}}, wheel.ErrInvalid},
		{"no figures", id, 1, "why", nil, wheel.ErrInvalid},
		{"out of range", id, 1, "why", []wheel.Set{{Path: reload, Value: -1}}, wheel.ErrInvalid},
		{"no such figure", id, 1, "why", []wheel.Set{{Path: "wheel.spokes", Value: 1}}, wheel.ErrInvalid},
		{"stale", id, 2, "why", []wheel.Set{{Path: reload, Value: 3}}, wheel.ErrConflict},
		{"no such machine", id + 1, 1, "why", []wheel.Set{{Path: reload, Value: 3}}, wheel.ErrNotFound},
	} {
		if err := s.ChangeMachine(ctx, c.id, c.revision, c.reason, c.sets); !errors.Is(err, c.kind) {
			t.Errorf("%s: %v, want %v", c.name, err, c.kind)
		}
	}
	kept, err := s.Machine(ctx, id)
	if changes, _ := s.MachineChanges(ctx, id); err != nil || kept.Revision != 1 || len(changes) != 0 {
		t.Errorf("revision %d, %d changes, %v", kept.Revision, len(changes), err)
	}
}

// A new file that changes no figure is a change too: what was measured, a note, a
// plate. One that changes nothing at all is none.
func TestAFileThatChangesNoFigureIsKeptAndDated(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	m := smallMachine("Mill", 2)
	id := addMachine(t, s, m)
	must(t, s.ReplaceMachine(ctx, id, 1, m))
	if changes, err := s.MachineChanges(ctx, id); err != nil || len(changes) != 0 {
		t.Errorf("a file that is the same: %+v, %v", changes, err)
	}
	after := m.Clone()
	reload := "channels." + m.Channels[0].ID + ".gate.reload_ms"
	after.Measured = []wheel.Measured{{Figure: reload, N: 10, SD: wheel.Known(8), On: "2026-11-20"}}
	after.Channels[1].Plate, after.Lanes[0].Note = "shared", "lined"
	must(t, s.ReplaceMachine(ctx, id, 2, after))
	changes, err := s.MachineChanges(ctx, id)
	want := []wheel.ChangedText{
		{Path: "channels.b.plate", To: "shared"},
		{Path: "lanes." + m.Lanes[0].ID + ".note", To: "lined"},
		{Path: "measured." + reload, To: "n 10, spread 8 ms, 2026-11-20"},
	}
	if err != nil || len(changes) != 1 || changes[0].At.IsZero() || len(changes[0].Figures) != 0 || !slices.Equal(changes[0].Texts, want) {
		t.Errorf("kept %+v, %v; want %+v", changes, err, want)
	}
	// A value typed by hand was not measured: the history says what was lost.
	must(t, s.ChangeMachine(ctx, id, 3, "A guess", []wheel.Set{{Path: reload, Value: 300}}))
	changes, err = s.MachineChanges(ctx, id)
	if lost := (wheel.ChangedText{Path: want[2].Path, From: want[2].To}); err != nil || len(changes) != 2 || len(changes[0].Figures) != 1 || len(changes[0].Texts) != 1 || changes[0].Texts[0] != lost {
		t.Errorf("kept %+v, %v; want the loss of %+v", changes, err, lost)
	}
}

func TestTheHouseLimitIsAChangeOfTheMachine(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	id := addMachine(t, s, smallMachine("Mill", 1))
	const path, why = "limits.house_bpm", "limits.house_why"
	must(t, s.SetHouse(ctx, id, 1, "Seen by Ada", wheel.Known(96), "the frame shakes"))
	must(t, s.SetHouse(ctx, id, 2, "Not the frame", wheel.Known(96), "the floor"))
	must(t, s.SetHouse(ctx, id, 3, "New floor", wheel.Maybe{}, ""))
	refused(t, s.SetHouse(ctx, id, 4, "Again", wheel.Maybe{}, ""), wheel.ErrInvalid, "the house limit and its reason are as they were; nothing was kept")
	refused(t, s.SetHouse(ctx, id, 4, " ", wheel.Known(90), "why"), wheel.ErrInvalid, "the change has no reason; say in a few words why, and who did it")
	if err := s.SetHouse(ctx, id, 1, "late", wheel.Known(90), "why"); !errors.Is(err, wheel.ErrConflict) {
		t.Errorf("from an old revision: %v", err)
	}
	m, err := s.Machine(ctx, id)
	if err != nil || m.Revision != 4 || m.File.Limits.HouseBPM.IsKnown() || m.File.Limits.HouseWhy != "" {
		t.Errorf("kept %+v, %v", m, err)
	}
	got, err := s.MachineChanges(ctx, id)
	want := []wheel.MachineChange{
		{ID: 3, Reason: "New floor", Figures: []wheel.ChangedFigure{{Path: path, From: wheel.Known(96)}}, Texts: []wheel.ChangedText{{Path: why, From: "the floor"}}},
		{ID: 2, Reason: "Not the frame", Texts: []wheel.ChangedText{{Path: why, From: "the frame shakes", To: "the floor"}}},
		{ID: 1, Reason: "Seen by Ada", Figures: []wheel.ChangedFigure{{Path: path, To: wheel.Known(96)}}, Texts: []wheel.ChangedText{{Path: why, To: "the frame shakes"}}},
	}
	for i := range got {
		got[i].At = time.Time{}
	}
	if err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("kept %+v, %v; want %+v", got, err, want)
	}
}
