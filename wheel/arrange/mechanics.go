package arrange

import (
	"iter"

	"pinwright/wheel"
)

// Lags is what a machine's mechanics say so that its channels can be set early:
// the strike of a pin at step s is at p (s + steps) + seconds, p the step period.
// Channels are indices in the machine's file.
type Lags interface {
	Description() *wheel.Machine
	Lag(channel int) (steps, seconds float64)
}

// Mechanics is what setting a song asks of a machine's mechanics. What is asked
// once for a tempo comes as a table, so that no note asks again.
type Mechanics interface {
	Lags

	// Rest is the least time in seconds between two pins of a channel that
	// follow each other, at a step period in seconds. Met exactly it is safe.
	Rest(channel int, periodS float64) (seconds float64)

	// Hold is in steps: pins of the channel no farther apart are forbidden at
	// any tempo.
	Hold(channel int) (steps float64)

	// HowFast is up to which tempos a pinning can be played, in beats per minute:
	// to be trusted, with spread and doubt counted (keep below), and if every
	// figure were exact (the bare limit), which is never lower. Each is nil where
	// there is none: both where the machine's lowest tempo breaks a rule and where
	// a figure is unknown.
	HowFast(p *wheel.Pinning) (keepBPM, bareBPM *float64)

	// Unmeasured says which figures have to be measured before any tempo of a
	// pinning can be called safe; empty where none is unknown.
	Unmeasured(p *wheel.Pinning) string

	// Slowest is the slowest tempo of a pinning's window for visitors, in beats
	// per minute, where a house keeps a margin, 0 … 1; nil where none is open.
	Slowest(p *wheel.Pinning, margin float64) *float64

	// EasingTempo is the tempo that a pinning has to be safe to so that its bare
	// limit is at least bpm: bpm, brought inside the machine's range.
	EasingTempo(bpm float64) float64

	// LeastGaps is, for each of the channels, the fewest steps between two of
	// its pins that are safe at every tempo up to one, and with them all that
	// are more: N, the steps of the wheel, where only a lone pin is safe, N + 1
	// where none is. The tempo may be above the machine's highest, here and below.
	LeastGaps(channels []int, toBPM float64) []int

	// Forbidden calls forbid with each range of steps, both ends in it, by which
	// a pin of the other channel may not come later than one of a channel
	// (earlier where negative), as their marbles would meet in a lane at some
	// tempo up to one. Ranges are not brought to the turn.
	Forbidden(channel, other int, toBPM float64, forbid func(lane, from, to int))
}

// counted is mechanics whose machine is counted in the bars of a song.
type counted struct {
	Mechanics
	machine *wheel.Machine
}

func (c counted) Description() *wheel.Machine { return c.machine }

// Spreads is what mechanics say of how well the strikes of a pinning hold
// together.
type Spreads interface {
	Lags

	// Spreads is how far the strikes of a pinning are spread at a tempo in beats
	// per minute, from the earliest error to the latest, in seconds: those of
	// all pins and those of the widest chord.
	Spreads(p *wheel.Pinning, tempoBPM float64) (allS, chordS float64, err error)
}

// Strikes is what mechanics say of how a pinning sounds: the channel and the
// time of each strike of a turn at a tempo in beats per minute, in seconds from
// where step 0 passes, in order of time.
type Strikes interface {
	Description() *wheel.Machine
	Written(p *wheel.Pinning, tempoBPM float64) (iter.Seq2[int, float64], error)
	Played(p *wheel.Pinning, tempoBPM float64) (iter.Seq2[int, float64], error) // without the strikes that are missed
}
