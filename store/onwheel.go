package store

import (
	"context"
	"database/sql"
	"errors"

	"pinwright/wheel"
	"pinwright/wheel/place"
)

// wheelState is what is known of a wheel besides pins.
func wheelState(ctx context.Context, q querier, machineID int64) (on place.State, err error) {
	err = q.QueryRowContext(ctx, `
		SELECT base_id, coalesce(toward_id, 0), seq, (SELECT coalesce(max(id), 0) FROM wheel_jobs WHERE machine_id = ?1)
		FROM wheels WHERE machine_id = ?1`, machineID).Scan(&on.Base, &on.Toward, &on.Seq, &on.Last)
	if errors.Is(err, sql.ErrNoRows) {
		return place.State{}, nil
	}
	if err != nil {
		return on, err
	}
	last, err := job(ctx, q, on.Last)
	on.Known, on.Working = err == nil, last.UnderWay()
	return on, err
}

// freeWheel is a machine and what its wheel carries, where work on that can
// begin.
func freeWheel(ctx context.Context, tx *sql.Tx, machineID int64) (*Machine, place.State, error) {
	m, err := machine(ctx, tx, machineID)
	if err != nil {
		return nil, place.State{}, err
	}
	on, err := wheelState(ctx, tx, machineID)
	if err != nil {
		return nil, on, err
	}
	return m, on, on.Free(m.Name)
}

// OnWheel reads what is on a machine's wheel. Its pins need not fit the machine
// if that has been changed since they were driven.
func (s *Store) OnWheel(ctx context.Context, machineID int64) (on place.OnWheel, err error) {
	err = s.view(ctx, "reading what is on the wheel", func(tx *sql.Tx) error {
		m, err := machine(ctx, tx, machineID)
		if err != nil {
			return err
		}
		state, err := wheelState(ctx, tx, machineID)
		if err != nil {
			return err
		}
		on, err = onWheel(ctx, tx, m, state)
		return err
	})
	return on, err
}

func onWheel(ctx context.Context, q querier, m *Machine, state place.State) (on place.OnWheel, err error) {
	if !state.Known {
		return on, nil
	}
	on.Known, on.Seq = true, state.Seq
	if on.Base, err = job(ctx, q, state.Base); err != nil {
		return on, err
	}
	if state.Toward != 0 {
		toward, err := job(ctx, q, state.Toward)
		if err != nil {
			return on, err
		}
		on.Toward = &toward
	}
	if state.Working {
		open, err := job(ctx, q, state.Last)
		if err != nil {
			return on, err
		}
		on.UnderWay = &open
	}
	pins, err := wheelPins(ctx, q, m.ID)
	if err != nil {
		return on, err
	}
	since, err := list(ctx, q, "reading what is on the wheel", scanID, `SELECT id FROM wheel_jobs WHERE machine_id = ? AND id > ?`, m.ID, on.Base.ID)
	if err != nil {
		return on, err
	}
	err = on.SetPins(pins, since, m.Name, func(id int64) (*wheel.Pinning, error) {
		if id == on.Base.ID {
			return target(ctx, q, on.Base)
		}
		return target(ctx, q, place.Job{ID: id})
	})
	return on, err
}

func scanID(row scanner) (id int64, err error) {
	err = row.Scan(&id)
	return id, err
}

// wheelPins are the pins on a wheel, without aims.
func wheelPins(ctx context.Context, q querier, machineID int64) ([]wheel.Pin, error) {
	return pins(ctx, q, `SELECT step, channel, NULL FROM wheel_pins WHERE machine_id = ? ORDER BY step, channel`, machineID)
}

// pins reads rows of step, channel, aim.
func pins(ctx context.Context, q querier, query string, args ...any) ([]wheel.Pin, error) {
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
		m, err := machine(ctx, tx, machineID)
		if err != nil {
			return err
		}
		on, err := wheelState(ctx, tx, machineID)
		if err != nil {
			return err
		}
		if err := on.AtRest(m.Name); err != nil {
			return err
		}
		var p *place.KeptPinning
		if pinningID != 0 {
			kept, err := pinning(ctx, tx, pinningID)
			if err != nil {
				return err
			}
			p = &place.KeptPinning{ID: kept.ID, MachineID: kept.MachineID, Title: kept.Title, File: kept.File}
		}
		now := s.nowUS()
		j, said, err := place.Said(m.kept(), on, p, timeOf(now))
		if err != nil {
			return err
		}
		if j, err = addJob(ctx, tx, j, said); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, `DELETE FROM wheel_pins WHERE machine_id = ?`, machineID); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, `INSERT INTO wheel_pins (machine_id, step, channel) SELECT ?, step, channel FROM job_pins WHERE job_id = ?`, machineID, j.ID); err != nil {
			return err
		}
		if err := saveState(ctx, tx, machineID, place.State{Base: j.ID}); err != nil {
			return err
		}
		_, err = addTap(ctx, tx, j, place.KeptTap{Kind: place.TapSaid}, 0, now)
		return err
	})
}
