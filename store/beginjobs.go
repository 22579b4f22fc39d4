package store

import (
	"context"
	"database/sql"

	"pinwright/wheel"
	"pinwright/wheel/place"
)

// NewChangeover is a changeover as it is begun.
type NewChangeover struct {
	MachineID int64
	Revision  int   // of the machine that it was planned on
	PinningID int64 // that the target was made of
	Seq       int64 // of the wheel that it was planned on, see [place.OnWheel]
	Target    *wheel.Pinning
	Start     int  // step at which the turn of work begins
	Rotate    bool // the target may be turned from its pinning
	Exchange  bool // and its channels exchanged
}

// BeginChangeover begins a changeover of a machine's wheel. Where the machine or
// the wheel has been changed since it was planned, or other work on the wheel is
// under way, it is refused ([wheel.ErrConflict]).
func (s *Store) BeginChangeover(ctx context.Context, n NewChangeover) (j place.Job, err error) {
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
		switch {
		case p.MachineID != m.ID:
			return wheel.Refuse(wheel.ErrConflict, "the pinning %s is of another machine, not of %s", p.Title, m.Name)
		case m.Revision != n.Revision:
			return wheel.Refuse(wheel.ErrConflict, "%s was changed by someone else meanwhile; look at the changeover again and begin it then", m.Name)
		case on.Seq != n.Seq:
			return wheel.Refuse(wheel.ErrConflict, "what is on the wheel of %s has changed meanwhile; look at the changeover again and begin it then", m.Name)
		}
		if err := place.CheckStart(m.File, n.Start); err != nil {
			return err
		}
		if err := fits(n.Target, m.File); err != nil {
			return err
		}
		j, err = s.begin(ctx, tx, on, place.Job{
			MachineID: m.ID, PinningID: p.ID, Kind: place.JobChangeover, Steps: m.File.Wheel.Steps, Start: n.Start, Rotate: n.Rotate, Exchange: n.Exchange,
		}, n.Target)
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
		if err := place.CheckStart(m.File, start); err != nil {
			return err
		}
		on, err := onWheel(ctx, tx, m, state)
		if err != nil {
			return err
		}
		if err := fits(on.File, m.File); err != nil {
			return err
		}
		j, err = s.begin(ctx, tx, state, place.Job{
			MachineID: m.ID, PinningID: on.Base.PinningID, Kind: place.JobProof, Steps: m.File.Wheel.Steps, Start: start,
		}, on.File)
		return err
	})
	return j, err
}

// BeginPutRight begins to put right what a proofreading found, which has to be
// the last work on its wheel.
func (s *Store) BeginPutRight(ctx context.Context, proofID int64) (j place.Job, err error) {
	err = s.change(ctx, "beginning to put right", func(tx *sql.Tx) error {
		proof, err := job(ctx, tx, proofID)
		if err != nil {
			return err
		}
		m, on, err := freeWheel(ctx, tx, proof.MachineID)
		if err != nil {
			return err
		}
		last, err := lastJob(ctx, tx, proof.MachineID)
		if err != nil {
			return err
		}
		right, err := proof.PutRight(last == proof.ID, m.Name)
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
	moves := place.Left(pins, to.Pins)
	j = j.Begin(on, moves, timeOf(s.nowUS()))
	if j, err = addJob(ctx, tx, j, to); err != nil {
		return j, err
	}
	if _, err := addTap(ctx, tx, j, place.KeptTap{Kind: tapBegin}, 0, j.Begun.UnixMicro()); err != nil {
		return j, err
	}
	left := moves
	if j.Kind == place.JobProof {
		left = j.Steps
	}
	return s.settle(ctx, tx, j, left)
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
		_, err = addTap(ctx, tx, j, place.KeptTap{Kind: tapStop}, 0, now)
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
		last, err := lastJob(ctx, tx, j.MachineID)
		if err != nil {
			return err
		}
		if j, err = j.Resume(last == j.ID); err != nil {
			return err
		}
		if err := saveJob(ctx, tx, j); err != nil {
			return err
		}
		_, err = addTap(ctx, tx, j, place.KeptTap{Kind: tapResume}, 0, s.nowUS())
		return err
	})
}
