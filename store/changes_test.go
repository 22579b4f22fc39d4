package store

import (
	"context"
	"errors"
	"testing"

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
