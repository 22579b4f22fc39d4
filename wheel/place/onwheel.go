package place

import (
	"slices"

	"pinwright/wheel"
)

// NothingOn is the title of a wheel without pins.
const NothingOn = "Bare wheel"

// OnWheel is what is known of the pins that are on a machine's wheel.
type OnWheel struct {
	Known bool  // false: nobody has said yet, and the rest is empty
	Seq   int64 // of the last tap at the wheel
	// Base is the job whose target the wheel carries or, between two pinnings,
	// last carried as a whole.
	Base Job
	// Toward is the changeover that was begun since, or nil.
	Toward *Job
	// UnderWay is the job that has not ended, or nil.
	UnderWay *Job
	// File is the pins that are on the wheel under the head of Base, each with
	// its aim, see [Aimed].
	File *wheel.Pinning

	Pulled int // pins of Base's target that are gone
	Driven int // pins that it does not have
	Left   int // pulls and drives that are left to the target of Toward
}

// Aims gives the pins on a wheel, which carries the target of a job or did so as
// a whole last, their aims: that of the job's own target or, where that has no
// pin there, of the latest target since that has. A pin of no target aims at its
// own step + the advance of its channel.
type Aims struct {
	pins    []wheel.Pin // by step and channel
	lacking int
}

// NewAims takes the pins on the wheel; they may have no aims.
func NewAims(on []wheel.Pin) *Aims {
	a := &Aims{pins: slices.Clone(sorted(on)), lacking: len(on)}
	for i := range a.pins {
		a.pins[i].Aim = wheel.Aim{}
	}
	return a
}

// Lacking is how many pins have no aim yet. At 0 no other target needs to be
// read.
func (a *Aims) Lacking() int { return a.lacking }

// Take gives pins that have none the aims of a target: the job's own first, then
// those since, the latest first.
func (a *Aims) Take(target *wheel.Pinning) {
	pins := sorted(target.Pins)
	for i := range a.pins {
		pin := &a.pins[i]
		for len(pins) > 0 && byStep(pins[0], *pin) < 0 {
			pins = pins[1:]
		}
		if len(pins) > 0 && byStep(pins[0], *pin) == 0 && !pin.Aim.Given {
			pin.Aim = wheel.AimAt(target.AimOf(pins[0]))
			a.lacking--
		}
	}
}

// Pinning is the pins under a head, each with its aim.
func (a *Aims) Pinning(head wheel.Head, machine string) *wheel.Pinning {
	p := &wheel.Pinning{Format: wheel.PinningFormat, Machine: machine, Pins: a.pins}
	p.SetHead(head)
	for i, pin := range p.Pins {
		p.Pins[i].Aim = wheel.AimAt(p.AimOf(pin))
	}
	return p
}

// SetPins sets the pins that are on the wheel, with their aims, and how far they
// are from what the wheel carried and is being changed to. Base and Toward have
// to be set. since are the jobs after Base; target reads what a job goes towards,
// and is asked no more than must be.
func (on *OnWheel) SetPins(pins []wheel.Pin, since []int64, machine string, target func(job int64) (*wheel.Pinning, error)) error {
	aims := NewAims(pins)
	base, err := target(on.Base.ID)
	if err != nil {
		return err
	}
	aims.Take(base)
	pulls, drives := Apart(base.Pins, pins)
	on.Pulled, on.Driven = len(pulls), len(drives)
	for _, id := range slices.Backward(slices.Sorted(slices.Values(since))) {
		toward := on.Toward != nil && on.Toward.ID == id
		if aims.Lacking() == 0 && !toward {
			continue
		}
		to, err := target(id)
		if err != nil {
			return err
		}
		aims.Take(to)
		if toward {
			on.Left = Left(pins, to.Pins)
		}
	}
	on.File = aims.Pinning(on.Base.Head, machine)
	return nil
}

// Toward is the changeover on which a wheel stood after some jobs on it: the
// latest that was not finished.
func Toward(jobs []Job) (j Job, ok bool) {
	for _, other := range jobs {
		if other.Kind == JobChangeover && !other.Finished && other.ID > j.ID {
			j, ok = other, true
		}
	}
	return j, ok
}

// Next is the pinning that a wheel is likely to be changed to, of those of its
// machine: the one that it was being changed to, or else the first that it does
// not carry; 0 where there is none.
func (on OnWheel) Next(pinnings []int64) int64 {
	if on.Toward != nil && on.Toward.PinningID != 0 {
		return on.Toward.PinningID
	}
	for _, id := range pinnings {
		if id != on.Base.PinningID {
			return id
		}
	}
	return 0
}
