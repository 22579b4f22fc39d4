package store

import (
	"context"
	"database/sql"

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
	w.Latest = on.Last == j.ID
	if w.Target, err = target(ctx, q, j); err != nil {
		return w, err
	}
	if w.On, err = wheelPins(ctx, q, j.MachineID); err != nil {
		return w, err
	}
	return w, w.SetProgress(ctx, tapLog{q, j})
}

// WorkSeq is Seq of [place.Work] alone.
func (s *Store) WorkSeq(ctx context.Context, machineID int64) (int64, error) {
	on, err := wheelState(ctx, s.reader, machineID)
	return on.Seq, failed("reading the work on the wheel", err)
}

// Touched are the steps at which something may have changed with the taps at a
// machine's wheel after one and up to another, see [place.Touched].
func (s *Store) Touched(ctx context.Context, machineID, after, upTo int64) (steps []int, ok bool, err error) {
	taps, wrong := each(ctx, s.reader, func(row scanner) (t place.StepTap, err error) {
		err = row.Scan(&t.Kind, &t.Step)
		return t, err
	}, `SELECT kind, step FROM wheel_taps WHERE machine_id = ? AND seq > ? AND seq <= ? ORDER BY seq`, machineID, after, upTo)
	steps, ok = place.Touched(taps)
	return steps, ok, failed("reading the work on the wheel", wrong())
}
