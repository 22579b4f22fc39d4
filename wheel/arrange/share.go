package arrange

import (
	"math"
	"slices"
)

// share gives notes to those of their channels with which every channel has the
// longest rest at a tempo in beats per minute, above 0. It changes nothing but
// the notes' channels; notes that sound at one step keep to different ones.
//
// A note that follows another on channel c after D steps, or itself after a
// turn, has the slack
//
//	D p − l(c)
//
// over the rest l(c) that mechanics asks for, p the step period. D ≤ hold is
// forbidden at any tempo and worse than all else. All pins of a channel are set
// early by its one advance, so the steps between its pins are those between its
// notes.
//
// The least slack in each set of channels that share notes becomes the largest
// that there is, round the seam as well. The search for it is exact within a
// bound of work; a set of channels that would take more keeps the best found
// till then, which is never worse than what was given. Of the answers with that
// least slack it takes one in which each note goes to the channel that has
// rested longest, so that channels alike play in turn, moves single notes as
// long as the least slack that a move touches grows, and does the same to the
// notes as they were given; the one of the two with fewer small slacks stays.
// The same notes get the same channels every time.
func share(mech Mechanics, notes []placedNote, tempoBPM float64) {
	work, looks := mostShareWork, mostShareLooks
	for _, g := range sharings(mech, notes, mech.Description().Wheel.StepPeriod(tempoBPM)) {
		g.work, g.looks = work/2, looks/2 // so that no set of channels leaves nothing for others
		for i, c := range g.improved() {
			notes[g.notes[i].index].channel = g.channels[c].channel
		}
		work -= work/2 - max(0, g.work)
		looks -= looks/2 - max(0, g.looks)
	}
}

// sharing is channels that share notes, with all their notes. Channels go by
// their place in it.
type sharing struct {
	turn     int32
	periodS  float64
	channels []sharer
	notes    []sharedNote // by aim, from the end of their longest rest
	given    []int32      // the channel that each note was given
	work     int          // that the search may still take, in numbers looked at
	looks    int          // that polish may still take
	search   shareSearch
}

// sharer is a channel that may have notes of others.
type sharer struct {
	channel int32   // index in the machine file
	needS   float64 // l(c) of [share]: the rest that mechanics asks for
	hold    float64 // in steps
	lists   []int   // the lists of choices that it is in: those of twins are the same
}

type sharedNote struct {
	index   int   // among the notes given
	aim     int32 // steps from the first note
	choices []int32
}

// forbiddenS makes any forbidden slack worse than any other: longer than the
// slowest turn of the largest wheel.
const forbiddenS = 1e8

// metS is the slack within which package timing counts a bound as met; smaller
// differences decide nothing.
const metS = 1e-9

// slack is that of a note on a channel d steps after the one before.
func (g *sharing) slack(c, d int32) float64 {
	s := float64(d)*g.periodS - g.channels[c].needS
	if float64(d) <= g.channels[c].hold {
		s -= forbiddenS
	}
	return s
}

// improved is the channel of each note, as share has it.
func (g *sharing) improved() []int32 {
	given := slices.Clone(g.given)
	best, ok := g.widest()
	g.polish(given)
	if !ok {
		return given
	}
	g.polish(best)
	if slices.Compare(g.slacks(best), g.slacks(given)) >= 0 {
		return best
	}
	return given
}

// slacks are those of an assignment, the least first, to the nanosecond.
func (g *sharing) slacks(assigned []int32) []float64 {
	list := make([]float64, 0, len(g.notes))
	for c, ring := range g.rings(assigned) {
		for i, n := range ring {
			list = append(list, math.Round(g.slack(int32(c), g.gap(n, ring[(i+1)%len(ring)]))/metS))
		}
	}
	slices.Sort(list)
	return list
}

// rings are the notes of each channel, in order.
func (g *sharing) rings(assigned []int32) [][]int32 {
	rings := make([][]int32, len(g.channels))
	for i, c := range assigned {
		rings[c] = append(rings[c], int32(i))
	}
	return rings
}

// gap is the steps from one note to the next, a turn from a note to itself.
func (g *sharing) gap(from, to int32) int32 {
	d := g.notes[to].aim - g.notes[from].aim
	if d <= 0 {
		d += g.turn
	}
	return d
}
