package ease

import (
	"context"
	"math"
	"slices"
)

// rescueWidth is the width of a sweep when no time is left.
const rescueWidth = 8

// sweepAll answers a component by a narrow sweep through all of it; where that
// had to drop states, it looks for the proof.
func (s *solver) sweepAll(m *model) solution {
	r := s.sweeper.sweep(s.ctx, m, sweep{width: s.effort.narrow, under: math.Inf(1)})
	if r.taken == nil {
		r = s.sweeper.sweep(context.WithoutCancel(s.ctx), m, sweep{width: rescueWidth, under: math.Inf(1)})
	}
	best := solution{answer: slices.Clone(r.taken), cost: r.cost}
	if r.exact {
		best.lower = best.cost
		return best
	}
	s.prove(m, &best)
	return best
}

// prove sweeps through a component forward and backward, merging states instead
// of dropping them, ever wider. What a sweep says of the notes so far is a lower
// bound on the rest for the next one, which leaves out the states that cannot
// become better than the best answer known. Once no state is left, that answer
// is proved.
func (s *solver) prove(m *model, best *solution) {
	n := m.notes()
	s.notes = s.notes[:0]
	for i := range n {
		s.notes = append(s.notes, int32(n-1-i))
	}
	back := s.piece.cut(m, s.notes, nil, allConflicts)
	to, fro := m, back
	s.rest = s.rest[:0]
	for width, effort := s.effort.narrow, s.effort.proofStates; effort > 0 && !best.exact(); width = min(2*width, s.effort.widest) {
		to, fro = fro, to
		r := s.sweeper.sweep(s.ctx, to, sweep{width: width, merge: true, under: best.cost, rest: s.rest, effort: effort})
		effort -= r.tried
		if r.taken == nil {
			if r.exact { // no state is left that could become better
				best.lower = best.cost
			}
			return
		}
		best.lower = max(best.lower, min(r.cost, best.cost))
		if r.cost < best.cost && to.allowed(r.taken) {
			best.cost = r.cost
			for i, o := range r.taken {
				if to == back {
					i = n - 1 - i
					if o != LeftOut {
						o = back.from[o]
					}
				}
				best.answer[i] = o
			}
		}
		s.rest = s.rest[:0]
		for i := range n + 1 {
			s.rest = append(s.rest, r.ahead[n-i])
		}
	}
}
