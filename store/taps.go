package store

import (
	"context"
	"database/sql"
	"errors"

	"pinwright/wheel"
	"pinwright/wheel/place"
)

// Tap keeps a tap of a job, see [place.Work.Take], and answers where the work
// then stands. When it returns, the tap is on disk, and the pins on the wheel are
// as it says. A tap with the id of one that is kept already is not kept again.
func (s *Store) Tap(ctx context.Context, jobID int64, t place.Tap) (w place.Work, err error) {
	if err := t.Check(); err != nil {
		return w, err
	}
	asked, err := t.Fingerprint(jobID)
	if err != nil {
		return w, err
	}
	err = s.change(ctx, "keeping what was done", func(tx *sql.Tx) error {
		j, err := job(ctx, tx, jobID)
		if err != nil {
			return err
		}
		if w, err = readWork(ctx, tx, j); err != nil {
			return err
		}
		var kept int64
		err = tx.QueryRowContext(ctx, `SELECT asked FROM wheel_taps WHERE machine_id = ? AND tap_id = ?`, j.MachineID, t.ID).Scan(&kept)
		switch {
		case err == nil:
			return t.CheckRepeat(kept, asked)
		case !errors.Is(err, sql.ErrNoRows):
			return err
		}
		return s.keepTap(ctx, tx, &w, t, asked)
	})
	return w, err
}

func (s *Store) keepTap(ctx context.Context, tx *sql.Tx, w *place.Work, t place.Tap, asked int64) error {
	m, err := machine(ctx, tx, w.MachineID)
	if err != nil {
		return err
	}
	log := tapLog{tx, w.Job}
	kept, err := w.Take(ctx, t, m.File, log)
	if err != nil {
		return err
	}
	at := t.MadeAt(timeOf(s.nowUS()), w.Begun).UnixMicro()
	if t.Kind == place.TapTrouble {
		if err := addTrouble(ctx, tx, w.MachineID, t, at); err != nil {
			return err
		}
	}
	if err := movePins(ctx, tx, w.MachineID, kept.Changes); err != nil {
		return err
	}
	w.Apply(kept.Changes)
	if w.Seq, err = addTap(ctx, tx, w.Job, kept, asked, at); err != nil {
		return err
	}
	if err := w.SetProgress(ctx, log); err != nil || !w.Latest {
		return err
	}
	w.Job, err = s.settle(ctx, tx, w.Job, w.Left())
	return err
}

// movePins pulls and drives pins in the record of a wheel.
func movePins(ctx context.Context, tx *sql.Tx, machineID int64, changes []wheel.PinChange) error {
	for _, c := range changes {
		query := `DELETE FROM wheel_pins WHERE machine_id = ? AND step = ? AND channel = ?`
		if c.Now.Pin {
			query = `INSERT INTO wheel_pins (machine_id, step, channel) VALUES (?, ?, ?)`
		}
		if _, err := tx.ExecContext(ctx, query, machineID, c.Step, c.Channel); err != nil {
			return err
		}
	}
	return nil
}

// addTap adds a tap to those of its wheel.
func addTap(ctx context.Context, tx *sql.Tx, j place.Job, t place.KeptTap, asked, atUS int64) (seq int64, err error) {
	changes, err := changesText(t.Changes)
	if err != nil {
		return 0, err
	}
	if err := tx.QueryRowContext(ctx, `UPDATE wheels SET seq = seq + 1 WHERE machine_id = ? RETURNING seq`, j.MachineID).Scan(&seq); err != nil {
		return 0, err
	}
	_, err = tx.ExecContext(ctx, `
		INSERT INTO wheel_taps (machine_id, seq, job_id, tap_id, asked, at_us, kind, step, of_tap, changes)
		VALUES (?, ?, ?, nullif(?, ''), ?, ?, ?, ?, ?, ?)`,
		j.MachineID, seq, j.ID, t.ID, asked, atUS, t.Kind, t.Step, t.Of, changes)
	return seq, err
}
