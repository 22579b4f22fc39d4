package place

import (
	"time"

	"pinwright/wheel"
)

// KeptMachine is a machine as it is kept now.
type KeptMachine struct {
	ID       int64
	Revision int
	File     *wheel.Machine
}

// KeptPinning is a pinning as it is kept now. Its title alone will do where its
// pins are not asked for.
type KeptPinning struct {
	ID        int64
	MachineID int64
	Title     string
	File      *wheel.Pinning
}

// isOf refuses a pinning of another machine.
func (p KeptPinning) isOf(m KeptMachine) error {
	if p.MachineID != m.ID {
		return wheel.Refuse(wheel.ErrConflict, "the pinning %s is of another machine, not of %s", p.Title, m.File.Name)
	}
	return nil
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

// Job is the changeover as a job, with the machine, its wheel and the pinning as
// they are now. It is refused where machine or wheel have changed since it was
// planned ([wheel.ErrConflict]), and where the target does not fit.
func (n NewChangeover) Job(m KeptMachine, on State, p KeptPinning) (Job, error) {
	if err := p.isOf(m); err != nil {
		return Job{}, err
	}
	switch {
	case m.Revision != n.Revision:
		return Job{}, wheel.Refuse(wheel.ErrConflict, "%s was changed by someone else meanwhile; look at the changeover again, then begin it", m.File.Name)
	case on.Seq != n.Seq:
		return Job{}, wheel.Refuse(wheel.ErrConflict, "what is on the wheel of %s has changed meanwhile; look at the changeover again, then begin it", m.File.Name)
	}
	if err := CheckStart(m.File, n.Start); err != nil {
		return Job{}, err
	}
	if err := n.Target.CheckFits(m.File); err != nil {
		return Job{}, err
	}
	return Job{
		MachineID: m.ID, PinningID: p.ID, Kind: JobChangeover, Steps: m.File.Wheel.Steps, Start: n.Start, Rotate: n.Rotate, Exchange: n.Exchange,
	}, nil
}

// NewProof is the job that compares a machine's wheel with what is known of it.
func NewProof(m KeptMachine, on OnWheel, start int) (Job, error) {
	if err := CheckStart(m.File, start); err != nil {
		return Job{}, err
	}
	if err := on.File.CheckFits(m.File); err != nil {
		return Job{}, err
	}
	return Job{MachineID: m.ID, PinningID: on.Base.PinningID, Kind: JobProof, Steps: m.File.Wheel.Steps, Start: start}, nil
}

// Said is the job by which someone says what is on a machine's wheel, and its
// target: a pinning of that machine, or for nil no pins. The job is over as soon
// as it has begun. The wheel has to be at rest, see [State.AtRest].
func Said(m KeptMachine, on State, p *KeptPinning, at time.Time) (Job, *wheel.Pinning, error) {
	j := Job{MachineID: m.ID, Kind: JobSaid, Steps: m.File.Wheel.Steps}.Begin(on, 0, at)
	j.Ended, j.Finished = at, true
	if p == nil {
		return j, &wheel.Pinning{Format: wheel.PinningFormat, Title: NothingOn}, nil
	}
	if err := p.isOf(m); err != nil {
		return Job{}, nil, err
	}
	j.PinningID = p.ID
	return j, p.File, nil
}
