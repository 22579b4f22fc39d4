package arrange

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"pinwright/wheel/internal/disjoint"
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
// forbidden at any tempo and worse than all else. All pins of a channel are set early by its one
// advance, so the steps between its pins are those between its notes.
//
// The least slack in each set of channels that share notes becomes the largest
// that there is, round the seam as well. The search for it is exact within a
// bound of work; a tangle of channels that would take more keeps the best found
// till then, which is never worse than what was given. Of the answers with that
// least slack it takes one in which each note goes to the channel that has
// rested longest, so that channels alike play in turn, moves single notes as
// long as the least slack that a move touches grows, and does the same to the
// notes as they were given; the one of the two with fewer small slacks stays.
// The same notes get the same channels every time.
func share(mech Mechanics, notes []placedNote, tempoBPM float64) {
	work, looks := mostShareWork, mostShareLooks
	for _, g := range sharings(mech, notes, mech.Description().Wheel.StepPeriod(tempoBPM)) {
		g.work, g.looks = work/2, looks/2 // so that no tangle leaves nothing for others
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

// mostSweeps bounds how often polish goes through the notes, and mostShareLooks
// at how many moves it looks, over all notes.
const (
	mostSweeps     = 8
	mostShareLooks = 1 << 22
)

// polish moves single notes to others of their channels where the least of the
// slacks that the move touches grows thereby.
func (g *sharing) polish(assigned []int32) {
	rings := g.rings(assigned)
	for range mostSweeps {
		moved := false
		for i := range g.notes {
			n := int32(i)
			for _, c := range g.notes[i].choices {
				if g.looks--; g.looks < 0 {
					return
				}
				if c != assigned[i] && g.gains(rings, n, assigned[i], c) {
					from := &rings[assigned[i]]
					at, _ := slices.BinarySearch(*from, n)
					*from = slices.Delete(*from, at, at+1)
					at, _ = slices.BinarySearch(rings[c], n)
					rings[c] = slices.Insert(rings[c], at, n)
					assigned[i], moved = c, true
				}
			}
		}
		if !moved {
			return
		}
	}
}

// gains reports whether note n may move from one channel to another and the
// least slack grows thereby of those that it touches: its own and that of the
// note after it, on both.
func (g *sharing) gains(rings [][]int32, n, from, to int32) bool {
	ring := rings[from]
	at, _ := slices.BinarySearch(ring, n)
	prev, next := ring[(at+len(ring)-1)%len(ring)], ring[(at+1)%len(ring)]
	before, after := min(g.slack(from, g.gap(prev, n)), g.slack(from, g.gap(n, next))), math.Inf(1)
	if len(ring) > 1 {
		after = g.slack(from, g.gap(prev, next))
	}
	if ring = rings[to]; len(ring) == 0 {
		return min(after, g.slack(to, g.turn)) > before+metS
	}
	at, _ = slices.BinarySearch(ring, n)
	prev, next = ring[(at+len(ring)-1)%len(ring)], ring[at%len(ring)]
	if aim := g.notes[n].aim; g.notes[prev].aim == aim || g.notes[next].aim == aim {
		return false
	}
	before = min(before, g.slack(to, g.gap(prev, next)))
	after = min(after, g.slack(to, g.gap(prev, n)), g.slack(to, g.gap(n, next)))
	return after > before+metS
}

// sharings are the sets of channels that share notes, in the order of the
// machine file. A channel whose notes have no other choice is in none.
func sharings(mech Mechanics, notes []placedNote, periodS float64) []*sharing {
	m := mech.Description()
	lists, listOf := choiceLists(notes)
	set := disjoint.New(len(m.Channels))
	shared := make([]bool, len(set))
	for _, list := range lists {
		for _, c := range list[1:] {
			shared[c], shared[list[0]] = true, true
			set.Join(list[0], c)
		}
	}
	var all []*sharing
	of := make([]*sharing, len(set))
	for i := range set {
		if c := int32(i); shared[c] {
			r := set.Root(c)
			if of[r] == nil {
				of[r] = &sharing{turn: int32(m.Wheel.Steps), periodS: periodS}
				all = append(all, of[r])
			}
			of[c] = of[r]
			of[c].channels = append(of[c].channels, sharer{channel: c, needS: mech.Rest(i, periodS), hold: mech.Hold(i)})
		}
	}
	place := make([]int32, len(set))
	for _, g := range all {
		g.sortChannels(lists, place)
	}
	local := make([][]int32, len(lists))
	for i, list := range lists {
		for _, c := range list {
			local[i] = append(local[i], place[c])
		}
	}
	for i, n := range notes {
		if g := of[n.channel]; g != nil {
			g.notes = append(g.notes, sharedNote{i, n.aim, local[listOf[i]]})
		}
	}
	for _, g := range all {
		g.cut()
		g.given = make([]int32, len(g.notes))
		for i, n := range g.notes {
			g.given[i] = place[notes[n.index].channel]
		}
	}
	return all
}

// choiceLists are the different lists of choices, and which one each note has.
// Notes that may go to the same channels mostly have the same list in memory.
func choiceLists(notes []placedNote) (lists [][]int32, of []int32) {
	type place struct {
		first *int32
		n     int
	}
	index := map[place]int32{}
	of = make([]int32, len(notes))
	for i, n := range notes {
		at := place{&n.choices[0], len(n.choices)}
		list, ok := index[at]
		if !ok {
			list = int32(slices.IndexFunc(lists, func(l []int32) bool { return slices.Equal(l, n.choices) }))
			if list < 0 {
				list = int32(len(lists))
				lists = append(lists, n.choices)
			}
			index[at] = list
		}
		of[i] = list
	}
	return lists, of
}

// sortChannels puts channels alike next to each other and writes down the place
// of each.
func (g *sharing) sortChannels(lists [][]int32, place []int32) {
	at := map[int32]int{}
	for i, c := range g.channels {
		at[c.channel] = i
	}
	for n, list := range lists {
		for _, c := range list {
			if i, ok := at[c]; ok {
				g.channels[i].lists = append(g.channels[i].lists, n)
			}
		}
	}
	slices.SortStableFunc(g.channels, sharer.compare)
	for i, c := range g.channels {
		place[c.channel] = int32(i)
	}
}

// compare is 0 for channels alike.
func (c sharer) compare(d sharer) int {
	return cmp.Or(slices.Compare(c.lists, d.lists), cmp.Compare(c.needS, d.needS), cmp.Compare(c.hold, d.hold))
}

// cut puts the notes in order, from the end of their longest rest.
func (g *sharing) cut() {
	byAim := func(a, b sharedNote) int { return cmp.Compare(a.aim, b.aim) }
	slices.SortStableFunc(g.notes, byAim)
	first, longest := 0, int32(0)
	for i, n := range g.notes {
		prev := g.notes[(i+len(g.notes)-1)%len(g.notes)]
		rest := n.aim - prev.aim
		if i == 0 {
			rest += g.turn
		}
		if rest > longest {
			first, longest = i, rest
		}
	}
	zero := g.notes[first].aim
	for i := range g.notes {
		if g.notes[i].aim -= zero; g.notes[i].aim < 0 {
			g.notes[i].aim += g.turn
		}
	}
	slices.SortStableFunc(g.notes, byAim)
}

// steps is the fewest steps, at least 1, after which a note has a slack on a
// channel; more than a turn where none has.
func (g *sharing) steps(c int32, slackS float64) int32 {
	return 1 + int32(sort.Search(int(g.turn), func(i int) bool { return g.slack(c, int32(i)+1) >= slackS }))
}
