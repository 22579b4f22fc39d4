package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"

	"pinwright/wheel"
	"pinwright/wheel/place"
)

// What is kept among the taps besides those that are sent.
const (
	tapSaid   place.TapKind = "said"
	tapBegin  place.TapKind = "begin"
	tapStop   place.TapKind = "stop"
	tapResume place.TapKind = "resume"
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
	past, err := tapsAround(ctx, tx, w.ID, t)
	if err != nil {
		return err
	}
	kept, err := w.Take(t, m.File, past)
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
	if err := readProgress(ctx, tx, w); err != nil || !w.Latest {
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

// tapsAround are the taps of a job that bear upon a tap: those that say its step
// is done, or the step of the tap that it takes back, and all that take back.
func tapsAround(ctx context.Context, q querier, jobID int64, t place.Tap) (taps []place.KeptTap, err error) {
	if t.Kind != place.TapDone && t.Kind != place.TapBack {
		return nil, nil
	}
	err = eachTap(ctx, q, func(k place.KeptTap) bool {
		taps = append(taps, k)
		return true
	}, `
		SELECT `+tapColumns+` FROM wheel_taps
		WHERE job_id = ?1 AND (kind = 'back' OR kind = 'done' AND step IN (?2, (SELECT step FROM wheel_taps WHERE job_id = ?1 AND tap_id = ?3)))
		ORDER BY seq`, jobID, t.Step, t.Of)
	return taps, err
}

const tapColumns = `coalesce(tap_id, ''), kind, step, of_tap, changes`

// eachTap reads rows of tapColumns until yield says to stop.
func eachTap(ctx context.Context, q querier, yield func(place.KeptTap) bool, query string, args ...any) error {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var k place.KeptTap
		var changes []byte
		if err := rows.Scan(&k.ID, &k.Kind, &k.Step, &k.Of, &changes); err != nil {
			return err
		}
		if err := json.Unmarshal(changes, &k.Changes); err != nil {
			return wheel.RefuseFor(wheel.ErrDamaged, err, "a tap cannot be read (%s); the database is damaged: go back to a copy of it", err)
		}
		if !yield(k) {
			return nil
		}
	}
	return rows.Err()
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
