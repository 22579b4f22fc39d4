package store

import (
	"context"
	"database/sql"

	"pinwright/wheel"
	"pinwright/wheel/place"
)

// BeginChangeover begins a changeover of a machine's wheel. Where the machine or
// the wheel has been changed since it was planned, or other work on the wheel is
// under way, it is refused ([wheel.ErrConflict]).
func (s *Store) BeginChangeover(ctx context.Context, n place.NewChangeover) (j place.Job, err error) {
	if err := checkPinning(n.Target); err != nil {
		return j, err
	}
	err = s.change(ctx, "beginning the changeover", func(tx *sql.Tx) error {
		m, on, err := freeWheel(ctx, tx, n.MachineID)
		if err != nil {
			return err
		}
		p, err := pinningRow(ctx, tx, n.PinningID)
		if err != nil {
			return err
		}
		change, err := n.Job(m.kept(), on, place.KeptPinning{ID: p.ID, MachineID: p.MachineID, Title: p.Title})
		if err != nil {
			return err
		}
		j, err = s.begin(ctx, tx, on, change, n.Target)
		return err
	})
	return j, err
}

// BeginProof begins to compare a machine's wheel with what is known of it.
func (s *Store) BeginProof(ctx context.Context, machineID int64, start int) (j place.Job, err error) {
	err = s.change(ctx, "beginning the proofreading", func(tx *sql.Tx) error {
		m, state, err := freeWheel(ctx, tx, machineID)
		if err != nil {
			return err
		}
		on, err := onWheel(ctx, tx, m, state)
		if err != nil {
			return err
		}
		proof, err := place.NewProof(m.kept(), on, start)
		if err != nil {
			return err
		}
		j, err = s.begin(ctx, tx, state, proof, on.File)
		return err
	})
	return j, err
}

// BeginPutRight begins to put right what a proofreading found, which has to be
// the last work on its wheel.
func (s *Store) BeginPutRight(ctx context.Context, proofID int64) (j place.Job, err error) {
	err = s.change(ctx, "beginning to mend", func(tx *sql.Tx) error {
		proof, err := job(ctx, tx, proofID)
		if err != nil {
			return err
		}
		m, on, err := freeWheel(ctx, tx, proof.MachineID)
		if err != nil {
			return err
		}
		right, err := proof.PutRight(on.Last == proof.ID, m.Name)
		if err != nil {
			return err
		}
		to, err := target(ctx, tx, proof)
		if err != nil {
			return err
		}
		j, err = s.begin(ctx, tx, on, right, to)
		return err
	})
	return j, err
}

// begin keeps a job. One with nothing to do is done.
func (s *Store) begin(ctx context.Context, tx *sql.Tx, on place.State, j place.Job, to *wheel.Pinning) (place.Job, error) {
	pins, err := wheelPins(ctx, tx, j.MachineID)
	if err != nil {
		return j, err
	}
	j = j.Begin(on, place.Left(pins, to.Pins), timeOf(s.nowUS()))
	if j, err = addJob(ctx, tx, j, to); err != nil {
		return j, err
	}
	if _, err := addTap(ctx, tx, j, place.KeptTap{Kind: place.TapBegin}, 0, j.Begun.UnixMicro()); err != nil {
		return j, err
	}
	w := place.Work{Job: j, Latest: true, Target: to, On: pins}
	return s.settle(ctx, tx, j, w.Left())
}

// StopJob ends a job where it stands, see [place.Job.Stop].
func (s *Store) StopJob(ctx context.Context, id int64) error {
	return s.change(ctx, "stopping the work on the wheel", func(tx *sql.Tx) error {
		j, err := job(ctx, tx, id)
		if err != nil || !j.UnderWay() {
			return err
		}
		w, err := readWork(ctx, tx, j)
		if err != nil {
			return err
		}
		now := s.nowUS()
		if err := saveJob(ctx, tx, j.Stop(w.Left(), timeOf(now))); err != nil {
			return err
		}
		_, err = addTap(ctx, tx, j, place.KeptTap{Kind: place.TapStop}, 0, now)
		return err
	})
}

// ResumeJob goes on with a job that was stopped, see [place.Job.Resume].
func (s *Store) ResumeJob(ctx context.Context, id int64) error {
	return s.change(ctx, "going on with the work on the wheel", func(tx *sql.Tx) error {
		j, err := job(ctx, tx, id)
		if err != nil || j.UnderWay() {
			return err
		}
		on, err := wheelState(ctx, tx, j.MachineID)
		if err != nil {
			return err
		}
		if j, err = j.Resume(on.Last == j.ID); err != nil {
			return err
		}
		if err := saveJob(ctx, tx, j); err != nil {
			return err
		}
		_, err = addTap(ctx, tx, j, place.KeptTap{Kind: place.TapResume}, 0, s.nowUS())
		return err
	})
}
