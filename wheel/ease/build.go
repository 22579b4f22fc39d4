package ease

import (
	"cmp"
	"math"
	"slices"
)

// newModel writes a problem down as a model. ok is false where more candidates
// exclude each other than there is room for: the model has no conflicts then.
func newModel(p *Problem) (m *model, ok bool) {
	m = &model{turn: int32(p.Turn), gap: make([]int32, len(p.Channels))}
	for c, channel := range p.Channels {
		m.gap[c] = int32(min(channel.Gap, p.Turn+1))
	}
	all := 0
	for i := range p.Notes {
		all += len(p.Notes[i].Candidates)
	}
	m.cost, m.note, m.channel = make([]float64, 0, all), make([]int32, 0, all), make([]int32, 0, all)
	m.later, m.candidate = make([]int32, 0, all), make([]int32, 0, all)
	m.first = make([]int32, 0, len(p.Notes)+1)
	m.out, m.aim = make([]float64, 0, len(p.Notes)), make([]int32, 0, len(p.Notes))
	forbidding := p.forbidding()
	for i := range p.Notes {
		n := &p.Notes[i]
		m.first = append(m.first, int32(len(m.cost)))
		out := n.LeaveOut
		if n.Stays {
			out = forbidding
		}
		m.out, m.aim = append(m.out, out), append(m.aim, int32(n.Aim))
		for k, c := range n.Candidates {
			if p.Channels[c.Channel].Gap > p.Turn {
				continue
			}
			m.cost, m.note = append(m.cost, c.Cost), append(m.note, int32(i))
			m.channel, m.later = append(m.channel, int32(c.Channel)), append(m.later, int32(c.Later))
			m.candidate = append(m.candidate, int32(k))
		}
	}
	m.first = append(m.first, int32(len(m.cost)))
	b := newBuilder(p, m)
	m.at = make([]int32, len(m.cost)+1)
	most, pairs := p.Limits.Pairs, 0
	if most == 0 {
		most = usualPairs
	}
	if !b.each(func(o, _ int32) bool { m.at[o+1]++; pairs++; return pairs <= most }) {
		return m, false
	}
	for o := range m.cost {
		m.at[o+1] += m.at[o]
	}
	m.conflicts = make([]int32, pairs)
	next := slices.Clone(m.at)
	b.each(func(o, f int32) bool { m.conflicts[next[o]] = f; next[o]++; return true })
	for o := range m.cost {
		slices.Sort(m.conflicts[m.at[o]:m.at[o+1]])
	}
	b.fullSteps(p.TripsAtOnce)
	return m, true
}

// usualPairs is the usual limit of pairs that exclude each other, and mostLooks
// how many pairs may be looked at for them.
const (
	usualPairs = 12_000_000
	mostLooks  = 100_000_000
)

// builder finds what excludes what, by where the pins of candidates are.
type builder struct {
	m      *model
	pins   []int32   // by candidate: the step of its pin
	inTurn []int32   // candidates by the step of their pins
	start  []int32   // by step: where its candidates begin in inTurn
	rivals [][]rival // by channel
	spread int       // the most steps by which two notes may come nearer
}

// rival is a range of steps, both ends in it, by which pins of another channel
// may not come after those of a channel.
type rival struct {
	channel, other int32
	from, to       int
}

func newBuilder(p *Problem, m *model) *builder {
	b := &builder{m: m, inTurn: make([]int32, len(m.cost)), start: make([]int32, p.Turn+1), rivals: rivalsOf(p)}
	earliest, latest := int32(0), int32(0)
	for o, later := range m.later {
		earliest, latest = min(earliest, later), max(latest, later)
		step := m.wrap(int(m.aim[m.note[o]]+later) - p.Channels[m.channel[o]].Advance)
		b.pins = append(b.pins, step)
		b.start[step+1]++
	}
	b.spread = int(latest - earliest)
	for s := range m.turn {
		b.start[s+1] += b.start[s]
	}
	next := slices.Clone(b.start)
	for o, step := range b.pins {
		b.inTurn[next[step]] = int32(o)
		next[step]++
	}
	return b
}

// rivalsOf is the meetings from either side, by channel and in each list by the
// other one.
func rivalsOf(p *Problem) [][]rival {
	all := make([]rival, 0, 2*len(p.Meetings))
	for _, g := range p.Meetings {
		a, b := int32(g.Channel), int32(g.Other)
		all = append(all, rival{a, b, g.From, g.To}, rival{b, a, -g.To, -g.From})
	}
	slices.SortStableFunc(all, func(a, b rival) int { return cmp.Or(cmp.Compare(a.channel, b.channel), cmp.Compare(a.other, b.other)) })
	rivals := make([][]rival, len(p.Channels))
	for from := 0; from < len(all); {
		to := from + 1
		for to < len(all) && all[to].channel == all[from].channel {
			to++
		}
		rivals[all[from].channel] = all[from:to]
		from = to
	}
	return rivals
}

// wrap brings a step to the turn.
func (m *model) wrap(step int) int32 {
	if step %= int(m.turn); step < 0 {
		step += int(m.turn)
	}
	return int32(step)
}

// tooNear reports whether two candidates on one channel come nearer than its
// gap, or sound in another order than they should.
func (m *model) tooNear(a, b int32) bool {
	aimA, aimB := m.aim[m.note[a]], m.aim[m.note[b]]
	after := aimB + m.later[b] - aimA - m.later[a]
	switch {
	case aimA > aimB:
		after = -after
	case aimA == aimB && after < 0: // of two that should sound together either may be first
		after = -after
	}
	gap := m.gap[m.channel[a]]
	return after < gap || m.turn-after < gap
}

// each calls do for every candidate and each candidate of another note that it
// excludes, until do says to stop. It reports whether it came to the end.
func (b *builder) each(do func(o, f int32) bool) bool {
	m, turn := b.m, int(b.m.turn)
	ranges := make([][]rival, len(m.gap)) // of the channel at hand, by the other
	byChannel := make([][]int32, len(m.gap))
	for o, c := range m.channel {
		byChannel[c] = append(byChannel[c], int32(o))
	}
	looks := 0
	for c, candidates := range byChannel {
		reach := max(int(m.gap[c])-1, b.spread) // so far apart two may be in the wrong order
		from, to := -reach, reach
		for k, r := range b.rivals[c] {
			from, to = min(from, r.from), max(to, r.to)
			first := k - len(ranges[r.other])
			ranges[r.other] = b.rivals[c][first : k+1]
		}
		to = min(to, from+turn-1)
		for _, o := range candidates {
			note, step := m.note[o], b.pins[o]
			first := m.wrap(int(step) + from)
			begin, left := int(b.start[first]), b.count(first, to-from+1)
			if looks += left; looks > mostLooks {
				return false
			}
			for ; left > 0; left-- {
				if begin == len(b.inTurn) {
					begin = 0
				}
				f := b.inTurn[begin]
				begin++
				if m.note[f] == note {
					continue
				}
				if m.channel[f] == int32(c) {
					if !m.tooNear(o, f) {
						continue
					}
				} else if !meets(ranges[m.channel[f]], int(b.pins[f]-step), turn) {
					continue
				}
				if !do(o, f) {
					return false
				}
			}
		}
		for _, r := range b.rivals[c] {
			ranges[r.other] = nil
		}
	}
	return true
}

// count is how many candidates have their pins on so many steps from one on.
func (b *builder) count(first int32, steps int) int {
	end := int(first) + steps
	if turn := int(b.m.turn); end > turn {
		return len(b.inTurn) - int(b.start[first]) + int(b.start[end-turn])
	}
	return int(b.start[end] - b.start[first])
}

// meets reports whether a difference in steps is in a range, in the same or
// another turn.
func meets(ranges []rival, d, turn int) bool {
	for _, r := range ranges {
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

// fullSteps finds the steps that more candidates want than may be tripped at
// once.
func (b *builder) fullSteps(most int) {
	m := b.m
	m.step = slices.Repeat([]int32{-1}, len(b.pins))
	if most == 0 {
		return
	}
	most = min(most, math.MaxInt32)
	index := make([]int32, m.turn)
	for o, s := range b.pins {
		if int(b.start[s+1]-b.start[s]) <= most {
			continue
		}
		if index[s] == 0 {
			m.room = append(m.room, int32(most))
			index[s] = int32(len(m.room))
		}
		m.step[o] = index[s] - 1
	}
}
