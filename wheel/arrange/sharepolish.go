package arrange

import (
	"math"
	"slices"
)

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
