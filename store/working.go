package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"

	"pinwright/wheel"
)

// Working is a job and where it stands.
type Working struct {
	Job
	Seq    int64          // of the last tap at the wheel
	Latest bool           // no other work on the wheel was begun since
	Target *wheel.Pinning // what the job goes towards
	On     []wheel.Pin    // the pins on the wheel now, as it turns, without aims
	// Last is the id of the last tap that said a step is done and was not taken
	// back, empty where there is none, and LastStep its step.
	Last     string
	LastStep int
	Read     []int             // steps that a proofreading has read
	Found    []wheel.PinChange // what it has found other than it should be: from the target to what is there
}

// Working reads where a job stands. After a job that is not the latest, On is
// what has come of the wheel since.
func (s *Store) Working(ctx context.Context, jobID int64) (w Working, err error) {
	err = s.view(ctx, "reading the work on the wheel", func(tx *sql.Tx) error {
		if w.Job, err = job(ctx, tx, jobID); err != nil {
			return err
		}
		is, err := readWheel(ctx, tx, w.MachineID)
		if err != nil {
			return err
		}
		w.Seq = is.seq
		last, err := lastJob(ctx, tx, w.MachineID)
		if err != nil {
			return err
		}
		w.Latest = last == w.ID
		if w.Target, err = target(ctx, tx, w.Job); err != nil {
			return err
		}
		if w.On, err = aimedPins(ctx, tx, `SELECT step, channel, NULL FROM wheel_pins WHERE machine_id = ? ORDER BY step, channel`, w.MachineID); err != nil {
			return err
		}
		err = tx.QueryRowContext(ctx, `
			SELECT tap_id, step FROM wheel_taps AS t WHERE job_id = ? AND kind = 'done' AND changes <> '[]' AND NOT EXISTS
				(SELECT 1 FROM wheel_taps AS b WHERE b.job_id = t.job_id AND b.kind = 'back' AND b.of_tap = t.tap_id)
			ORDER BY seq DESC LIMIT 1`, w.ID).Scan(&w.Last, &w.LastStep)
		if err != nil && !errors.Is(err, sql.ErrNoRows) {
			return err
		}
		if w.Kind != Proof {
			return nil
		}
		if w.Read, err = readSteps(ctx, tx, w.ID); err != nil {
			return err
		}
		w.Found, err = foundBy(ctx, tx, w.ID)
		return err
	})
	return w, err
}

// WorkingSeq is [Working.Seq] alone.
func (s *Store) WorkingSeq(ctx context.Context, machineID int64) (int64, error) {
	w, err := readWheel(ctx, s.reader, machineID)
	return w.seq, failed("reading the work on the wheel", err)
}

// Touched are the steps of the taps at a machine's wheel after one and up to
// another, each once. ok is false where work was begun, stopped or resumed
// between them, or other pins were said to be there: then any step may have
// changed.
func (s *Store) Touched(ctx context.Context, machineID, after, upTo int64) (steps []int, ok bool, err error) {
	err = s.view(ctx, "reading the work on the wheel", func(tx *sql.Tx) error {
		var other bool
		err := tx.QueryRowContext(ctx, `
			SELECT EXISTS (SELECT 1 FROM wheel_taps WHERE machine_id = ? AND seq > ? AND seq <= ?
			AND kind IN ('said', 'begin', 'stop', 'resume'))`, machineID, after, upTo).Scan(&other)
		if ok = !other; err != nil || other {
			return err
		}
		steps, err = stepsOf(ctx, tx, `
			SELECT DISTINCT step FROM wheel_taps WHERE machine_id = ? AND seq > ? AND seq <= ? ORDER BY step`, machineID, after, upTo)
		return err
	})
	return steps, ok, err
}

func readSteps(ctx context.Context, q querier, jobID int64) (steps []int, err error) {
	return stepsOf(ctx, q, `SELECT DISTINCT step FROM wheel_taps WHERE job_id = ? AND kind = 'read' ORDER BY step`, jobID)
}

func stepsOf(ctx context.Context, q querier, query string, args ...any) (steps []int, err error) {
	rows, err := q.QueryContext(ctx, query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	for rows.Next() {
		var step int
		if err := rows.Scan(&step); err != nil {
			return nil, err
		}
		steps = append(steps, step)
	}
	return steps, rows.Err()
}

// foundBy is what the taps of a proofreading come to.
func foundBy(ctx context.Context, q querier, jobID int64) ([]wheel.PinChange, error) {
	rows, err := q.QueryContext(ctx, `SELECT changes FROM wheel_taps WHERE job_id = ? AND kind = 'found' ORDER BY seq`, jobID)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var sum wheel.Sum
	for rows.Next() {
		var text []byte
		if err := rows.Scan(&text); err != nil {
			return nil, err
		}
		var changes []wheel.PinChange
		if err := json.Unmarshal(text, &changes); err != nil {
			return nil, wheel.RefuseFor(wheel.ErrDamaged, err, "a tap cannot be read (%s); the database is damaged: go back to a copy of it", err)
		}
		sum.Add(changes...)
	}
	return sum.Changes(), rows.Err()
}
