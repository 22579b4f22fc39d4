package arrange

import (
	"math"
	"slices"
)

// settler takes out of a puzzle what need not be looked for. An option that is
// gone costs +Inf from then on.
type settler struct {
	p      *puzzle
	rivals []int32 // by option: how many of those that it excludes are not gone
}

// settle finds the notes whose cheapest option excludes nothing that is left,
// until there are none, and gives them that option. open are the others.
func settle(p *puzzle) (a answer, open []int32) {
	s := settler{p: p, rivals: make([]int32, len(p.cost))}
	for o := range p.cost {
		s.rivals[o] = p.at[o+1] - p.at[o]
	}
	a = make(answer, p.notes())
	for i := range a {
		a[i] = leftOut
		open = append(open, int32(i))
	}
	for again := true; again; {
		again = false
		for _, n := range open {
			again = s.prune(n) || again
		}
		left := open[:0]
		for _, n := range open {
			if o, ok := s.easy(n); ok {
				a[n] = o
				again = true
				for q, to := p.options(n); q < to; q++ {
					if q != o {
						s.remove(q)
					}
				}
			} else {
				left = append(left, n)
			}
		}
		open = left
	}
	return a, open
}

func (s *settler) gone(o int32) bool { return math.IsInf(s.p.cost[o], 1) }

func (s *settler) remove(o int32) {
	if s.gone(o) {
		return
	}
	s.p.cost[o] = math.Inf(1)
	for _, f := range s.p.excludes(o) {
		s.rivals[f]--
	}
}

// easy is the option of a note that is as cheap as any and excludes nothing.
func (s *settler) easy(n int32) (best int32, ok bool) {
	best, least := leftOut, s.p.out[n]
	for o, to := s.p.options(n); o < to; o++ {
		if s.p.cost[o] < least {
			best, least = o, s.p.cost[o]
		}
	}
	if best == leftOut {
		return best, true
	}
	return best, s.rivals[best] == 0 && s.p.step[best] < 0
}

// prune removes the options of a note than which another on the same channel
// costs no more and excludes no more.
func (s *settler) prune(n int32) (some bool) {
	p := s.p
	from, to := p.options(n)
	for o := from; o < to; o++ {
		for q := from; q < to && !s.gone(o); q++ {
			if q == o || s.gone(q) || p.channel[o] != p.channel[q] || p.step[q] >= 0 && p.step[q] != p.step[o] {
				continue
			}
			if (p.cost[q] < p.cost[o] || p.cost[q] == p.cost[o] && q < o) && s.excludesNoMore(q, o) {
				s.remove(o)
				some = true
			}
		}
	}
	return some
}

// excludesNoMore reports whether all that q excludes o excludes too.
func (s *settler) excludesNoMore(q, o int32) bool {
	if s.rivals[q] > s.rivals[o] {
		return false
	}
	has := s.p.excludes(o)
	for _, f := range s.p.excludes(q) {
		if s.gone(f) {
			continue
		}
		for len(has) > 0 && has[0] < f {
			has = has[1:]
		}
		if len(has) == 0 || has[0] != f {
			return false
		}
	}
	return true
}

// components are the notes that, over others, have to do with each other, each
// list in the order of open.
func components(p *puzzle, open []int32) [][]int32 {
	notes := newForest(p.notes())
	at := make([]int32, len(p.room)) // a note with an option on a full step, plus 1
	for _, n := range open {
		for o, to := p.options(n); o < to; o++ {
			if math.IsInf(p.cost[o], 1) {
				continue
			}
			for _, f := range p.excludes(o) {
				if !math.IsInf(p.cost[f], 1) {
					notes.join(p.note[f], n)
				}
			}
			if s := p.step[o]; s >= 0 {
				if at[s] > 0 {
					notes.join(at[s]-1, n)
				}
				at[s] = n + 1
			}
		}
	}
	return notes.groups(open, func(n int32) int32 { return n })
}

// inTurn brings notes in the order of the wheel, from where the fewest of them
// stand that exclude any before.
func inTurn(p *puzzle, notes []int32) []int32 {
	aims, turn := p.aim, p.turn
	notes = slices.Clone(notes)
	slices.SortStableFunc(notes, func(a, b int32) int { return int(aims[a] - aims[b]) })
	reach := int32(0)
	for _, n := range notes {
		for o, to := p.options(n); o < to; o++ {
			if math.IsInf(p.cost[o], 1) {
				continue
			}
			for _, f := range p.excludes(o) {
				if !math.IsInf(p.cost[f], 1) {
					d := (aims[p.note[f]] - aims[n] + turn) % turn
					reach = max(reach, min(d, turn-d))
				}
			}
		}
	}
	start, fewest := 0, len(notes)+1
	for i, k := 0, 0; i < len(notes); i++ { // k notes from i on are within reach before it
		for k = max(k, i); k < i+len(notes); k++ {
			ahead := aims[notes[k%len(notes)]] - aims[notes[i]]
			if k >= len(notes) {
				ahead += turn
			}
			before := aims[notes[i]] - aims[notes[(i+len(notes)-1)%len(notes)]]
			if i == 0 {
				before += turn
			}
			if ahead+before > reach {
				break
			}
		}
		if k-i < fewest {
			start, fewest = i, k-i
		}
	}
	return slices.Concat(notes[start:], notes[:start])
}
