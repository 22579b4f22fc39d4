package store

import (
	"context"
	"errors"
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/place"
)

func refusedAsConflict(t *testing.T, what string, err error) {
	t.Helper()
	var e *wheel.Error
	if !errors.As(err, &e) || e.Code != wheel.ErrConflict {
		t.Errorf("%s: %v; it should be refused", what, err)
	}
}

// A pin is known by its channel and step, and is in a row at an angle: a machine
// file that moves rows or steps from under pins would put the record wrong.
func TestMachineIsNotChangedFromUnderThePinsOnItsWheel(t *testing.T) {
	w := newWorkshop(t)
	ctx := context.Background()
	replace := func(change func(*wheel.Machine)) error {
		m, err := w.s.Machine(ctx, w.machine)
		must(t, err)
		file := *m.File
		file.Channels = append([]wheel.Channel(nil), m.File.Channels...)
		change(&file)
		return w.s.ReplaceMachine(ctx, w.machine, m.Revision, &file)
	}
	c := -1
	m, err := w.s.Machine(ctx, w.machine)
	must(t, err)
	if c = m.File.Channel("c"); c < 0 {
		t.Fatal("no channel c")
	}
	free := 0
	for i := range m.File.Channels {
		free = max(free, m.File.Channels[i].Row+1)
	}
	moveRow := func(id string) func(*wheel.Machine) {
		return func(m *wheel.Machine) { m.Channels[m.Channel(id)].Row = free; free++ }
	}
	steps := func(m *wheel.Machine) { m.Wheel.Steps *= 2 }

	refusedAsConflict(t, "another row under pins", replace(moveRow("a")))
	refusedAsConflict(t, "other steps under pins", replace(steps))
	must(t, replace(moveRow("c"))) // it has no pin on the wheel
	must(t, replace(func(m *wheel.Machine) {
		m.Channels[0].Gate.ReloadMS = wheel.Known(m.Channels[0].Gate.ReloadMS.Or(0) + 1)
	}))

	j := w.begin(t)
	refusedAsConflict(t, "any other row while work is under way", replace(moveRow("c")))
	refusedAsConflict(t, "one more channel while work is under way", replace(func(m *wheel.Machine) {
		more := m.Channels[0]
		more.ID, more.Name, more.Row = "z", "Z", 900
		m.Channels = append(m.Channels, more)
	}))
	must(t, replace(func(m *wheel.Machine) {
		m.Channels[0].Gate.ReloadMS = wheel.Known(m.Channels[0].Gate.ReloadMS.Or(0) + 1)
	}))
	w.carries(t, "a1", "b1", "a2", "a9")
	must(t, w.s.StopJob(ctx, j.ID))

	for _, p := range []int64{w.old, w.new} {
		must(t, w.s.RemovePinning(ctx, p))
	}
	refusedAsConflict(t, "removing a machine with pins on its wheel", w.s.RemoveMachine(ctx, w.machine))
	must(t, w.s.SayOnWheel(ctx, w.machine, 0))
	must(t, w.s.RemoveMachine(ctx, w.machine))
}

func TestDoneOfAChannelWithNothingToDoIsRefused(t *testing.T) {
	w := newWorkshop(t)
	j := w.begin(t)
	refusedAsConflict(t, "a channel that nobody has", w.tryTap(j.ID, done("x1", 1, "nope")))
	refusedAsConflict(t, "a channel whose pin stays", w.tryTap(j.ID, done("x2", 1, "a")))
	refusedAsConflict(t, "one of two", w.tryTap(j.ID, done("x3", 1, "b", "a")))
	w.carries(t, "a1", "b1", "a2", "a9")
	w.tap(t, j.ID, done("x4", 1, "b", "c"))
	w.tap(t, j.ID, done("x5", 1, "c")) // someone else's thumb, a moment later
	w.carries(t, "a1", "c1", "a2", "a9")
}

func TestProofreadingWhoseLastReadingsComeLateIsFinished(t *testing.T) {
	w := newWorkshop(t)
	ctx := context.Background()
	j, err := w.s.BeginProof(ctx, w.machine, 0)
	must(t, err)
	for step := range j.Steps - 1 {
		w.tap(t, j.ID, place.Tap{ID: "r" + string(rune('a'+step%26)) + string(rune('a'+step/26)), Kind: place.TapRead, Step: step})
	}
	must(t, w.s.StopJob(ctx, j.ID))
	w.tap(t, j.ID, place.Tap{ID: "last", Kind: place.TapRead, Step: j.Steps - 1})
	jobs, err := w.s.Jobs(ctx, w.machine, 50)
	must(t, err)
	for _, other := range jobs {
		if other.ID == j.ID && !other.Finished {
			t.Error("all steps were read and it is not finished")
		}
	}
}
