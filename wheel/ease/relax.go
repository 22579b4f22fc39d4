package ease

import (
	"context"
	"math"
	"slices"
)

// relaxation is a lower bound on the cost of a component with full steps: every
// candidate on a full step costs a price more, and what the steps have room for
// is paid back. Then steps tie nothing together any more, and what is left falls
// apart into pieces that can be swept. The prices are raised on steps that come
// out overfull and lowered on others, which makes the bound grow, and what comes
// out is an answer once room is made.
//
// This is Lagrangean relaxation (Geoffrion, Mathematical Programming Study 2,
// 1974), by subgradients.
type relaxation struct {
	ascent
	notes  [][]int32 // by piece
	pieces []*model  // without full steps
	sums   []float64 // by piece: what its last sweep came to
	price  []float64 // by full step
	stale  []bool    // by full step: another price than last time
	taken  answer
}

// relaxSteps answers a component with full steps: first as if there were none,
// then as a whole where that does not take too long.
func (s *solver) relaxSteps(m *model, comp *component) {
	b := &relaxation{ascent: newAscent(s.effort.rounds), price: make([]float64, len(m.room)), stale: make([]bool, len(m.room)), taken: make(answer, m.notes())}
	loose := *m
	loose.step = slices.Repeat([]int32{-1}, len(m.step))
	loose.room = nil
	every := make([]int32, m.notes())
	for i := range every {
		every[i] = int32(i)
	}
	for _, notes := range connected(&loose, every) {
		b.notes = append(b.notes, notes)
		b.pieces = append(b.pieces, s.piece.cut(&loose, notes, nil, allConflicts).clone())
	}
	b.sums = slices.Repeat([]float64{math.NaN()}, len(b.pieces))
	comp.bound = b
	comp.cost = math.Inf(1)
	b.round(s, m, comp)
	if comp.answer == nil {
		r := s.sweeper.sweep(context.WithoutCancel(s.ctx), m, sweep{width: rescueWidth, under: math.Inf(1)})
		comp.answer, comp.cost = slices.Clone(r.taken), r.cost
		return
	}
	r := s.sweeper.sweep(s.ctx, m, sweep{width: s.effort.narrow, under: math.Inf(1), effort: s.effort.stepStates})
	if r.taken == nil {
		return
	}
	if r.cost < comp.cost {
		comp.answer, comp.cost = slices.Clone(r.taken), r.cost
	}
	switch {
	case r.exact:
		comp.lower = comp.cost
	case m.notes() <= fewNotes:
		s.prove(m, &comp.solution)
	}
}

// fewNotes is as many as may be swept through as a whole in spite of full
// steps, which leave many more states than lanes do.
const fewNotes = 100

func (b *relaxation) raise(s *solver, m *model, comp *component) (more bool) {
	for k := 0; k < roundsAtOnce && !b.done; k++ {
		b.done = !b.move(m, comp.cost) || !b.round(s, m, comp)
	}
	return !b.done
}

// round sweeps what has another price. It reports whether to go on.
func (b *relaxation) round(s *solver, m *model, comp *component) bool {
	for k, piece := range b.pieces {
		changed := math.IsNaN(b.sums[k])
		for o, from := range piece.from {
			piece.cost[o] = m.cost[from]
			if step := m.step[from]; step >= 0 {
				piece.cost[o] += b.price[step]
				changed = changed || b.stale[step]
			}
		}
		if !changed {
			continue
		}
		r := s.sweeper.sweep(s.ctx, piece, sweep{width: s.effort.narrow, merge: true, under: math.Inf(1)})
		if r.taken == nil {
			return false
		}
		b.sums[k] = r.cost
		for i, o := range r.taken {
			if o != LeftOut {
				o = piece.from[o]
			}
			b.taken[b.notes[k][i]] = o
		}
	}
	clear(b.stale)
	sum := 0.0
	for _, c := range b.sums {
		sum += c
	}
	for step, price := range b.price {
		sum -= price * float64(m.room[step])
	}
	b.offer(m, comp)
	return b.reached(sum, comp)
}

// offer makes room in what came out and keeps it if it costs less.
func (b *relaxation) offer(m *model, comp *component) {
	r := solution{answer: slices.Clone(b.taken)}
	for n, o := range r.answer { // of merged sweeps, what excludes each other is left out
		if o == LeftOut {
			continue
		}
		for _, f := range m.excluded(o) {
			if r.answer[m.note[f]] == f {
				r.answer[n] = LeftOut
				break
			}
		}
	}
	m.makeRoom(&r)
	r.cost = m.sum(r.answer)
	if r.cost < comp.cost {
		comp.answer, comp.cost = r.answer, r.cost
	}
}

// move moves the prices. It reports whether there is any to be moved.
func (b *relaxation) move(m *model, cost float64) bool {
	over := make([]float64, len(b.price))
	for step, room := range m.room {
		over[step] = -float64(room)
	}
	for _, o := range b.taken {
		if o != LeftOut && m.step[o] >= 0 {
			over[m.step[o]]++
		}
	}
	norm := 0.0
	for step, d := range over {
		if d < 0 && b.price[step] == 0 {
			over[step] = 0
		}
		norm += over[step] * over[step]
	}
	if norm == 0 {
		return false
	}
	by := b.step * (cost - b.best) / norm
	for step, d := range over {
		if price := max(0, b.price[step]+by*d); price != b.price[step] {
			b.price[step], b.stale[step] = price, true
		}
	}
	return true
}
