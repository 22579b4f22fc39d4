package place

import (
	"time"

	"pinwright/wheel"
)

// JobKind is what is done to a wheel.
type JobKind string

const (
	JobSaid       JobKind = "said"       // someone said what is on it
	JobChangeover JobKind = "changeover" // from one pinning to another
	JobProof      JobKind = "proof"      // what is on it is read aloud and compared
	JobPutRight   JobKind = "right"      // what a proofreading found is put right
)

// Moves is true where pins are pulled and driven in such a job.
func (k JobKind) Moves() bool { return k == JobChangeover || k == JobPutRight }

// Job is one piece of work on a machine's wheel. It goes towards a target, a
// pinning as it will stand.
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

// State is what is known of a wheel besides its pins.
type State struct {
	Known   bool // false: nobody has said yet what is on it
	Seq     int64
	Last    int64 // the latest job on it; 0: none
	Working bool  // a job is under way; it is always the latest
	// Base is the job whose target the wheel carries or, between two pinnings,
	// last carried as a whole.
	Base int64
	// Toward is the changeover that was begun since; 0: none.
	Toward int64
}

// AtRest refuses a wheel on which work is under way ([wheel.ErrConflict]). name is
// the machine's.
func (s State) AtRest(name string) error {
	if s.Working {
		return wheel.Refuse(wheel.ErrConflict, "work on the wheel of %s is under way; finish it, or stop it, first", name)
	}
	return nil
}

// Free refuses a wheel that is not at rest, or of which nobody has said what is
// on it ([wheel.ErrConflict]).
func (s State) Free(name string) error {
	if err := s.AtRest(name); err != nil {
		return err
	}
	if !s.Known {
		return wheel.Refuse(wheel.ErrConflict, "nobody has said yet what is on the wheel of %s; say that first", name)
	}
	return nil
}

// CheckStart refuses a step that is not on a machine's wheel as the start of a
// turn of work.
func CheckStart(m *wheel.Machine, start int) error {
	if start < 0 || start >= m.Wheel.Steps {
		return wheel.Refuse(wheel.ErrInvalid, "the start is step %d; the wheel of %s has steps 0 to %d", start, m.Name, m.Wheel.Steps-1)
	}
	return nil
}

// PutRight is the job that puts right what a proofreading found. The
// proofreading has to be the latest work on its wheel.
func (j Job) PutRight(latest bool, name string) (Job, error) {
	if j.Kind != JobProof || !latest {
		return Job{}, wheel.Refuse(wheel.ErrConflict, "other work was done on the wheel of %s since; proofread it again", name)
	}
	return Job{MachineID: j.MachineID, PinningID: j.PinningID, Kind: JobPutRight, Steps: j.Steps, Start: j.Start}, nil
}

// Begin is the job as it begins on a wheel from which so many pulls and drives
// are left to its target.
func (j Job) Begin(on State, left int, at time.Time) Job {
	j.Begun, j.BeforeID, j.Moves = at, on.Base, left
	return j
}

// Settle is what becomes of the latest job on a wheel, and what the wheel then
// carries, once it is known how much is left of it: pulls and drives of a
// changeover, steps not read of a proofreading.
//
// A changeover, or what a proofreading asks for, ends when nothing is left, and
// is open again when something is. A proofreading ends when someone says so; it
// is finished if every step was read, even where the last reading came later.
// A wheel carries the target of a changeover once that is finished.
func (j Job) Settle(on State, left int, at time.Time) (Job, State) {
	switch {
	case j.Kind == JobProof:
		j.Finished = left == 0 && !j.UnderWay()
	case !j.Kind.Moves():
	case left == 0 && !j.Finished:
		j.Ended, j.Finished = at, true
	case left > 0 && j.Finished:
		j.Ended, j.Finished = time.Time{}, false
	}
	if j.Kind == JobChangeover {
		on.Base, on.Toward = j.BeforeID, j.ID
		if j.Finished {
			on.Base, on.Toward = j.ID, 0
		}
	}
	return j, on
}

// Stop ends a job where it stands, with so much left as in [Job.Settle]. One that
// has ended stays as it is.
func (j Job) Stop(left int, at time.Time) Job {
	if j.UnderWay() {
		j.Ended, j.Finished = at, j.Kind == JobProof && left == 0
	}
	return j
}

// Resume goes on with a job that was stopped. It is refused where the job is
// finished, or is not the latest on its wheel ([wheel.ErrConflict]). One that is
// under way stays as it is.
func (j Job) Resume(latest bool) (Job, error) {
	if j.UnderWay() {
		return j, nil
	}
	if j.Resumption(latest) != Resumed {
		return j, wheel.Refuse(wheel.ErrConflict, "this work cannot be resumed: it is finished, or other work was done on the wheel since")
	}
	j.Ended = time.Time{}
	return j, nil
}
