package arrange

import (
	"errors"
	"iter"
	"slices"

	"pinwright/wheel"
)

// What a change costs, as a part of the note's weight.
const (
	farthest    = 2    // most steps that a note may be moved
	stepCost    = 0.2  // of moving it by one step
	channelCost = 1e-9 // of moving it to another channel, which costs nothing: it only tells equal answers apart
)

// site is where a note may go: to a channel, some steps later than it should
// sound.
type site struct {
	channel int32
	later   int32 // −farthest … farthest
}

// ground is what mechanics says of the holes that notes may go to, so that
// every tempo up to one is safe.
type ground struct {
	mech     Mechanics
	machine  *wheel.Machine
	notes    []placedNote
	advance  []int
	turn     int32
	toBPM    float64
	channels []int32   // that some note may go to, ascending
	gap      []int32   // by channel: least steps between two of its pins; turn + 1 where it can have none
	near     [][]rival // by channel
	wishes   []wish    // by note
}

// rival is another channel with which marbles meet at some differences.
type rival struct {
	channel int32
	lanes   []meeting // of a pin of the rival from one of the channel
}

// meeting is a range of step differences, both ends in it, at which marbles
// meet in a lane.
type meeting struct{ lane, from, to int }

func newGround(mech Mechanics, notes []placedNote, advance []int, wishes []wish, toBPM float64) *ground {
	m := mech.Description()
	g := &ground{
		mech: mech, machine: m, notes: notes, advance: advance, turn: int32(m.Wheel.Steps), toBPM: toBPM, wishes: wishes,
		gap: make([]int32, len(m.Channels)), near: make([][]rival, len(m.Channels)),
	}
	used := make([]bool, len(m.Channels))
	for i := range notes {
		for _, c := range notes[i].choices {
			used[c] = true
		}
	}
	var list []int
	for c, u := range used {
		if u {
			list = append(list, c)
			g.channels = append(g.channels, int32(c))
		}
	}
	for i, gap := range mech.LeastGaps(list, toBPM) {
		g.gap[list[i]] = int32(gap)
	}
	for i, a := range list {
		for _, b := range list[i+1:] {
			var there, back []meeting
			mech.Forbidden(a, b, toBPM, func(lane, from, to int) {
				there, back = append(there, meeting{lane, from, to}), append(back, meeting{lane, -to, -from})
			})
			if there != nil {
				g.near[a] = append(g.near[a], rival{int32(b), there})
				g.near[b] = append(g.near[b], rival{int32(a), back})
			}
		}
	}
	return g
}

// step is the wheel's step of a note's pin at a site.
func (g *ground) step(note int32, s site) int32 {
	return int32(g.machine.Wheel.Wrap(int(g.notes[note].aim+s.later) - g.advance[s.channel]))
}

func (g *ground) cost(note int32, s site) float64 {
	n := &g.notes[note]
	cost := stepCost * float64(max(s.later, -s.later)) * n.weight
	if s.channel != n.channel {
		cost += channelCost
	}
	return cost
}

// tooNear reports whether two notes at sites on one channel break a rule of
// the channel, or stand in another order than they sound.
func (g *ground) tooNear(a int32, at site, b int32, bt site) bool {
	aimA, aimB := g.notes[a].aim, g.notes[b].aim
	after := aimB + bt.later - aimA - at.later
	switch {
	case aimA > aimB:
		after = -after
	case aimA == aimB && after < 0: // of two that sound together either may be first
		after = -after
	}
	return after < g.gap[at.channel] || g.turn-after < g.gap[at.channel]
}

// sites yields the sites that a note may have.
func (g *ground) sites(note int32) iter.Seq[site] {
	return func(yield func(site) bool) {
		for _, c := range g.notes[note].choices {
			if g.gap[c] > g.turn {
				continue
			}
			for later := int32(-farthest); later <= farthest; later++ {
				if s := (site{c, later}); g.wishes[note].allows(s) && !yield(s) {
					return
				}
			}
		}
	}
}

// errTangled is a puzzle too large to be written down.
var errTangled = errors.New("too many holes exclude each other")

// mostFoes is how many exclusions a puzzle may have, over all options.
const mostFoes = 12_000_000

// puzzle writes the easing down as a puzzle; sites are its options'.
func (g *ground) puzzle() (p *puzzle, sites []site, err error) {
	p = &puzzle{gap: g.gap, turn: g.turn}
	never := g.never()
	for n := range int32(len(g.notes)) {
		p.first = append(p.first, int32(len(p.cost)))
		out := g.notes[n].weight
		if !g.wishes[n].mayLeaveOut() {
			out = never
		}
		p.out, p.aim = append(p.out, out), append(p.aim, g.notes[n].aim)
		for s := range g.sites(n) {
			sites = append(sites, s)
			p.cost = append(p.cost, g.cost(n, s))
			p.note, p.channel, p.later = append(p.note, n), append(p.channel, s.channel), append(p.later, s.later)
		}
	}
	p.first = append(p.first, int32(len(p.cost)))
	h := newHoleIndex(g, p, sites)
	p.at = make([]int32, len(p.cost)+1)
	all := 0
	if !h.each(func(o, _ int32) bool { p.at[o+1]++; all++; return all <= mostFoes }) {
		return nil, nil, errTangled
	}
	for o := range p.cost {
		p.at[o+1] += p.at[o]
	}
	p.foes = make([]int32, all)
	next := slices.Clone(p.at)
	h.each(func(o, f int32) bool { p.foes[next[o]] = f; next[o]++; return true })
	for o := range p.cost {
		slices.Sort(p.foes[p.at[o]:p.at[o+1]])
	}
	h.fullSteps()
	return p, sites, nil
}

// never is a cost above that of any answer that keeps to all decisions.
func (g *ground) never() float64 {
	sum := 1.0
	for i := range g.notes {
		sum += g.notes[i].weight
	}
	return 8 * sum
}

// holeIndex is the options of a puzzle by where they are.
type holeIndex struct {
	g     *ground
	p     *puzzle
	sites []site
	steps []int32 // by option
	turn  []int32 // options by step
	start []int32 // by step: where its options begin in turn
}

func newHoleIndex(g *ground, p *puzzle, sites []site) *holeIndex {
	h := &holeIndex{g: g, p: p, sites: sites, turn: make([]int32, len(sites)), start: make([]int32, g.turn+1)}
	for o, s := range sites {
		step := g.step(p.note[o], s)
		h.steps = append(h.steps, step)
		h.start[step+1]++
	}
	for s := range g.turn {
		h.start[s+1] += h.start[s]
	}
	next := slices.Clone(h.start)
	for o, step := range h.steps {
		h.turn[next[step]] = int32(o)
		next[step]++
	}
	return h
}

// mostLooks is how many options may be looked at for what excludes what.
const mostLooks = 100_000_000

// each calls do for every option and each option of another note that it
// excludes, until do says to stop. It reports whether it came to the end.
func (h *holeIndex) each(do func(o, f int32) bool) bool {
	g := h.g
	turn := int(g.turn)
	lanes := make([][]meeting, len(g.gap)) // by channel, of the one at hand
	byChannel := make([][]int32, len(g.gap))
	for o, s := range h.sites {
		byChannel[s.channel] = append(byChannel[s.channel], int32(o))
	}
	looks := 0
	for c, options := range byChannel {
		reach := max(int(g.gap[c])-1, 2*farthest) // so far apart two may be in the wrong order
		from, to := -reach, reach
		for _, r := range g.near[c] {
			lanes[r.channel] = r.lanes
			for _, d := range r.lanes {
				from, to = min(from, d.from), max(to, d.to)
			}
		}
		to = min(to, from+turn-1)
		for _, o := range options {
			note, site, step := h.p.note[o], h.sites[o], h.steps[o]
			first := g.machine.Wheel.Wrap(int(step) + from)
			begin, left := int(h.start[first]), h.count(first, to-from+1)
			if looks += left; looks > mostLooks {
				return false
			}
			for ; left > 0; left-- {
				if begin == len(h.turn) {
					begin = 0
				}
				f := h.turn[begin]
				begin++
				other := h.p.note[f]
				if other == note {
					continue
				}
				if h.sites[f].channel == site.channel {
					if !g.tooNear(note, site, other, h.sites[f]) {
						continue
					}
				} else if !meets(lanes[h.sites[f].channel], int(h.steps[f]-step), turn) {
					continue
				}
				if !do(o, f) {
					return false
				}
			}
		}
		for _, r := range g.near[c] {
			lanes[r.channel] = nil
		}
	}
	return true
}

// count is how many options are on so many steps from one on.
func (h *holeIndex) count(first, steps int) int {
	if end := first + steps; end > int(h.g.turn) {
		return len(h.turn) - int(h.start[first]) + int(h.start[end-int(h.g.turn)])
	} else {
		return int(h.start[end] - h.start[first])
	}
}

// meets reports whether a difference in steps is one of those at which marbles
// meet, in the same or another turn.
func meets(lanes []meeting, d, turn int) bool {
	for _, r := range lanes {
		if r.to-r.from >= turn-1 {
			return true
		}
		after := (d - r.from) % turn
		if after < 0 {
			after += turn
		}
		if after <= r.to-r.from {
			return true
		}
	}
	return false
}

// fullSteps finds the steps that more options want than may be tripped at once.
func (h *holeIndex) fullSteps() {
	p, most := h.p, int32(h.g.machine.Limits.TripsAtOnce)
	p.step = make([]int32, len(h.steps))
	for o := range p.step {
		p.step[o] = -1
	}
	if most == 0 {
		return
	}
	wanted := make([]int32, h.g.turn)
	for _, s := range h.steps {
		wanted[s]++
	}
	index := make([]int32, h.g.turn)
	for o, s := range h.steps {
		if wanted[s] <= most {
			continue
		}
		if index[s] == 0 {
			p.room = append(p.room, most)
			index[s] = int32(len(p.room))
		}
		p.step[o] = index[s] - 1
	}
}
