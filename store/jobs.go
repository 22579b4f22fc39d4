package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"time"

	"pinwright/wheel"
)

// JobKind is what is done to a wheel.
type JobKind string

const (
	Said       JobKind = "said"       // someone said what is on it
	Changeover JobKind = "changeover" // from one pinning to another
	Proof      JobKind = "proof"      // what is on it is read aloud and compared
	PutRight   JobKind = "right"      // what a proofreading found is put right
)

// Job is one piece of work on a machine's wheel. It goes towards a target, see
// [Store.JobTarget].
type Job struct {
	ID        int64
	MachineID int64
	PinningID int64 // that the target was made of; 0: of none, or that one was removed
	Kind      JobKind
	Head      wheel.Head // of the target
	Steps     int        // of the wheel when it began
	Start     int        // step at which it begins
	Rotate    bool       // the target may be turned from its pinning
	Exchange  bool       // and its channels exchanged
	Moves     int        // pulls and drives that were to be done when it began
	Begun     time.Time
	Ended     time.Time // zero while it is under way
	Finished  bool      // false where it was stopped before it was done
	BeforeID  int64     // the job whose target the wheel carried before; 0: none
}

// UnderWay tells whether the job has not ended.
func (j Job) UnderWay() bool { return j.Ended.IsZero() }

const jobColumns = `id, machine_id, coalesce(pinning_id, 0), kind, head, steps, start_step, rotate, exchange, moves,
	begun_us, coalesce(ended_us, 0), finished, coalesce(before_id, 0)`

func scanJob(row scanner) (Job, error) {
	var j Job
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
		return j, wheel.RefuseFor(wheel.ErrDamaged, err, "what is kept of work on the wheel cannot be read (%s); the database is damaged: go back to a copy of it", err)
	}
	return j, nil
}

func job(ctx context.Context, q querier, id int64) (Job, error) {
	j, err := scanJob(q.QueryRowContext(ctx, `SELECT `+jobColumns+` FROM wheel_jobs WHERE id = ?`, id))
	if errors.Is(err, sql.ErrNoRows) {
		return j, wheel.Refuse(wheel.ErrNotFound, "there is no such work on a wheel; its machine may have been removed")
	}
	return j, err
}

// Jobs lists what was done to a machine's wheel, the latest first, at most
// limit of them.
func (s *Store) Jobs(ctx context.Context, machineID int64, limit int) ([]Job, error) {
	return list(ctx, s.reader, "listing the work on the wheel", func(row scanner) (Job, error) { return scanJob(row) },
		`SELECT `+jobColumns+` FROM wheel_jobs WHERE machine_id = ? ORDER BY id DESC LIMIT ?`, machineID, between(0, limit, maxEdits))
}

// Toward is the changeover on which a wheel stood when a job began: the latest
// since the wheel carried something as a whole that was not finished. ok is false
// where there is none.
func (s *Store) Toward(ctx context.Context, of Job) (j Job, ok bool, err error) {
	j, err = scanJob(s.reader.QueryRowContext(ctx, `
		SELECT `+jobColumns+` FROM wheel_jobs
		WHERE machine_id = ? AND id > ? AND id < ? AND kind = ? AND NOT finished ORDER BY id DESC LIMIT 1`,
		of.MachineID, of.BeforeID, of.ID, Changeover))
	if errors.Is(err, sql.ErrNoRows) {
		return Job{}, false, nil
	}
	return j, err == nil, failed("reading the work on the wheel", err)
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

func target(ctx context.Context, q querier, j Job) (*wheel.Pinning, error) {
	p := &wheel.Pinning{Format: wheel.PinningFormat}
	p.SetHead(j.Head)
	var err error
	p.Pins, err = aimedPins(ctx, q, `SELECT step, channel, aim FROM job_pins WHERE job_id = ? ORDER BY step, channel`, j.ID)
	return p, err
}

// addJob keeps a job and its target.
func (s *Store) addJob(ctx context.Context, tx *sql.Tx, j Job, target *wheel.Pinning) (Job, error) {
	head, err := json.Marshal(target.Head())
	if err != nil {
		return j, err
	}
	var ended any
	if j.Finished {
		ended = j.Ended.UnixMicro()
	}
	err = tx.QueryRowContext(ctx, `
		INSERT INTO wheel_jobs (machine_id, kind, pinning_id, head, steps, start_step, rotate, exchange, moves, before_id, begun_us, ended_us, finished)
		VALUES (?, ?, nullif(?, 0), ?, ?, ?, ?, ?, ?, nullif(?, 0), ?, ?, ?) RETURNING id`,
		j.MachineID, j.Kind, j.PinningID, string(head), j.Steps, j.Start, j.Rotate, j.Exchange, j.Moves, j.BeforeID, j.Begun.UnixMicro(), ended, j.Finished).Scan(&j.ID)
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

// NewChangeover is a changeover as it is begun.
type NewChangeover struct {
	MachineID int64
	Revision  int   // of the machine that it was planned on
	PinningID int64 // that the target was made of
	Seq       int64 // of the wheel that it was planned on, see [OnWheel]
	Target    *wheel.Pinning
	Start     int  // step at which the turn of work begins
	Rotate    bool // the target may be turned from its pinning
	Exchange  bool // and its channels exchanged
}

// BeginChangeover begins a changeover of a machine's wheel. Where the machine or
// the wheel has been changed since it was planned, or other work on the wheel is
// under way, it is refused ([wheel.ErrConflict]).
func (s *Store) BeginChangeover(ctx context.Context, n NewChangeover) (j Job, err error) {
	if err := checkPinning(n.Target); err != nil {
		return j, err
	}
	err = s.change(ctx, "beginning the changeover", func(tx *sql.Tx) error {
		m, w, err := s.freeWheel(ctx, tx, n.MachineID)
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
			return wheel.Refuse(wheel.ErrConflict, "%s was changed by someone else meanwhile; look at the changeover anew and begin it then", m.Name)
		case w.seq != n.Seq:
			return wheel.Refuse(wheel.ErrConflict, "what is on the wheel of %s has changed meanwhile; look at the changeover anew and begin it then", m.Name)
		case n.Start < 0 || n.Start >= m.File.Wheel.Steps:
			return wheel.Refuse(wheel.ErrInvalid, "the start is step %d; the wheel of %s has steps 0 to %d", n.Start, m.Name, m.File.Wheel.Steps-1)
		}
		if err := fits(n.Target, m.File); err != nil {
			return err
		}
		j, err = s.begin(ctx, tx, w, Job{
			MachineID: m.ID, PinningID: p.ID, Kind: Changeover, Steps: m.File.Wheel.Steps, Start: n.Start, Rotate: n.Rotate, Exchange: n.Exchange,
		}, n.Target)
		return err
	})
	return j, err
}

// BeginProof begins to compare a machine's wheel with what is known of it.
func (s *Store) BeginProof(ctx context.Context, machineID int64, start int) (j Job, err error) {
	err = s.change(ctx, "beginning the proofreading", func(tx *sql.Tx) error {
		m, w, err := s.freeWheel(ctx, tx, machineID)
		if err != nil {
			return err
		}
		if start < 0 || start >= m.File.Wheel.Steps {
			return wheel.Refuse(wheel.ErrInvalid, "the start is step %d; the wheel of %s has steps 0 to %d", start, m.Name, m.File.Wheel.Steps-1)
		}
		on, err := onWheel(ctx, tx, m, w)
		if err != nil {
			return err
		}
		if err := fits(on.File, m.File); err != nil {
			return err
		}
		j, err = s.begin(ctx, tx, w, Job{
			MachineID: m.ID, PinningID: on.Base.PinningID, Kind: Proof, Steps: m.File.Wheel.Steps, Start: start,
		}, on.File)
		return err
	})
	return j, err
}

// BeginPutRight begins to put right what a proofreading found, which has to be
// the last work on its wheel.
func (s *Store) BeginPutRight(ctx context.Context, proofID int64) (j Job, err error) {
	err = s.change(ctx, "beginning to put right", func(tx *sql.Tx) error {
		proof, err := job(ctx, tx, proofID)
		if err != nil {
			return err
		}
		m, w, err := s.freeWheel(ctx, tx, proof.MachineID)
		if err != nil {
			return err
		}
		last, err := lastJob(ctx, tx, proof.MachineID)
		if err != nil {
			return err
		}
		if proof.Kind != Proof || last != proof.ID {
			return wheel.Refuse(wheel.ErrConflict, "other work was done on the wheel of %s since; proofread it anew", m.Name)
		}
		to, err := target(ctx, tx, proof)
		if err != nil {
			return err
		}
		j, err = s.begin(ctx, tx, w, Job{
			MachineID: m.ID, PinningID: proof.PinningID, Kind: PutRight, Steps: proof.Steps, Start: proof.Start,
		}, to)
		return err
	})
	return j, err
}

// begin keeps a job. One with nothing to do is done.
func (s *Store) begin(ctx context.Context, tx *sql.Tx, w wheelRow, j Job, to *wheel.Pinning) (Job, error) {
	j.Begun, j.BeforeID = timeOf(s.nowUS()), w.base
	j, err := s.addJob(ctx, tx, j, to)
	if err != nil {
		return j, err
	}
	if j.Moves, err = left(ctx, tx, j); err != nil {
		return j, err
	}
	if _, err := tx.ExecContext(ctx, `UPDATE wheel_jobs SET moves = ? WHERE id = ?`, j.Moves, j.ID); err != nil {
		return j, err
	}
	if j.Kind == Changeover {
		if _, err := tx.ExecContext(ctx, `UPDATE wheels SET toward_id = ? WHERE machine_id = ?`, j.ID, j.MachineID); err != nil {
			return j, err
		}
	}
	if err := addTap(ctx, tx, j, keptTap{kind: tapBegin, at: j.Begun.UnixMicro()}); err != nil {
		return j, err
	}
	if err := s.settle(ctx, tx, j); err != nil {
		return j, err
	}
	return job(ctx, tx, j.ID)
}

// StopJob ends a job where it stands. One that has ended stays as it is. A
// proofreading of which every step was read is finished.
func (s *Store) StopJob(ctx context.Context, id int64) error {
	return s.change(ctx, "stopping the work on the wheel", func(tx *sql.Tx) error {
		j, err := job(ctx, tx, id)
		if err != nil || !j.UnderWay() {
			return err
		}
		finished := false
		if j.Kind == Proof {
			read, err := readSteps(ctx, tx, j.ID)
			if err != nil {
				return err
			}
			finished = len(read) == j.Steps
		}
		now := s.nowUS()
		if _, err := tx.ExecContext(ctx, `UPDATE wheel_jobs SET ended_us = ?, finished = ? WHERE id = ?`, now, finished, id); err != nil {
			return err
		}
		return addTap(ctx, tx, j, keptTap{kind: tapStop, at: now})
	})
}

// ResumeJob goes on with a job that was stopped, unless other work on its wheel
// was begun since ([wheel.ErrConflict]).
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
		if last != j.ID || j.Finished {
			return wheel.Refuse(wheel.ErrConflict, "there is nothing to go on with: it is finished, or other work was done on the wheel since")
		}
		if _, err := tx.ExecContext(ctx, `UPDATE wheel_jobs SET ended_us = NULL WHERE id = ?`, id); err != nil {
			return err
		}
		return addTap(ctx, tx, j, keptTap{kind: tapResume, at: s.nowUS()})
	})
}

func lastJob(ctx context.Context, q querier, machineID int64) (id int64, err error) {
	err = q.QueryRowContext(ctx, `SELECT coalesce(max(id), 0) FROM wheel_jobs WHERE machine_id = ?`, machineID).Scan(&id)
	return id, err
}

// settle ends a job of which nothing is left to do, and opens one again of
// which something is. What the wheel carries follows.
func (s *Store) settle(ctx context.Context, tx *sql.Tx, j Job) error {
	if j.Kind == Proof && !j.UnderWay() && !j.Finished {
		// The last readings came after it was stopped.
		read, err := readSteps(ctx, tx, j.ID)
		if err != nil || len(read) < j.Steps {
			return err
		}
		_, err = tx.ExecContext(ctx, `UPDATE wheel_jobs SET finished = 1 WHERE id = ?`, j.ID)
		return err
	}
	if j.Kind != Changeover && j.Kind != PutRight {
		return nil
	}
	n, err := left(ctx, tx, j)
	if err != nil || (n == 0) == j.Finished {
		return err
	}
	base, toward := j.ID, int64(0)
	if n == 0 {
		_, err = tx.ExecContext(ctx, `UPDATE wheel_jobs SET ended_us = ?, finished = 1 WHERE id = ?`, s.nowUS(), j.ID)
	} else {
		base, toward = j.BeforeID, j.ID
		_, err = tx.ExecContext(ctx, `UPDATE wheel_jobs SET ended_us = NULL, finished = 0 WHERE id = ?`, j.ID)
	}
	if err != nil || j.Kind != Changeover {
		return err
	}
	_, err = tx.ExecContext(ctx, `UPDATE wheels SET base_id = ?, toward_id = nullif(?, 0) WHERE machine_id = ?`, base, toward, j.MachineID)
	return err
}

// apart are the holes in which a job's target and the wheel are not the same:
// drive is true where the target has a pin.
const apart = `
	SELECT step, channel, 1 AS drive FROM job_pins AS t WHERE job_id = ?1 AND NOT EXISTS
		(SELECT 1 FROM wheel_pins WHERE machine_id = ?2 AND step = t.step AND channel = t.channel)
	UNION ALL
	SELECT step, channel, 0 FROM wheel_pins AS w WHERE machine_id = ?2 AND NOT EXISTS
		(SELECT 1 FROM job_pins WHERE job_id = ?1 AND step = w.step AND channel = w.channel)`

// left is how many pulls and drives are left of a job.
func left(ctx context.Context, q querier, j Job) (n int, err error) {
	err = q.QueryRowContext(ctx, `SELECT count(*) FROM (`+apart+`)`, j.ID, j.MachineID).Scan(&n)
	return n, err
}
