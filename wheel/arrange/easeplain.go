package arrange

// plainLooks is how many holes plainly looks at before it gives up.
const plainLooks = 200_000_000

// plainly leaves notes out, one after the other, wherever a note before them
// is in the way. It is for puzzles that are too large to be looked at whole.
func (g *ground) plainly(r *outcome) {
	pins := make([][]bool, len(g.gap)) // by channel and step
	for _, c := range g.channels {
		pins[c] = make([]bool, g.turn)
	}
	trips := make([]int, g.turn)
	looks := plainLooks
	for n := range int32(len(g.notes)) {
		r.left[n] = true
		for s := range g.sites(n) {
			step := g.step(n, s)
			if s.later != 0 && g.wishes[n].taken == nil || !g.open(pins, s.channel, step, &looks) {
				continue
			}
			if most := g.machine.Limits.TripsAtOnce; most > 0 && trips[step] == most {
				continue
			}
			pins[s.channel][step] = true
			trips[step]++
			r.left[n], r.to[n] = false, s
			break
		}
	}
}

// open reports whether no pin is in the way of one at (channel, step), as far
// as there are looks left to tell.
func (g *ground) open(pins [][]bool, channel, step int32, looks *int) bool {
	pinned := func(row []bool, from, to int) bool {
		to = min(to, from+len(row)-1)
		if *looks -= to - from + 1; *looks < 0 {
			return true
		}
		for d := from; d <= to; d++ {
			if row[g.machine.Wheel.Wrap(int(step)+d)] {
				return true
			}
		}
		return false
	}
	reach := max(int(g.gap[channel])-1, 2*farthest) // so near, taken sites might swap the order
	if pinned(pins[channel], -reach, reach) {
		return false
	}
	for _, rival := range g.near[channel] {
		for _, d := range rival.lanes {
			if pinned(pins[rival.channel], d.from, d.to) {
				return false
			}
		}
	}
	return true
}
