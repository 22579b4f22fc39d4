package ease

import "math"

// chain answers a component of one channel, however dense: there, one note
// excludes another where it comes less than the channel's gap after it, so all
// that matters of the notes so far is where the last that is kept stands.
//
// For every candidate, in the order of the wheel, it finds the least cost of
// keeping it as the last so far: its own, and the least of those that end a gap
// or more before it. Round the seam, the last has to end a gap before the first
// comes again: the first kept is one of the few that the last could be too near
// to, and each candidate of theirs is tried, or none of these is kept.
type chain struct {
	m      *model
	sound  []int32 // by candidate: when it sounds, in steps, counted on past the seam
	gap    int32
	turn   int32
	out    []float64 // by note: what leaving out all before it costs
	base   int32     // the earliest of sound
	least  []float64 // by steps from base: the least so far of those that end there or before
	by     []int32   // which candidate that is
	top    int32     // how far least is filled in
	none   float64   // least before any is kept
	before []int32   // by candidate: which is kept before it
	kept   []float64 // by candidate: the least cost with it as the last
}

// isChain reports whether all candidates of a component are on one channel, no
// two of its notes should sound together and no step is full.
func (m *model) isChain() bool {
	for _, c := range m.channel {
		if c != m.channel[0] {
			return false
		}
	}
	for n := 1; n < m.notes(); n++ {
		if m.aim[n] == m.aim[n-1] {
			return false
		}
	}
	return len(m.room) == 0 && len(m.channel) > 0
}

func newChain(m *model) *chain {
	c := &chain{
		m: m, gap: m.gap[m.channel[0]], turn: m.turn, base: math.MaxInt32, out: []float64{0},
		sound: make([]int32, len(m.cost)), before: make([]int32, len(m.cost)), kept: make([]float64, len(m.cost)),
	}
	past, last := int32(0), int32(math.MinInt32)
	for n := range int32(m.notes()) {
		if n > 0 && m.aim[n] < m.aim[n-1] {
			past = m.turn
		}
		for o, to := m.candidates(n); o < to; o++ {
			c.sound[o] = m.aim[n] + m.later[o] + past
			c.base, last = min(c.base, c.sound[o]), max(last, c.sound[o])
		}
		c.out = append(c.out, c.out[n]+m.out[n])
	}
	c.least, c.by = make([]float64, last-c.base+1), make([]int32, last-c.base+1)
	return c
}

func (c *chain) solve() solution {
	last := c.base + int32(len(c.least)) - 1
	head := int32(0) // notes that the last might be too near to
	for n := range int32(c.m.notes()) {
		for o, to := c.m.candidates(n); o < to; o++ {
			if c.sound[o]+c.turn-c.gap < last {
				head = n + 1
			}
		}
	}
	bestFirst := int32(LeftOut)
	best, _ := c.run(head, LeftOut)
	for n := range head {
		for o, to := c.m.candidates(n); o < to; o++ {
			if cost, _ := c.run(n, o); cost < best-sameCost {
				best, bestFirst = cost, o
			}
		}
	}
	from := head
	if bestFirst != LeftOut {
		from = c.m.note[bestFirst]
	}
	_, end := c.run(from, bestFirst)
	r := solution{answer: make(answer, c.m.notes()), cost: best, lower: best}
	for i := range r.answer {
		r.answer[i] = LeftOut
	}
	for o := end; o != LeftOut; o = c.before[o] {
		r.answer[c.m.note[o]] = o
	}
	return r
}

// run is the least cost with the notes before one left out and first, a
// candidate of that one, kept; or with first left open. end is the last kept.
func (c *chain) run(note, first int32) (cost float64, end int32) {
	c.none = 0
	if first != LeftOut {
		c.none = math.Inf(1)
	}
	c.top, c.least[0], c.by[0] = 0, c.none, LeftOut
	until := int32(math.MaxInt32)
	if first != LeftOut {
		c.before[first] = LeftOut
		c.keep(first, c.m.cost[first]-c.m.out[note])
		until = c.sound[first] + c.turn - c.gap
		note++
	}
	for n := note; int(n) < c.m.notes(); n++ {
		from, to := c.m.candidates(n)
		for o := from; o < to; o++ {
			least, by := c.upTo(c.sound[o] - c.gap)
			c.before[o], c.kept[o] = by, least+c.m.cost[o]-c.m.out[n]
		}
		for o := from; o < to; o++ {
			if c.sound[o] <= until {
				c.keep(o, c.kept[o])
			}
		}
	}
	return c.least[c.top] + c.out[c.m.notes()], c.by[c.top]
}

// upTo is the least of those that end at a time or before, less what leaving
// out all notes costs.
func (c *chain) upTo(sound int32) (least float64, by int32) {
	if sound < c.base {
		return c.none, LeftOut
	}
	at := min(sound-c.base, c.top)
	return c.least[at], c.by[at]
}

// keep records a candidate as the last kept.
func (c *chain) keep(o int32, cost float64) {
	at := c.sound[o] - c.base
	for c.top < at {
		c.top++
		c.least[c.top], c.by[c.top] = c.least[c.top-1], c.by[c.top-1]
	}
	for k := at; k <= c.top && c.least[k] > cost; k++ {
		c.least[k], c.by[k] = cost, o
	}
}
