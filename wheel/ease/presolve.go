package ease

import (
	"math"
)

// presolver takes out of a model what the search need not look at. A candidate
// that is gone costs +Inf from then on.
type presolver struct {
	m      *model
	rivals []int32 // by candidate: how many of those that it excludes are not gone
}

// presolve gives notes their cheapest candidate where that excludes nothing that
// is left, until there are no such notes. open are the others.
func presolve(m *model) (a answer, open []int32) {
	s := presolver{m: m, rivals: make([]int32, len(m.cost))}
	for o := range m.cost {
		s.rivals[o] = m.at[o+1] - m.at[o]
	}
	a = make(answer, m.notes())
	for i := range a {
		a[i] = LeftOut
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
				for q, to := m.candidates(n); q < to; q++ {
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

func (s *presolver) gone(o int32) bool { return math.IsInf(s.m.cost[o], 1) }

func (s *presolver) remove(o int32) {
	if s.gone(o) {
		return
	}
	s.m.cost[o] = math.Inf(1)
	for _, f := range s.m.excluded(o) {
		s.rivals[f]--
	}
}

// easy is the candidate of a note that is as cheap as any and excludes nothing.
func (s *presolver) easy(n int32) (best int32, ok bool) {
	best, least := LeftOut, s.m.out[n]
	for o, to := s.m.candidates(n); o < to; o++ {
		if s.m.cost[o] < least {
			best, least = o, s.m.cost[o]
		}
	}
	if best == LeftOut {
		return best, true
	}
	return best, s.rivals[best] == 0 && s.m.step[best] < 0
}

// prune removes each candidate of a note for which there is another one, on the
// same channel, that costs no more and excludes no more. It reports whether it
// removed any.
func (s *presolver) prune(n int32) (some bool) {
	m := s.m
	from, to := m.candidates(n)
	for o := from; o < to; o++ {
		for q := from; q < to && !s.gone(o); q++ {
			if q == o || s.gone(q) || m.channel[o] != m.channel[q] || m.step[q] >= 0 && m.step[q] != m.step[o] {
				continue
			}
			if (m.cost[q] < m.cost[o] || m.cost[q] == m.cost[o] && q < o) && s.excludesNoMore(q, o) {
				s.remove(o)
				some = true
			}
		}
	}
	return some
}

// excludesNoMore reports whether all that q excludes o excludes too.
func (s *presolver) excludesNoMore(q, o int32) bool {
	if s.rivals[q] > s.rivals[o] {
		return false
	}
	has := s.m.excluded(o)
	for _, f := range s.m.excluded(q) {
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
