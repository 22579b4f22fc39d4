package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"

	"pinwright/wheel"
	"pinwright/wheel/place"
)

const jobColumns = `id, machine_id, coalesce(pinning_id, 0), kind, head, steps, start_step, rotate, exchange, moves,
	begun_us, coalesce(ended_us, 0), finished, coalesce(before_id, 0)`

func scanJob(row scanner) (place.Job, error) {
	var j place.Job
	var head []byte
	var begun, ended int64
	err := row.Scan(&j.ID, &j.MachineID, &j.PinningID, &j.Kind, &head, &j.Steps, &j.Start, &j.Rotate, &j.Exchange, &j.Moves,
		&begun, &ended, &j.Finished, &j.BeforeID)
	if err != nil {
		return j, err
	}
	j.Begun = timeOf(begun)
	if ended != 0 {
		j.Ended = timeOf(ended)
	}
	if err := json.Unmarshal(head, &j.Head); err != nil {
		return j, wheel.RefuseFor(wheel.ErrDamaged, err, "a record of work on the wheel cannot be read (%s); the database is damaged: go back to a copy of it", err)
	}
	return j, nil
}

func job(ctx context.Context, q querier, id int64) (place.Job, error) {
	j, err := scanJob(q.QueryRowContext(ctx, `SELECT `+jobColumns+` FROM wheel_jobs WHERE id = ?`, id))
	if errors.Is(err, sql.ErrNoRows) {
		return j, wheel.Refuse(wheel.ErrNotFound, "there is no such work on a wheel; its machine may have been removed")
	}
	return j, err
}

// Jobs lists what was done to a machine's wheel, the latest first, at most
// limit of them.
func (s *Store) Jobs(ctx context.Context, machineID int64, limit int) ([]place.Job, error) {
	return list(ctx, s.reader, "listing the work on the wheel", scanJob,
		`SELECT `+jobColumns+` FROM wheel_jobs WHERE machine_id = ? ORDER BY id DESC LIMIT ?`, machineID, between(0, limit, maxEdits))
}

// Toward is the changeover on which a wheel stood when a job began, see
// [place.Toward]. ok is false where there is none.
func (s *Store) Toward(ctx context.Context, of place.Job) (j place.Job, ok bool, err error) {
	between, err := list(ctx, s.reader, "reading the work on the wheel", scanJob,
		`SELECT `+jobColumns+` FROM wheel_jobs WHERE machine_id = ? AND id > ? AND id < ? ORDER BY id`, of.MachineID, of.BeforeID, of.ID)
	if err != nil {
		return j, false, err
	}
	j, ok = place.Toward(between)
	return j, ok, nil
}

// JobTarget is what a job goes towards, with every aim given.
func (s *Store) JobTarget(ctx context.Context, id int64) (p *wheel.Pinning, err error) {
	err = s.view(ctx, "reading the work on the wheel", func(tx *sql.Tx) error {
		j, err := job(ctx, tx, id)
		if err != nil {
			return err
		}
		p, err = target(ctx, tx, j)
		return err
	})
	return p, err
}

func target(ctx context.Context, q querier, j place.Job) (*wheel.Pinning, error) {
	p := &wheel.Pinning{Format: wheel.PinningFormat}
	p.SetHead(j.Head)
	var err error
	p.Pins, err = pins(ctx, q, `SELECT step, channel, aim FROM job_pins WHERE job_id = ? ORDER BY step, channel`, j.ID)
	return p, err
}

// addJob keeps a job that has begun, and its target.
func addJob(ctx context.Context, tx *sql.Tx, j place.Job, target *wheel.Pinning) (place.Job, error) {
	j.Head = target.Head()
	head, err := json.Marshal(j.Head)
	if err != nil {
		return j, err
	}
	err = tx.QueryRowContext(ctx, `
		INSERT INTO wheel_jobs (machine_id, kind, pinning_id, head, steps, start_step, rotate, exchange, moves, before_id, begun_us, ended_us, finished)
		VALUES (?, ?, nullif(?, 0), ?, ?, ?, ?, ?, ?, nullif(?, 0), ?, ?, ?) RETURNING id`,
		j.MachineID, j.Kind, j.PinningID, string(head), j.Steps, j.Start, j.Rotate, j.Exchange, j.Moves, j.BeforeID, j.Begun.UnixMicro(), endedUS(j), j.Finished).Scan(&j.ID)
	if err != nil {
		return j, err
	}
	type aimed struct {
		Channel string  `json:"channel"`
		Step    int     `json:"step"`
		Aim     float64 `json:"aim"`
	}
	pins := make([]aimed, len(target.Pins))
	for i, pin := range target.Pins {
		pins[i] = aimed{pin.Channel, pin.Step, target.AimOf(pin)}
	}
	text, err := json.Marshal(pins)
	if err != nil {
		return j, err
	}
	_, err = tx.ExecContext(ctx, `
		INSERT INTO job_pins (job_id, step, channel, aim)
		SELECT ?, value ->> 'step', value ->> 'channel', CAST(value ->> 'aim' AS REAL) FROM json_each(?)`, j.ID, string(text))
	return j, err
}

// endedUS is when a job ended, as it is kept: nil while it is under way.
func endedUS(j place.Job) any {
	if j.UnderWay() {
		return nil
	}
	return j.Ended.UnixMicro()
}

// saveJob keeps whether and when a job has ended.
func saveJob(ctx context.Context, tx *sql.Tx, j place.Job) error {
	_, err := tx.ExecContext(ctx, `UPDATE wheel_jobs SET ended_us = ?, finished = ? WHERE id = ?`, endedUS(j), j.Finished, j.ID)
	return err
}

// saveState keeps what a wheel carries.
func saveState(ctx context.Context, tx *sql.Tx, machineID int64, on place.State) error {
	_, err := tx.ExecContext(ctx, `
		INSERT INTO wheels (machine_id, base_id, toward_id, seq) VALUES (?1, ?2, nullif(?3, 0), 0)
		ON CONFLICT (machine_id) DO UPDATE SET base_id = excluded.base_id, toward_id = excluded.toward_id`, machineID, on.Base, on.Toward)
	return err
}

// settle keeps what becomes of the latest job on a wheel when so much is left of
// it, and what the wheel then carries.
func (s *Store) settle(ctx context.Context, tx *sql.Tx, j place.Job, left int) (place.Job, error) {
	on, err := wheelState(ctx, tx, j.MachineID)
	if err != nil {
		return j, err
	}
	after, carries := j.Settle(on, left, timeOf(s.nowUS()))
	if after.Ended != j.Ended || after.Finished != j.Finished {
		if err := saveJob(ctx, tx, after); err != nil {
			return j, err
		}
	}
	if carries != on {
		if err := saveState(ctx, tx, j.MachineID, carries); err != nil {
			return j, err
		}
	}
	return after, nil
}
