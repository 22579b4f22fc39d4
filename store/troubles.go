package store

import (
	"context"
	"database/sql"
	"strings"

	"pinwright/wheel"
	"pinwright/wheel/place"
)

func addTrouble(ctx context.Context, tx *sql.Tx, machineID int64, t place.Tap, atUS int64) error {
	_, err := tx.ExecContext(ctx, `INSERT INTO troubles (machine_id, at_us, kind, step, channel, note) VALUES (?, ?, ?, ?, ?, ?)`,
		machineID, atUS, t.Trouble, t.Step, t.Channel, strings.TrimSpace(t.Note))
	return err
}

// Troubles lists what is wrong at a machine, the latest first, and after that
// what was mended, at most limit in all.
func (s *Store) Troubles(ctx context.Context, machineID int64, limit int) ([]place.Trouble, error) {
	return list(ctx, s.reader, "listing what is wrong", func(row scanner) (place.Trouble, error) {
		var t place.Trouble
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
