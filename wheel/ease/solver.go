package ease

import "context"

// solver finds the cheapest answer to a model. It finds the same one for the
// same model, unless its context ends first.
type solver struct {
	ctx     context.Context
	effort  effort
	sweeper sweeper
	cutter  cutter // of components
	piece   cutter // of pieces of a component

	// Working memory.
	notes []int32
	rest  []float64
	stamp []int32 // by note of a component: the neighbourhood it was last put in
	round int32
}

// solution is an answer and what is proved of it.
type solution struct {
	answer answer
	cost   float64
	lower  float64 // no answer costs less
}

// exact reports whether the cost is the least, but for rounding.
func (r *solution) exact() bool { return r.cost-r.lower <= proofGap+1e-12*r.cost }

const (
	// proofGap is how near a lower bound has to come to a cost to prove it the
	// least: far below what leaving out or shifting any note costs.
	proofGap = 1e-6

	// sameCost is how near two costs count as equal: far above rounding, far
	// below what tells candidates apart.
	sameCost = 1e-10

	// allStepsFrom is the round from which all full steps count.
	allStepsFrom = 4
)

// solve answers a model.
//
// Full steps tie notes together that otherwise have nothing to do with each
// other, and few of them would be overfilled. So they are lazy constraints: only
// those count that an answer without them did overfill. Where the least cost
// with some of them overfills none of the others, it is the least cost.
func (s *solver) solve(m *model) solution {
	counted := make([]bool, len(m.room))
	known := map[string]*component{}
	lower := 0.0
	for round := 1; ; round++ {
		q := m.withSteps(counted)
		settled, components := s.decompose(q, known)
		all := settled.with(components)
		over := m.overfull(all.answer)
		if len(over) == 0 {
			s.improve(q, components)
			all = settled.with(components)
			over = m.overfull(all.answer)
		}
		lower = max(lower, all.lower)
		all.lower = lower
		if len(over) == 0 {
			return all
		}
		if s.ctx.Err() != nil {
			m.makeRoom(&all)
			return all
		}
		for _, step := range over {
			counted[step] = true
		}
		for step := range counted {
			counted[step] = counted[step] || round >= allStepsFrom
		}
	}
}

// improve searches for better answers to components and for better bounds, a bit
// of each in turn, until neither gets any further.
func (s *solver) improve(m *model, components []*component) {
	for busy := true; busy && s.ctx.Err() == nil; {
		busy = false
		for _, comp := range components {
			if comp.exact() {
				continue
			}
			part := s.cutter.cut(m, comp.notes, nil, allConflicts)
			if comp.bound == nil {
				comp.bound = newDecomposition(s, part)
			}
			searching := s.localSearch(part, comp)
			bounding := comp.bound.raise(s, part, comp)
			busy = busy || searching || bounding
		}
	}
}
