package place

import (
	"slices"

	"pinwright/wheel"
)

// Work is a job and where it stands. What remains is always the difference
// between what is on the wheel and the target, never a count that is kept.
type Work struct {
	Job
	Seq    int64          // of the last tap at the wheel
	Latest bool           // no other work on the wheel was begun since
	Target *wheel.Pinning // what the job goes towards, with every aim given
	On     []wheel.Pin    // the pins on the wheel now, by step and channel, without aims
	// Last is the id of the last tap that said a step is done and was not taken
	// back, empty where there is none, and LastStep its step.
	Last     string
	LastStep int
	Read     []int             // steps that a proofreading has read
	Found    []wheel.PinChange // what it has found other than it should be: from the target to what is there
}

// Left is how much is left to do: steps that a proofreading has not read, pulls
// and drives of any other work.
func (w *Work) Left() int {
	if w.Kind == JobProof {
		return w.Steps - len(w.Read)
	}
	return Left(w.On, w.Target.Pins)
}

// StopLeft is what is left to do at a step.
type StopLeft struct {
	Stop
	Stay []string // channels whose pins stay there
}

// StopsLeft lists what is left of a changeover, or of what a proofreading asked
// for, as the wheel turns from its start. The error says what of it the machine
// as it is now has no holes for. Nothing is left to do of work that is not the
// latest on its wheel.
func (w *Work) StopsLeft(m *wheel.Machine) ([]StopLeft, error) {
	if !w.Latest || !w.Kind.Moves() {
		return nil, nil
	}
	on := &wheel.Pinning{Format: wheel.PinningFormat, Title: "on the wheel", Pins: w.On}
	if err := Fits(m, on, "the pinning on the wheel:"); err != nil {
		return nil, err
	}
	if err := Fits(m, w.Target, "the new pinning:"); err != nil {
		return nil, err
	}
	pins := sorted(w.On)
	moves := stops(Moves(m, w.On, w.Target.Pins, min(w.Start, m.Wheel.Steps-1)))
	left := make([]StopLeft, len(moves))
	for i, stop := range moves {
		left[i].Stop = stop
		for _, pin := range atStep(pins, stop.Step) {
			if !slices.ContainsFunc(stop.Moves, func(move Move) bool { return move.Channel == pin.Channel }) {
				left[i].Stay = append(left[i].Stay, pin.Channel)
			}
		}
	}
	return left, nil
}

// Misfit says which pins of the work the machine as it is now has no holes for,
// a line each: of the target first, then of those on the wheel.
func (w *Work) Misfit(m *wheel.Machine) []string {
	return append(Misfit(m, w.Target), Misfit(m, &wheel.Pinning{Pins: w.On})...)
}

// Misfit says which pins a machine has no holes for, a line each.
func Misfit(m *wheel.Machine, p *wheel.Pinning) []string {
	var lines []string
	for _, problem := range (&wheel.Pinning{Pins: p.Pins, Advance: p.Advance}).CheckOn(m) {
		lines = append(lines, problem.String())
	}
	return lines
}
