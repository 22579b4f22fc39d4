package store

import (
	"context"
	"database/sql"
	"pinwright/wheel"
	"slices"
	"strings"
	"time"
)

// TroubleKind is what is wrong at a place of the machine.
type TroubleKind string

// TroubleKinds lists every kind of trouble.
var TroubleKinds = []TroubleKind{"bent pin", "split hole", "jammed lever", "other"}

// maxNote is the most characters of a note.
const maxNote = 500

// Trouble is something wrong at a place of the machine.
type Trouble struct {
	ID        int64
	MachineID int64
	At        time.Time
	Kind      TroubleKind
	Step      int
	Channel   string // empty: the whole step
	Note      string
	Mended    time.Time // zero while it is wrong
}

func (t *Tap) checkTrouble() error {
	if !slices.Contains(TroubleKinds, t.Trouble) {
		return wheel.Refuse(wheel.ErrInvalid, "the trouble is %.40q; it should be bent pin, split hole, jammed lever or other", string(t.Trouble))
	}
	if len(t.Channel) > 256 {
		return wheel.Refuse(wheel.ErrInvalid, "the trouble is on a channel whose id is too long to be one")
	}
	if err := wheel.CheckLine("the channel of the trouble", t.Channel, 256); err != nil {
		return err
	}
	return wheel.CheckLine("the note", t.Note, maxNote)
}

func (s *Store) addTrouble(ctx context.Context, tx *sql.Tx, j Job, t Tap, at int64) error {
	if t.Channel != "" {
		m, err := machine(ctx, tx, j.MachineID)
		if err != nil {
			return err
		}
		if m.File.Channel(t.Channel) < 0 {
			return wheel.Refuse(wheel.ErrInvalid, "the trouble is on the channel %.64q, and %s has no such channel", t.Channel, m.Name)
		}
	}
	_, err := tx.ExecContext(ctx, `INSERT INTO troubles (machine_id, at_us, kind, step, channel, note) VALUES (?, ?, ?, ?, ?, ?)`,
		j.MachineID, at, t.Trouble, t.Step, t.Channel, strings.TrimSpace(t.Note))
	return err
}

// Troubles lists what is wrong at a machine, the latest first, and after that
// what was mended, at most limit in all.
func (s *Store) Troubles(ctx context.Context, machineID int64, limit int) ([]Trouble, error) {
	return list(ctx, s.reader, "listing what is wrong", func(row scanner) (Trouble, error) {
		var t Trouble
		var at, mended int64
		err := row.Scan(&t.ID, &t.MachineID, &at, &t.Kind, &t.Step, &t.Channel, &t.Note, &mended)
		t.At = timeOf(at)
		if mended != 0 {
			t.Mended = timeOf(mended)
		}
		return t, err
	}, `SELECT id, machine_id, at_us, kind, step, channel, note, coalesce(mended_us, 0) FROM troubles
		WHERE machine_id = ? ORDER BY mended_us IS NOT NULL, id DESC LIMIT ?`, machineID, between(0, limit, maxEdits))
}

// MendTrouble notes that what was wrong is mended.
func (s *Store) MendTrouble(ctx context.Context, machineID, id int64) error {
	return s.change(ctx, "noting that it is mended", func(tx *sql.Tx) error {
		var there bool
		if err := tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM troubles WHERE id = ? AND machine_id = ?)`, id, machineID).Scan(&there); err != nil {
			return err
		}
		if !there {
			return wheel.Refuse(wheel.ErrNotFound, "there is no such trouble")
		}
		_, err := tx.ExecContext(ctx, `UPDATE troubles SET mended_us = ? WHERE id = ? AND mended_us IS NULL`, s.nowUS(), id)
		return err
	})
}
