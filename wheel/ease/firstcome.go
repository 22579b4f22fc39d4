package ease

// firstComeLooks is how many steps firstCome looks at before it gives up.
const firstComeLooks = 200_000_000

// firstCome keeps one note after the other and leaves out those for which the
// notes before them leave nothing that is free: it proves nothing. It is for
// problems that are too large to be written down as a model.
func (m *model) firstCome(p *Problem) (chosen []int) {
	b := newBuilder(p, m)
	pins := make([][]bool, len(m.gap)) // by channel and step
	for _, c := range m.channel {
		if pins[c] == nil {
			pins[c] = make([]bool, m.turn)
		}
	}
	trips := make([]int, m.turn)
	looks := firstComeLooks
	chosen = make([]int, m.notes())
	for n := range int32(m.notes()) {
		chosen[n] = LeftOut
		for o, to := m.candidates(n); o < to; o++ {
			step := b.pins[o]
			full := p.TripsAtOnce > 0 && trips[step] == p.TripsAtOnce
			if m.cost[o] > proofGap && !p.Notes[n].Stays || full || !b.open(pins, m.channel[o], step, &looks) {
				continue
			}
			pins[m.channel[o]][step] = true
			trips[step]++
			chosen[n] = int(m.candidate[o])
			break
		}
	}
	return chosen
}

// open reports whether no pin is in the way of one at (channel, step), as far
// as there are looks left to tell.
func (b *builder) open(pins [][]bool, channel, step int32, looks *int) bool {
	pinned := func(row []bool, from, to int) bool {
		if row == nil {
			return false
		}
		to = min(to, from+len(row)-1)
		if *looks -= to - from + 1; *looks < 0 {
			return true
		}
		for d := from; d <= to; d++ {
			if row[b.m.wrap(int(step)+d)] {
				return true
			}
		}
		return false
	}
	reach := max(int(b.m.gap[channel])-1, b.spread) // so near, notes might swap their order
	if pinned(pins[channel], -reach, reach) {
		return false
	}
	for _, r := range b.rivals[channel] {
		if pinned(pins[r.other], r.from, r.to) {
			return false
		}
	}
	return true
}
