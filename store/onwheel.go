package store

import (
	"context"
	"database/sql"
	"errors"

	"pinwright/wheel"
)

// OnWheel is what is known of the pins that are on a machine's wheel.
type OnWheel struct {
	Known bool  // false: nobody has said yet, and the rest is empty
	Seq   int64 // of the last tap at the wheel
	// Base is the job whose target the wheel carries or, between two pinnings,
	// last carried as a whole.
	Base Job
	// Toward is the changeover that was begun since, or nil.
	Toward *Job
	// UnderWay is the job that has not ended, or nil.
	UnderWay *Job
	// File is the pins that are on the wheel under the head of Base, each with
	// its aim: that of Base's target or, where that has no pin there, of the
	// latest target since that has. One of no target aims at its own step +
	// the advance of its channel.
	File *wheel.Pinning
}

// NothingOn is the title of a wheel without pins.
const NothingOn = "Bare wheel"

// wheelRow is what is known of a wheel besides pins.
type wheelRow struct {
	base, toward, seq int64
	known             bool
}

func readWheel(ctx context.Context, q querier, machineID int64) (w wheelRow, err error) {
	err = q.QueryRowContext(ctx, `SELECT base_id, coalesce(toward_id, 0), seq FROM wheels WHERE machine_id = ?`, machineID).Scan(&w.base, &w.toward, &w.seq)
	if errors.Is(err, sql.ErrNoRows) {
		return wheelRow{}, nil
	}
	w.known = err == nil
	return w, err
}

// OnWheel reads what is on a machine's wheel. Its pins need not fit the machine
// if that has been changed since they were driven.
func (s *Store) OnWheel(ctx context.Context, machineID int64) (on OnWheel, err error) {
	err = s.view(ctx, "reading what is on the wheel", func(tx *sql.Tx) error {
		m, err := machine(ctx, tx, machineID)
		if err != nil {
			return err
		}
		w, err := readWheel(ctx, tx, machineID)
		if err != nil {
			return err
		}
		on, err = onWheel(ctx, tx, m, w)
		return err
	})
	return on, err
}

func onWheel(ctx context.Context, q querier, m *Machine, w wheelRow) (on OnWheel, err error) {
	if !w.known {
		return on, nil
	}
	on.Known, on.Seq = true, w.seq
	if on.Base, err = job(ctx, q, w.base); err != nil {
		return on, err
	}
	if w.toward != 0 {
		toward, err := job(ctx, q, w.toward)
		if err != nil {
			return on, err
		}
		on.Toward = &toward
	}
	open, err := scanJob(q.QueryRowContext(ctx, `SELECT `+jobColumns+` FROM wheel_jobs WHERE machine_id = ? AND ended_us IS NULL`, m.ID))
	switch {
	case err == nil:
		on.UnderWay = &open
	case !errors.Is(err, sql.ErrNoRows):
		return on, err
	}
	on.File = &wheel.Pinning{Format: wheel.PinningFormat, Machine: m.Name}
	on.File.SetHead(on.Base.Head)
	on.File.Pins, err = aimedPins(ctx, q, `
		SELECT w.step, w.channel, (
			SELECT aim FROM job_pins AS p
			WHERE p.job_id IN (SELECT id FROM wheel_jobs WHERE machine_id = ?1 AND id >= ?2) AND p.step = w.step AND p.channel = w.channel
			ORDER BY p.job_id = ?2 DESC, p.job_id DESC LIMIT 1)
		FROM wheel_pins AS w WHERE w.machine_id = ?1 ORDER BY w.step, w.channel`, m.ID, w.base)
	if err != nil {
		return on, err
	}
	for i, pin := range on.File.Pins {
		on.File.Pins[i].Aim = wheel.AimAt(on.File.AimOf(pin))
	}
	return on, nil
}

// aimedPins reads rows of step, channel, aim.
func aimedPins(ctx context.Context, q querier, query string, args ...any) ([]wheel.Pin, error) {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	pins := []wheel.Pin{}
	for rows.Next() {
		var pin wheel.Pin
		var aim sql.NullFloat64
		if err := rows.Scan(&pin.Step, &pin.Channel, &aim); err != nil {
			return nil, err
		}
		if aim.Valid {
			pin.Aim = wheel.AimAt(aim.Float64)
		}
		pins = append(pins, pin)
	}
	return pins, rows.Err()
}

// SayOnWheel notes what is on a machine's wheel: a pinning of the machine as it
// is now, or with 0 no pins. It is refused while work on the wheel is under way
// ([wheel.ErrConflict]).
func (s *Store) SayOnWheel(ctx context.Context, machineID, pinningID int64) error {
	return s.change(ctx, "noting what is on the wheel", func(tx *sql.Tx) error {
		m, w, err := s.wheelAtRest(ctx, tx, machineID)
		if err != nil {
			return err
		}
		said := &wheel.Pinning{Format: wheel.PinningFormat, Title: NothingOn}
		if pinningID != 0 {
			p, err := pinning(ctx, tx, pinningID)
			if err != nil {
				return err
			}
			if p.MachineID != machineID {
				return wheel.Refuse(wheel.ErrConflict, "the pinning %s is of another machine, not of %s", p.Title, m.Name)
			}
			said = p.File
		}
		now := s.nowUS()
		j, err := s.addJob(ctx, tx, Job{
			MachineID: machineID, PinningID: pinningID, Kind: Said, Steps: m.File.Wheel.Steps,
			Begun: timeOf(now), Ended: timeOf(now), Finished: true, BeforeID: w.base,
		}, said)
		if err != nil {
			return err
		}
		for _, do := range []struct {
			query string
			args  []any
		}{
			{`DELETE FROM wheel_pins WHERE machine_id = ?`, []any{machineID}},
			{`INSERT INTO wheel_pins (machine_id, step, channel) SELECT ?, step, channel FROM job_pins WHERE job_id = ?`, []any{machineID, j.ID}},
			{`INSERT INTO wheels (machine_id, base_id, seq) VALUES (?, ?, 0)
				ON CONFLICT (machine_id) DO UPDATE SET base_id = excluded.base_id, toward_id = NULL`, []any{machineID, j.ID}},
		} {
			if _, err := tx.ExecContext(ctx, do.query, do.args...); err != nil {
				return err
			}
		}
		return addTap(ctx, tx, j, keptTap{kind: tapSaid, at: now})
	})
}

// wheelAtRest refuses a machine on whose wheel work is under way.
func (s *Store) wheelAtRest(ctx context.Context, tx *sql.Tx, machineID int64) (*Machine, wheelRow, error) {
	m, err := machine(ctx, tx, machineID)
	if err != nil {
		return nil, wheelRow{}, err
	}
	w, err := readWheel(ctx, tx, machineID)
	if err != nil {
		return nil, w, err
	}
	var busy bool
	if err := tx.QueryRowContext(ctx, `SELECT EXISTS (SELECT 1 FROM wheel_jobs WHERE machine_id = ? AND ended_us IS NULL)`, machineID).Scan(&busy); err != nil {
		return nil, w, err
	}
	if busy {
		return nil, w, wheel.Refuse(wheel.ErrConflict, "work on the wheel of %s is under way; finish it, or stop it, first", m.Name)
	}
	return m, w, nil
}

// freeWheel is a wheel at rest of which it is known what is on it.
func (s *Store) freeWheel(ctx context.Context, tx *sql.Tx, machineID int64) (*Machine, wheelRow, error) {
	m, w, err := s.wheelAtRest(ctx, tx, machineID)
	if err == nil && !w.known {
		err = wheel.Refuse(wheel.ErrConflict, "nobody has said yet what is on the wheel of %s; say that first", m.Name)
	}
	return m, w, err
}
