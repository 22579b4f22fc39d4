package arrange

import (
	"context"
	"math"
	"slices"
)

// prices is a lower bound on the cost of a tangle with full steps: every option
// on a full step costs a price more, and what the steps have room for is paid
// back. Then steps tie nothing together any more, and what is left falls apart
// into tangles that can be swept. The prices are raised on steps that come out
// overfull and lowered on others, which makes the bound grow, and what comes
// out once room is made is an answer.
//
// This is Lagrangean relaxation (Geoffrion, Mathematical Programming Study 2,
// 1974), by subgradients.
type prices struct {
	climb
	notes  [][]int32 // by loose tangle
	pieces []*puzzle // without full steps
	sums   []float64 // by loose tangle: what its last sweep came to
	price  []float64 // by full step
	stale  []bool    // by full step: another price than last time
	taken  answer
}

// crowd answers a tangle with full steps: first as if there were none, then as a
// whole where that does not take too long.
func (s *solver) crowd(p *puzzle, t *tangle) {
	b := &prices{climb: newClimb(s.pains.climb), price: make([]float64, len(p.room)), stale: make([]bool, len(p.room)), taken: make(answer, p.notes())}
	loose := *p
	loose.step = slices.Repeat([]int32{-1}, len(p.step))
	loose.room = nil
	every := make([]int32, p.notes())
	for i := range every {
		every[i] = int32(i)
	}
	for _, notes := range components(&loose, every) {
		b.notes = append(b.notes, notes)
		b.pieces = append(b.pieces, s.piece.cut(&loose, notes, nil, allFoes).clone())
	}
	b.sums = slices.Repeat([]float64{math.NaN()}, len(b.pieces))
	t.bound = b
	t.cost = math.Inf(1)
	b.round(s, p, t)
	if t.answer == nil {
		r := s.sweeper.sweep(context.WithoutCancel(s.ctx), p, sweep{width: rescueWidth, under: math.Inf(1)})
		t.answer, t.cost = slices.Clone(r.taken), r.cost
		return
	}
	r := s.sweeper.sweep(s.ctx, p, sweep{width: s.pains.narrow, under: math.Inf(1), effort: s.pains.roomEffort})
	if r.taken == nil {
		return
	}
	if r.cost < t.cost {
		t.answer, t.cost = slices.Clone(r.taken), r.cost
	}
	switch {
	case r.exact:
		t.lower = t.cost
	case p.notes() <= fewNotes:
		s.prove(p, &t.solved)
	}
}

// fewNotes is as many as may be swept through as a whole in spite of full
// steps, which leave many more states than lanes do.
const fewNotes = 100

func (b *prices) raise(s *solver, p *puzzle, t *tangle) (more bool) {
	for k := 0; k < climbAtOnce && !b.done; k++ {
		b.done = !b.move(p, t.cost) || !b.round(s, p, t)
	}
	return !b.done
}

// round sweeps what has another price. It reports whether to go on.
func (b *prices) round(s *solver, p *puzzle, t *tangle) bool {
	for k, piece := range b.pieces {
		fresh := math.IsNaN(b.sums[k])
		for o, from := range piece.from {
			piece.cost[o] = p.cost[from]
			if step := p.step[from]; step >= 0 {
				piece.cost[o] += b.price[step]
				fresh = fresh || b.stale[step]
			}
		}
		if !fresh {
			continue
		}
		r := s.sweeper.sweep(s.ctx, piece, sweep{width: s.pains.narrow, merge: true, under: math.Inf(1)})
		if r.taken == nil {
			return false
		}
		b.sums[k] = r.cost
		for i, o := range r.taken {
			if o != leftOut {
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
		sum -= price * float64(p.room[step])
	}
	b.offer(p, t)
	return b.reached(sum, t)
}

// offer makes room in what came out and keeps it if it costs less.
func (b *prices) offer(p *puzzle, t *tangle) {
	r := solved{answer: slices.Clone(b.taken)}
	for n, o := range r.answer { // of merged sweeps, what excludes each other is left out
		if o == leftOut {
			continue
		}
		for _, f := range p.excludes(o) {
			if r.answer[p.note[f]] == f {
				r.answer[n] = leftOut
				break
			}
		}
	}
	p.makeRoom(&r)
	r.cost = p.sum(r.answer)
	if r.cost < t.cost {
		t.answer, t.cost = r.answer, r.cost
	}
}

// move moves the prices. It reports whether there is any to be moved.
func (b *prices) move(p *puzzle, cost float64) bool {
	over := make([]float64, len(b.price))
	for step, room := range p.room {
		over[step] = -float64(room)
	}
	for _, o := range b.taken {
		if o != leftOut && p.step[o] >= 0 {
			over[p.step[o]]++
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
