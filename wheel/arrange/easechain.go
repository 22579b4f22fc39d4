package arrange

import "math"

// chain answers a tangle of one channel, however dense: there, one note
// excludes another where it comes less than the channel's gap after it, so all
// that matters of the notes so far is where the last that is kept stands.
//
// For every option, in the order of the wheel, it finds the least cost of
// keeping it as the last so far: its own, and the least of those that end a gap
// or more before it. Round the seam, the last has to end a gap before the first
// comes again: the first kept is one of the few that the last could be too near
// to, and each option of theirs is tried, or none of these is kept.
type chain struct {
	p      *puzzle
	sound  []int32 // by option: when it sounds, in steps, counted on past the seam
	gap    int32
	turn   int32
	out    []float64 // by note: what leaving out all before it costs
	base   int32     // the earliest of sound
	least  []float64 // by steps from base: the least so far of those that end there or before
	by     []int32   // which option that is
	top    int32     // how far least is filled in
	none   float64   // least before any is kept
	before []int32   // by option: which is kept before it
	kept   []float64 // by option: the least cost with it as the last
}

// isChain reports whether all options of a tangle are on one channel, no two of
// its notes sound together and no step is full.
func (p *puzzle) isChain() bool {
	for _, c := range p.channel {
		if c != p.channel[0] {
			return false
		}
	}
	for n := 1; n < p.notes(); n++ {
		if p.aim[n] == p.aim[n-1] {
			return false
		}
	}
	return len(p.room) == 0 && len(p.channel) > 0
}

func newChain(p *puzzle) *chain {
	c := &chain{
		p: p, gap: p.gap[p.channel[0]], turn: p.turn, base: math.MaxInt32, out: []float64{0},
		sound: make([]int32, len(p.cost)), before: make([]int32, len(p.cost)), kept: make([]float64, len(p.cost)),
	}
	past, last := int32(0), int32(math.MinInt32)
	for n := range int32(p.notes()) {
		if n > 0 && p.aim[n] < p.aim[n-1] {
			past = p.turn
		}
		for o, to := p.options(n); o < to; o++ {
			c.sound[o] = p.aim[n] + p.later[o] + past
			c.base, last = min(c.base, c.sound[o]), max(last, c.sound[o])
		}
		c.out = append(c.out, c.out[n]+p.out[n])
	}
	c.least, c.by = make([]float64, last-c.base+1), make([]int32, last-c.base+1)
	return c
}

func (c *chain) solve() solved {
	last := c.base + int32(len(c.least)) - 1
	head := int32(0) // notes that the last might be too near to
	for n := range int32(c.p.notes()) {
		for o, to := c.p.options(n); o < to; o++ {
			if c.sound[o]+c.turn-c.gap < last {
				head = n + 1
			}
		}
	}
	bestFirst := int32(leftOut)
	best, _ := c.run(head, leftOut)
	for n := range head {
		for o, to := c.p.options(n); o < to; o++ {
			if cost, _ := c.run(n, o); cost < best-sameCost {
				best, bestFirst = cost, o
			}
		}
	}
	from := head
	if bestFirst != leftOut {
		from = c.p.note[bestFirst]
	}
	_, end := c.run(from, bestFirst)
	r := solved{answer: make(answer, c.p.notes()), cost: best, lower: best}
	for i := range r.answer {
		r.answer[i] = leftOut
	}
	for o := end; o != leftOut; o = c.before[o] {
		r.answer[c.p.note[o]] = o
	}
	return r
}

// run is the least cost with the notes before one left out and first, an
// option of that one, kept; or with first left open. end is the last kept.
func (c *chain) run(note, first int32) (cost float64, end int32) {
	c.none = 0
	if first != leftOut {
		c.none = math.Inf(1)
	}
	c.top, c.least[0], c.by[0] = 0, c.none, leftOut
	until := int32(math.MaxInt32)
	if first != leftOut {
		c.before[first] = leftOut
		c.keep(first, c.p.cost[first]-c.p.out[note])
		until = c.sound[first] + c.turn - c.gap
		note++
	}
	for n := note; int(n) < c.p.notes(); n++ {
		from, to := c.p.options(n)
		for o := from; o < to; o++ {
			least, by := c.upTo(c.sound[o] - c.gap)
			c.before[o], c.kept[o] = by, least+c.p.cost[o]-c.p.out[n]
		}
		for o := from; o < to; o++ {
			if c.sound[o] <= until {
				c.keep(o, c.kept[o])
			}
		}
	}
	return c.least[c.top] + c.out[c.p.notes()], c.by[c.top]
}

// upTo is the least of those that end at a time or before, less what leaving
// out all notes costs.
func (c *chain) upTo(sound int32) (least float64, by int32) {
	if sound < c.base {
		return c.none, leftOut
	}
	at := min(sound-c.base, c.top)
	return c.least[at], c.by[at]
}

// keep notes an option as the last kept.
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
