package arrange

import (
	"context"
	"encoding/binary"
	"math"
	"slices"
)

// solver finds the cheapest answer to a puzzle. It finds the same one for the
// same puzzle, unless its context ends first.
type solver struct {
	ctx     context.Context
	pains   pains
	sweeper sweeper
	cutter  cutter // of tangles
	piece   cutter // of pieces of a tangle
	notes   []int32
	rest    []float64
	stamp   []int32 // by note of a tangle: the ball it was last put in
	ball    int32
}

// bounder raises the lower bound on the cost of a tangle, a bit at a time. It
// reports whether going on may raise it more.
type bounder interface {
	raise(s *solver, p *puzzle, t *tangle) (more bool)
}

// solved is an answer and what is proved of it.
type solved struct {
	answer answer
	cost   float64
	lower  float64 // no answer costs less
}

// exact reports whether the cost is the least, but for rounding.
func (r *solved) exact() bool { return r.cost-r.lower <= proved+1e-12*r.cost }

// proved is how near a lower bound has to come to a cost to prove it the
// least: far below what any note or shift costs.
const proved = 1e-6

// pains is how many pains a solver takes. Widths and efforts are in states.
type pains struct {
	narrow      int // width of sweeps for an answer
	widest      int // width of sweeps for a proof, at the most
	proofEffort int // of all sweeps for the proof of a tangle
	roomEffort  int // of a sweep through a tangle with full steps
	climb       int // rounds of raising a bound
}

// Notes of one channel, round the seam, leave some hundred states after each
// of them; lanes that many channels share leave more than there is room for.
var usualPains = pains{narrow: 256, widest: 4096, proofEffort: 4_000_000, roomEffort: 200_000, climb: 80}

const (
	rescueWidth = 8 // of a sweep when no time is left
	mindAll     = 4 // rounds after which all full steps are minded
)

// tangle is notes that have to do with each other and with no others, in the
// order of the wheel.
type tangle struct {
	notes  []int32
	from   []int32 // its options in the whole puzzle
	search search
	bound  bounder
	solved
}

// solve answers a puzzle.
//
// Full steps tie notes together that otherwise have nothing to do with each
// other, and few of them would be overfilled. So only those are minded that an
// answer without them did overfill; where the least cost with some of them
// overfills none, it is the least cost.
func (s *solver) solve(p *puzzle) solved {
	minded := make([]bool, len(p.room))
	known := map[string]*tangle{}
	lower := 0.0
	for round := 1; ; round++ {
		q := p.minding(minded)
		easy, tangles := s.untangle(q, known)
		all := easy.with(tangles)
		over := p.overfull(all.answer)
		if len(over) == 0 {
			s.work(q, tangles)
			all = easy.with(tangles)
			over = p.overfull(all.answer)
		}
		lower = max(lower, all.lower)
		all.lower = lower
		if len(over) == 0 {
			return all
		}
		if s.ctx.Err() != nil {
			p.makeRoom(&all)
			return all
		}
		for _, step := range over {
			minded[step] = true
		}
		for step := range minded {
			minded[step] = minded[step] || round >= mindAll
		}
	}
}

// untangle answers the notes that are easy, and sweeps through the tangles of
// the others, but for those that are known already.
func (s *solver) untangle(p *puzzle, known map[string]*tangle) (easy solved, tangles []*tangle) {
	a, open := settle(p)
	easy.answer = a
	isOpen := make([]bool, len(a))
	for _, n := range open {
		isOpen[n] = true
	}
	for n, o := range a {
		if !isOpen[n] {
			easy.cost += p.costOf(int32(n), o)
		}
	}
	easy.lower = easy.cost
	for _, notes := range components(p, open) {
		notes = inTurn(p, notes)
		part := s.cutter.cut(p, notes, nil, allFoes)
		key := part.key(p)
		t := known[key]
		if t == nil {
			t = &tangle{notes: notes, from: slices.Clone(part.from)}
			switch {
			case part.isChain():
				t.solved = newChain(part).solve()
			case len(part.room) == 0:
				t.solved = s.sweepAll(part)
			default:
				s.crowd(part, t)
			}
			known[key] = t
		}
		tangles = append(tangles, t)
	}
	return easy, tangles
}

// key tells parts of a puzzle apart.
func (p *puzzle) key(whole *puzzle) string {
	key := make([]byte, 0, 8*len(p.from))
	for k, o := range p.from {
		step := int32(-1)
		if p.step[k] >= 0 {
			step = whole.step[o]
		}
		key = binary.LittleEndian.AppendUint32(key, uint32(o))
		key = binary.LittleEndian.AppendUint32(key, uint32(step))
	}
	return string(key)
}

// with is an answer with those of tangles in it.
func (r *solved) with(tangles []*tangle) solved {
	all := *r
	for _, t := range tangles {
		for i, o := range t.answer {
			if o != leftOut {
				o = t.from[o]
			}
			all.answer[t.notes[i]] = o
		}
		all.cost += t.cost
		all.lower += t.lower
	}
	return all
}

// work searches for better answers to tangles and for better bounds, a bit of
// each in turn, until neither gets any further.
func (s *solver) work(p *puzzle, tangles []*tangle) {
	for busy := true; busy && s.ctx.Err() == nil; {
		busy = false
		for _, t := range tangles {
			if t.exact() {
				continue
			}
			part := s.cutter.cut(p, t.notes, nil, allFoes)
			if t.bound == nil {
				t.bound = newWays(s, part)
			}
			searching := s.searchOn(part, t)
			bounding := t.bound.raise(s, part, t)
			busy = busy || searching || bounding
		}
	}
}

// sweepAll answers a tangle by sweeping through all of it, narrowly; where that
// had to drop states, it looks for the proof.
func (s *solver) sweepAll(p *puzzle) solved {
	r := s.sweeper.sweep(s.ctx, p, sweep{width: s.pains.narrow, under: math.Inf(1)})
	if r.taken == nil {
		r = s.sweeper.sweep(context.WithoutCancel(s.ctx), p, sweep{width: rescueWidth, under: math.Inf(1)})
	}
	best := solved{answer: slices.Clone(r.taken), cost: r.cost}
	if r.exact {
		best.lower = best.cost
		return best
	}
	s.prove(p, &best)
	return best
}

// prove sweeps through a tangle to and fro, merging states instead of dropping
// them, ever wider. What a sweep says of the notes so far is a lower bound on
// the rest for the next one, which leaves out the states that cannot become
// better than the answer known. Once there are none that one is the best.
func (s *solver) prove(p *puzzle, best *solved) {
	n := p.notes()
	s.notes = s.notes[:0]
	for i := range n {
		s.notes = append(s.notes, int32(n-1-i))
	}
	back := s.piece.cut(p, s.notes, nil, allFoes)
	to, fro := p, back
	s.rest = s.rest[:0]
	for width, effort := s.pains.narrow, s.pains.proofEffort; effort > 0 && !best.exact(); width = min(2*width, s.pains.widest) {
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
					if o != leftOut {
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
