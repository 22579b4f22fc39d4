package store

import (
	"context"
	"database/sql"
	"iter"

	"pinwright/wheel"
	"pinwright/wheel/place"
)

// Work reads where a job stands. After a job that is not the latest, On is what
// has come of the wheel since.
func (s *Store) Work(ctx context.Context, jobID int64) (w place.Work, err error) {
	err = s.view(ctx, "reading the work on the wheel", func(tx *sql.Tx) error {
		j, err := job(ctx, tx, jobID)
		if err != nil {
			return err
		}
		w, err = readWork(ctx, tx, j)
		return err
	})
	return w, err
}

func readWork(ctx context.Context, q querier, j place.Job) (w place.Work, err error) {
	w.Job = j
	on, err := wheelState(ctx, q, j.MachineID)
	if err != nil {
		return w, err
	}
	w.Seq = on.Seq
	last, err := lastJob(ctx, q, j.MachineID)
	if err != nil {
		return w, err
	}
	w.Latest = last == j.ID
	if w.Target, err = target(ctx, q, j); err != nil {
		return w, err
	}
	if w.On, err = wheelPins(ctx, q, j.MachineID); err != nil {
		return w, err
	}
	return w, readProgress(ctx, q, &w)
}

// readProgress reads what the taps of a job come to.
func readProgress(ctx context.Context, q querier, w *place.Work) (err error) {
	if w.Kind != place.JobProof {
		taps, failed := latestFirst(ctx, q, w.Job)
		last, _ := place.LastDone(taps)
		w.Last, w.LastStep = last.ID, last.Step
		return failed()
	}
	if w.Read, err = stepsOf(ctx, q, `SELECT DISTINCT step FROM wheel_taps WHERE job_id = ? AND kind = 'read' ORDER BY step`, w.ID); err != nil {
		return err
	}
	w.Found, err = foundBy(ctx, q, w.ID)
	return err
}

// latestFirst are the taps of a job from the latest on, read as they are asked
// for. failed is what went wrong, to be asked once they are.
func latestFirst(ctx context.Context, q querier, j place.Job) (taps iter.Seq[place.KeptTap], failed func() error) {
	var err error
	return func(yield func(place.KeptTap) bool) {
		// The plus keeps SQLite from sorting all of the job's taps by another index.
		err = eachTap(ctx, q, yield, `
			SELECT `+tapColumns+` FROM wheel_taps WHERE machine_id = ? AND +job_id = ? ORDER BY seq DESC`, j.MachineID, j.ID)
	}, func() error { return err }
}

// WorkSeq is Seq of [place.Work] alone.
func (s *Store) WorkSeq(ctx context.Context, machineID int64) (int64, error) {
	on, err := wheelState(ctx, s.reader, machineID)
	return on.Seq, failed("reading the work on the wheel", err)
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
	var sum wheel.Sum
	err := eachTap(ctx, q, func(k place.KeptTap) bool {
		sum.Add(k.Changes...)
		return true
	}, `SELECT `+tapColumns+` FROM wheel_taps WHERE job_id = ? AND kind = 'found' ORDER BY seq`, jobID)
	return sum.Changes(), err
}
