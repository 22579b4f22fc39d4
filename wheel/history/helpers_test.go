package history_test

import (
	"context"
	"errors"
	"fmt"
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/history"
)

// memory keeps the history of one pinning in memory. It fails the test if an
// edit asks for what is not there.
type memory struct {
	machine *wheel.Machine
	file    *wheel.Pinning // with its pins
	entries []history.Entry
	touched map[place]int64 // by hole, the edit that touched it last
	marks   map[int64]string
}

type place struct {
	channel string
	step    int
}

// newMemory is a pinning on a machine with channels a to d and a wheel of 256
// steps.
func newMemory(pins ...wheel.Pin) *memory {
	m := &wheel.Machine{Name: "Hailstone"}
	m.Wheel.Steps = 256
	for _, id := range []string{"a", "b", "c", "d"} {
		m.Channels = append(m.Channels, wheel.Channel{ID: id})
	}
	file := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Mill Race", TempoBPM: 84, Pins: pins}
	return &memory{machine: m, file: file, touched: map[place]int64{}, marks: map[int64]string{}}
}

func (m *memory) Edit(_ context.Context, seq int64) (history.Edit, error) {
	if seq < 1 || seq > int64(len(m.entries)) {
		return history.Edit{}, fmt.Errorf("asked for edit %d of %d", seq, len(m.entries))
	}
	return m.entries[seq-1].Edit, nil
}

func (m *memory) Stacks(ctx context.Context, seq int64) (history.Stacks, error) {
	if _, err := m.Edit(ctx, seq); err != nil {
		return history.Stacks{}, err
	}
	return m.entries[seq-1].Stacks, nil
}

func (m *memory) Holes(_ context.Context, changes []wheel.PinChange) ([]history.Hole, error) {
	holes := make([]history.Hole, len(changes))
	for i, c := range changes {
		for _, pin := range m.file.Pins {
			if pin.Channel == c.Channel && pin.Step == c.Step {
				holes[i].InHole = pin.InHole()
			}
		}
		if seq := m.touched[place{c.Channel, c.Step}]; seq != 0 {
			holes[i].Seq, holes[i].By = seq, m.entries[seq-1].By
		}
	}
	return holes, nil
}

func (m *memory) Since(_ context.Context, seq int64) (*history.Since, error) {
	var since history.Since
	for _, e := range m.entries[seq:] {
		since.Add(e.Changes, e.Head)
	}
	return &since, nil
}

func (m *memory) MarkOf(_ context.Context, seq int64) (string, error) { return m.marks[seq], nil }

// open is the pinning as it is now, about to be edited.
func (m *memory) open() *history.Pinning {
	head := m.file.Clone()
	head.Pins = nil
	p := &history.Pinning{File: head, Pins: len(m.file.Pins), Machine: m.machine, Seq: int64(len(m.entries)), Log: m}
	if p.Seq > 0 {
		p.Stacks = m.entries[p.Seq-1].Stacks
	}
	return p
}

// add adds an entry by a sender, and makes its changes.
func (m *memory) add(entry *history.Entry, by string) error {
	entry.By = by
	if want := int64(len(m.entries) + 1); entry.Seq != want {
		return fmt.Errorf("the entry is edit %d, want %d", entry.Seq, want)
	}
	if err := m.file.Apply(entry.Changes); err != nil {
		return err
	}
	if entry.Head != nil {
		m.file.SetHead(entry.Head.Now)
	}
	for _, c := range entry.Changes {
		m.touched[place{c.Channel, c.Step}] = entry.Seq
	}
	m.entries = append(m.entries, *entry)
	return nil
}

// drive merges an edit by a sender and adds it.
func (m *memory) drive(t testing.TB, by string, base int64, changes ...wheel.PinChange) history.Edit {
	t.Helper()
	entry, err := m.open().Merge(context.Background(), history.NewEdit{Base: base, Kind: "drive", Words: "edit by " + by, Changes: changes})
	if err == nil {
		err = m.add(entry, by)
	}
	if err != nil {
		t.Fatal(err)
	}
	return entry.Edit
}

func pinAt(channel string, step int) wheel.Pin { return wheel.Pin{Channel: channel, Step: step} }

func aimedAt(channel string, step int, aim float64) wheel.Pin {
	return wheel.Pin{Channel: channel, Step: step, Aim: wheel.AimAt(aim)}
}

// refused fails the test unless an error refuses with this code and these words.
func refused(t testing.TB, err error, code wheel.Code, words string) {
	t.Helper()
	var e *wheel.Error
	if !errors.As(err, &e) || e.Code != code {
		t.Fatalf("error is %v (%T), want one of kind %q", err, err, code)
	}
	if err.Error() != words {
		t.Errorf("it says\n\t%s\nwant\n\t%s", err, words)
	}
}
