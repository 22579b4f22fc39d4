package arrange

import (
	"pinwright/wheel"
	"pinwright/wheel/ease"
)

// What a change costs, as a part of the note's weight.
const (
	farthest    = 2    // most steps that a note may be moved
	stepCost    = 0.2  // of moving it by one step
	channelCost = 1e-9 // of moving it to another channel, which costs nothing: it only decides between equal answers
)

// site is where a note may go: to a channel, some steps later than it should
// sound.
type site struct {
	channel int32
	later   int32 // −farthest … farthest
}

// gaps is what mechanics says of the holes that notes may go to, so that every
// tempo up to one is safe.
type gaps struct {
	machine *wheel.Machine
	notes   []placedNote
	advance []int
	turn    int32
	toBPM   float64   // the bare limit
	keepBPM float64   // the tempo to be trusted
	gap     []int32   // by channel: least steps between two of its pins; turn + 1 where it can have none
	near    [][]rival // by channel
	wishes  []wish    // by note
}

// rival is another channel, and a range of steps, both ends in it, by which its
// pins may not come later than one of the channel: their marbles would meet in
// a lane.
type rival struct {
	channel        int32
	lane, from, to int
}

func newGaps(mech Mechanics, notes []placedNote, advance []int, wishes []wish, toBPM float64) *gaps {
	m := mech.Description()
	g := &gaps{
		machine: m, notes: notes, advance: advance, turn: int32(m.Wheel.Steps), toBPM: toBPM, wishes: wishes,
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
		}
	}
	for i, gap := range mech.LeastGaps(list, toBPM) {
		g.gap[list[i]] = int32(gap)
	}
	var a, b int
	forbid := func(lane, from, to int) {
		g.near[a] = append(g.near[a], rival{int32(b), lane, from, to})
		g.near[b] = append(g.near[b], rival{int32(a), lane, -to, -from})
	}
	for i := range list {
		for k := range i {
			a, b = list[k], list[i]
			mech.Forbidden(a, b, toBPM, forbid)
		}
	}
	return g
}

// step is the wheel's step of a note's pin at a site.
func (g *gaps) step(note int32, s site) int32 {
	return int32(g.machine.Wheel.Wrap(int(g.notes[note].aim+s.later) - g.advance[s.channel]))
}

func (g *gaps) cost(note int32, s site) float64 {
	n := &g.notes[note]
	cost := stepCost * float64(max(s.later, -s.later)) * n.weight
	if s.channel != n.channel {
		cost += channelCost
	}
	return cost
}

// problem writes the easing down for the solver. The candidates of a note are
// the sites that its wish allows.
func (g *gaps) problem() ease.Problem {
	p := ease.Problem{
		Turn: int(g.turn), TripsAtOnce: g.machine.Limits.TripsAtOnce,
		Channels: make([]ease.Channel, len(g.gap)), Notes: make([]ease.Note, len(g.notes)),
	}
	for c := range p.Channels {
		p.Channels[c] = ease.Channel{Gap: int(g.gap[c]), Advance: g.advance[c]}
		for _, r := range g.near[c] {
			if c < int(r.channel) { // the other side is the same
				p.Meetings = append(p.Meetings, ease.Meeting{Channel: c, Other: int(r.channel), From: r.from, To: r.to})
			}
		}
	}
	var all []ease.Candidate
	for i := range p.Notes {
		n, from := int32(i), len(all)
		for _, c := range g.notes[i].choices {
			for later := int32(-farthest); later <= farthest; later++ {
				if s := (site{c, later}); g.wishes[i].allows(s) {
					all = append(all, ease.Candidate{Channel: int(c), Later: int(later), Cost: g.cost(n, s)})
				}
			}
		}
		p.Notes[i] = ease.Note{
			Aim: int(g.notes[i].aim), LeaveOut: g.notes[i].weight, Stays: !g.wishes[i].mayLeaveOut(),
			Candidates: all[from:len(all):len(all)],
		}
	}
	return p
}
