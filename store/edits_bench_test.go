package store

import (
	"context"
	"database/sql"
	"fmt"
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/history"
)

// longHistory is a pinning of 20,000 pins on 128 channels after 100,000 edits,
// each of which drives a pin or pulls it again.
func longHistory(b *testing.B, s *Store) int64 {
	b.Helper()
	ctx := context.Background()
	m := smallMachine("Hailstone", 128)
	m.Wheel.Steps = 4096
	for i := range m.Channels {
		c := &m.Channels[i]
		c.ID, c.Name, c.Keys = fmt.Sprint("bar-", i), fmt.Sprint("Bar ", i), nil
	}
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Mill Race"}
	for i := range 20000 {
		p.Pins = append(p.Pins, aimedAt(m.Channels[i%128].ID, i/128, float64(i/128)+2))
	}
	id := addPinning(b, s, addMachine(b, s, m), 0, p)
	err := s.change(ctx, "", func(tx *sql.Tx) error { // all in one, for speed
		for i := range 100000 {
			p, err := s.openEdited(ctx, tx, id)
			if err != nil {
				return err
			}
			e, err := p.Merge(ctx, history.NewEdit{
				Base: p.Seq, Kind: "drive", Words: "drive Bar C5, bar 7 beat 2",
				Changes: driveOrPull(i, pinAt(m.Channels[i/2%128].ID, 1000+i/256%2000)),
			})
			if err != nil {
				return err
			}
			e.ID = fmt.Sprint(p.Seq)
			if err := p.write(ctx, e, int64(i), 0); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		b.Fatal(err)
	}
	return id
}

// driveOrPull drives the pin with even edits and pulls it with odd ones.
func driveOrPull(i int, pin wheel.Pin) []wheel.PinChange {
	if i%2 == 0 {
		return []wheel.PinChange{wheel.Drive(pin)}
	}
	return []wheel.PinChange{wheel.Pull(pin)}
}

func BenchmarkLongHistory(b *testing.B) {
	ctx := context.Background()
	s := openNew(b)
	id := longHistory(b, s)
	sent := 0
	edit := func(b *testing.B) {
		for range b.N {
			n := anEdit(fmt.Sprint("b", sent), 100000, driveOrPull(sent, pinAt("bar-3", 4000))...)
			if _, err := s.Edit(ctx, id, n); err != nil {
				b.Fatal(err)
			}
			sent++
		}
	}
	b.Run("an edit", edit)
	b.Run("undo or redo", func(b *testing.B) {
		for i := range b.N {
			do := s.Undo
			if i%2 == 1 {
				do = s.Redo
			}
			if _, err := do(ctx, id, 0, fmt.Sprint("u", sent), ""); err != nil {
				b.Fatal(err)
			}
			sent++
		}
	})
	b.Run("open", func(b *testing.B) {
		for range b.N {
			if _, err := s.Pinning(ctx, id); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("what undo would take back", func(b *testing.B) {
		for range b.N {
			if _, err := s.EditState(ctx, id); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("as it was 100 edits ago", func(b *testing.B) {
		for range b.N {
			p, err := s.Pinning(ctx, id)
			if err != nil {
				b.Fatal(err)
			}
			if _, err := s.PinningAt(ctx, id, p.Seq-100); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("as it came in", func(b *testing.B) {
		for range b.N {
			if _, err := s.PinningAt(ctx, id, 0); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("an edit without waiting for the disk", func(b *testing.B) {
		if _, err := s.writer.Exec(`PRAGMA synchronous = OFF`); err != nil {
			b.Fatal(err)
		}
		edit(b)
	})
}
