package ease

import (
	"math"
	"slices"
)

// keep is which exclusions a part keeps.
type keep uint8

const (
	allConflicts     keep = iota // and full steps
	channelConflicts             // those inside channels only
)

// cutter cuts parts out of models, in storage that it uses again.
type cutter struct {
	m     model
	local []int32 // by candidate of the whole: that of the part, or −1
	was   answer  // what the notes of the part had
	want  []int32 // by full step of the whole: candidates in the part
	left  []int32 // by full step of the whole: room that others leave
	steps []int32 // by full step of the whole: that of the part, or −1
}

// cut returns the part of a model that some notes make, in the order given.
// Where the answer of the other notes is given, the candidates that they exclude
// are gone and steps have the room that they leave; where it is nil they do not
// matter. The part is good until the next call.
func (c *cutter) cut(whole *model, notes []int32, others answer, k keep) *model {
	c.prepare(whole, notes, others)
	m := &c.m
	for i, n := range notes {
		m.first = append(m.first, int32(len(m.cost)))
		m.out, m.aim = append(m.out, whole.out[n]), append(m.aim, whole.aim[n])
		for o, to := whole.candidates(n); o < to; o++ {
			if !math.IsInf(whole.cost[o], 1) && (others == nil || c.open(whole, o, others)) {
				c.local[o] = int32(len(m.cost))
				m.from = append(m.from, o)
				m.cost = append(m.cost, whole.cost[o])
				m.note = append(m.note, int32(i))
				m.channel, m.later = append(m.channel, whole.channel[o]), append(m.later, whole.later[o])
				if s := whole.step[o]; s >= 0 {
					c.want[s]++
				}
			}
		}
	}
	m.first = append(m.first, int32(len(m.cost)))
	for _, o := range m.from {
		from := len(m.conflicts)
		m.at = append(m.at, int32(from))
		for _, f := range whole.excluded(o) {
			if l := c.local[f]; l >= 0 && (k == allConflicts || (whole.channel[f] == whole.channel[o]) == (k == channelConflicts)) {
				m.conflicts = append(m.conflicts, l)
			}
		}
		slices.Sort(m.conflicts[from:])
		m.step = append(m.step, c.stepOf(whole, o, k))
	}
	m.at = append(m.at, int32(len(m.conflicts)))
	for _, o := range m.from {
		c.local[o] = -1
	}
	for i, o := range c.was {
		others[notes[i]] = o
	}
	return m
}

func (c *cutter) prepare(whole *model, notes []int32, others answer) {
	m := &c.m
	*m = model{
		first: m.first[:0], out: m.out[:0], aim: m.aim[:0], cost: m.cost[:0], note: m.note[:0], channel: m.channel[:0],
		later: m.later[:0], step: m.step[:0], room: m.room[:0], at: m.at[:0], conflicts: m.conflicts[:0], from: m.from[:0],
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
		others[n] = LeftOut
	}
	if len(whole.room) > 0 {
		for _, o := range others {
			if o != LeftOut && whole.step[o] >= 0 {
				c.left[whole.step[o]]--
			}
		}
	}
}

// open reports whether the other notes leave a candidate of the part open.
func (c *cutter) open(whole *model, o int32, others answer) bool {
	if s := whole.step[o]; s >= 0 && c.left[s] <= 0 {
		return false
	}
	for _, f := range whole.excluded(o) {
		if others[whole.note[f]] == f {
			return false
		}
	}
	return true
}

func (c *cutter) stepOf(whole *model, o int32, k keep) int32 {
	s := whole.step[o]
	if s < 0 || k == channelConflicts || c.want[s] <= c.left[s] {
		return -1
	}
	if c.steps[s] < 0 {
		c.steps[s] = int32(len(c.m.room))
		c.m.room = append(c.m.room, c.left[s])
	}
	return c.steps[s]
}
