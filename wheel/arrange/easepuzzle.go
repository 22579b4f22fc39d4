package arrange

import (
	"math"
	"slices"
)

// puzzle is easing laid bare. Every note takes one of its options, a hole at a
// cost, or is left out at a cost; options of different notes may exclude each
// other, and a full step has room for only some of those that want it.
type puzzle struct {
	first   []int32   // note i has the options first[i] … first[i+1] − 1
	out     []float64 // what leaving a note out costs
	aim     []int32   // of a note: the step at which it should sound
	cost    []float64 // of an option; +Inf for one that is gone
	note    []int32   // of an option
	channel []int32   // of an option
	later   []int32   // of an option: steps after the note's aim
	step    []int32   // of an option: which full step, or −1
	room    []int32   // of a full step: how many of its options may be taken
	at      []int32   // option o excludes the options foes[at[o]:at[o+1]], ascending
	foes    []int32
	from    []int32 // of a part: the option of the whole
	gap     []int32 // by channel: least steps between two of its pins
	turn    int32   // steps of the wheel
}

// leftOut stands for no option in an answer.
const leftOut = -1

// answer is the option that each note takes, or leftOut.
type answer []int32

func (p *puzzle) notes() int { return len(p.out) }

func (p *puzzle) options(note int32) (from, to int32) { return p.first[note], p.first[note+1] }

func (p *puzzle) excludes(o int32) []int32 { return p.foes[p.at[o]:p.at[o+1]] }

// costOf is what a note costs that takes an option.
func (p *puzzle) costOf(note, option int32) float64 {
	if option == leftOut {
		return p.out[note]
	}
	return p.cost[option]
}

// sum is what an answer costs.
func (p *puzzle) sum(a answer) float64 {
	sum := 0.0
	for n, o := range a {
		sum += p.costOf(int32(n), o)
	}
	return sum
}

// allowed reports whether no options of an answer exclude each other and no
// step is overfull.
func (p *puzzle) allowed(a answer) bool {
	for _, o := range a {
		if o == leftOut {
			continue
		}
		for _, f := range p.excludes(o) {
			if a[p.note[f]] == f {
				return false
			}
		}
	}
	return len(p.overfull(a)) == 0
}

// clone is a copy that shares nothing with p.
func (p *puzzle) clone() *puzzle {
	return &puzzle{
		first: slices.Clone(p.first), out: slices.Clone(p.out), aim: slices.Clone(p.aim), cost: slices.Clone(p.cost),
		note: slices.Clone(p.note), channel: slices.Clone(p.channel), later: slices.Clone(p.later), step: slices.Clone(p.step),
		room: slices.Clone(p.room), at: slices.Clone(p.at), foes: slices.Clone(p.foes), from: slices.Clone(p.from),
		gap: p.gap, turn: p.turn,
	}
}

// which exclusions a part keeps.
type keep uint8

const (
	allFoes  keep = iota
	ownFoes       // those inside channels
	laneFoes      // those across channels, and full steps
)

// cutter cuts parts out of puzzles, in storage that it uses again.
type cutter struct {
	p     puzzle
	local []int32 // by option of the whole: that of the part, or −1
	was   answer  // what the notes of the part had
	want  []int32 // by full step of the whole: options in the part
	left  []int32 // by full step of the whole: room that others leave
	steps []int32 // by full step of the whole: that of the part, or −1
}

// cut is some notes of a puzzle, in the order given. Where the answer of the
// others is given, the options that they exclude are gone and steps have the
// room that they leave; where it is nil they do not matter. What is cut is
// good until the next call.
func (c *cutter) cut(whole *puzzle, notes []int32, others answer, k keep) *puzzle {
	c.prepare(whole, notes, others)
	p := &c.p
	for i, n := range notes {
		p.first = append(p.first, int32(len(p.cost)))
		p.out, p.aim = append(p.out, whole.out[n]), append(p.aim, whole.aim[n])
		for o, to := whole.options(n); o < to; o++ {
			if !math.IsInf(whole.cost[o], 1) && (others == nil || c.open(whole, o, others)) {
				c.local[o] = int32(len(p.cost))
				p.from = append(p.from, o)
				p.cost = append(p.cost, whole.cost[o])
				p.note = append(p.note, int32(i))
				p.channel, p.later = append(p.channel, whole.channel[o]), append(p.later, whole.later[o])
				if s := whole.step[o]; s >= 0 {
					c.want[s]++
				}
			}
		}
	}
	p.first = append(p.first, int32(len(p.cost)))
	for _, o := range p.from {
		from := len(p.foes)
		p.at = append(p.at, int32(from))
		for _, f := range whole.excludes(o) {
			if l := c.local[f]; l >= 0 && (k == allFoes || (whole.channel[f] == whole.channel[o]) == (k == ownFoes)) {
				p.foes = append(p.foes, l)
			}
		}
		slices.Sort(p.foes[from:])
		p.step = append(p.step, c.stepOf(whole, o, k))
	}
	p.at = append(p.at, int32(len(p.foes)))
	for _, o := range p.from {
		c.local[o] = -1
	}
	for i, o := range c.was {
		others[notes[i]] = o
	}
	return p
}

func (c *cutter) prepare(whole *puzzle, notes []int32, others answer) {
	p := &c.p
	*p = puzzle{
		first: p.first[:0], out: p.out[:0], aim: p.aim[:0], cost: p.cost[:0], note: p.note[:0], channel: p.channel[:0],
		later: p.later[:0], step: p.step[:0], room: p.room[:0], at: p.at[:0], foes: p.foes[:0], from: p.from[:0],
		gap: whole.gap, turn: whole.turn,
	}
	for len(c.local) < len(whole.cost) {
		c.local = append(c.local, -1)
	}
	c.want, c.left, c.steps = c.want[:0], append(c.left[:0], whole.room...), c.steps[:0]
	for range whole.room {
		c.want, c.steps = append(c.want, 0), append(c.steps, -1)
	}
	c.was = c.was[:0]
	if others == nil {
		return
	}
	for _, n := range notes {
		c.was = append(c.was, others[n])
		others[n] = leftOut
	}
	if len(whole.room) > 0 {
		for _, o := range others {
			if o != leftOut && whole.step[o] >= 0 {
				c.left[whole.step[o]]--
			}
		}
	}
}

// open reports whether the other notes leave an option of the part open.
func (c *cutter) open(whole *puzzle, o int32, others answer) bool {
	if s := whole.step[o]; s >= 0 && c.left[s] <= 0 {
		return false
	}
	for _, f := range whole.excludes(o) {
		if others[whole.note[f]] == f {
			return false
		}
	}
	return true
}

func (c *cutter) stepOf(whole *puzzle, o int32, k keep) int32 {
	s := whole.step[o]
	if s < 0 || k == ownFoes || c.want[s] <= c.left[s] {
		return -1
	}
	if c.steps[s] < 0 {
		c.steps[s] = int32(len(c.p.room))
		c.p.room = append(c.p.room, c.left[s])
	}
	return c.steps[s]
}
