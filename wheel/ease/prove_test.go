package ease

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// crowdedModel is 14 notes on three channels of which some share lanes.
func crowdedModel(t *testing.T, random *rand.Rand, trips int) *model {
	t.Helper()
	p := Problem{Turn: 20 + random.IntN(20), TripsAtOnce: trips, Meetings: []Meeting{{0, 1, -1, 1}, {1, 2, 0, 2}}}
	for range 3 {
		p.Channels = append(p.Channels, Channel{Gap: 2 + random.IntN(3), Advance: random.IntN(4)})
	}
	for range 14 {
		n := Note{Aim: random.IntN(p.Turn), LeaveOut: 1 + random.Float64()}
		for later := -1; later <= 1; later++ {
			n.Candidates = append(n.Candidates, Candidate{random.IntN(3), later, random.Float64()})
		}
		p.Notes = append(p.Notes, n)
	}
	slices.SortFunc(p.Notes, func(a, b Note) int { return a.Aim - b.Aim })
	m, ok := newModel(&p)
	if !ok {
		t.Fatal("too many candidates exclude each other")
	}
	return m
}

// leastOf is the least cost by a sweep with room for all states, which the plain
// solver of plain_test.go holds on smaller problems.
func leastOf(t *testing.T, m *model) float64 {
	t.Helper()
	var s sweeper
	r := s.sweep(context.Background(), m, sweep{width: math.MaxInt, under: math.Inf(1)})
	if !r.exact {
		t.Fatal("the sweep with room for all states proved nothing")
	}
	return r.cost
}

// TestProofNeedsNoGoodAnswer begins proofs at bad answers, with all notes left
// out or from a sweep of a few states, with little room: whatever they come to, a
// lower bound is no more than the least cost, and what is called the least is.
func TestProofNeedsNoGoodAnswer(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	const cases = 400
	exact, open, bad := 0, 0, 0
	for range cases {
		m := crowdedModel(t, random, 0)
		s := solver{ctx: context.Background(), effort: effort{narrow: 1 + random.IntN(8), widest: 8 << random.IntN(5), proofStates: 1 << (6 + random.IntN(12))}}
		least := leastOf(t, m)
		got := solution{answer: slices.Repeat(answer{LeftOut}, m.notes())}
		if random.IntN(3) > 0 {
			got.answer = slices.Clone(s.sweeper.sweep(s.ctx, m, sweep{width: 1 + random.IntN(3), under: math.Inf(1)}).taken)
		}
		got.cost = m.sum(got.answer)
		if got.cost > least+1e-6 {
			bad++
		}
		s.prove(m, &got)
		if got.lower > least+1e-9 || got.cost < least-1e-9 || got.exact() && got.cost > least+1e-6 {
			t.Errorf("least %g; proved at least %g, found %g", least, got.lower, got.cost)
		}
		if math.Abs(m.sum(got.answer)-got.cost) > 1e-9 || !m.allowed(got.answer) {
			t.Errorf("%v costs %g, said %g, allowed %v", got.answer, m.sum(got.answer), got.cost, m.allowed(got.answer))
		}
		if got.exact() {
			exact++
		} else {
			open++
		}
	}
	t.Logf("%d proofs were found, %d were not; %d began at a bad answer", exact, open, bad)
	if exact < cases/10 || open < cases/10 || bad < cases/2 {
		t.Error("too few of either were tried")
	}
}

// TestRaisedBoundsAreNoMoreThanTheLeastCost raises bounds as far as they go, and
// searches for a better answer from a bad one.
func TestRaisedBoundsAreNoMoreThanTheLeastCost(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 6))
	for _, c := range []struct {
		name  string
		trips int
		first func(s *solver, m *model, comp *component)
	}{
		{"decomposition", 0, func(s *solver, m *model, comp *component) { comp.bound = newDecomposition(s, m) }},
		{"relaxation", 1, func(s *solver, m *model, comp *component) { s.relaxSteps(m, comp) }},
	} {
		t.Run(c.name, func(t *testing.T) {
			sum, of := 0.0, 0.0
			for range 60 {
				m := crowdedModel(t, random, c.trips)
				least := leastOf(t, m)
				s := solver{ctx: t.Context(), effort: effort{narrow: 64, widest: 64, proofStates: 1, stepStates: 1, rounds: 80}}
				comp := component{solution: solution{answer: slices.Repeat(answer{LeftOut}, m.notes())}}
				comp.cost = m.sum(comp.answer)
				c.first(&s, m, &comp)
				for comp.bound.raise(&s, m, &comp) {
				}
				if comp.lower > least+1e-6 {
					t.Errorf("bound %g, least %g", comp.lower, least)
				}
				sum, of = sum+comp.lower, of+least
				for s.localSearch(m, &comp) {
				}
				if comp.cost < least-1e-9 || math.Abs(m.sum(comp.answer)-comp.cost) > 1e-9 || !m.allowed(comp.answer) {
					t.Errorf("%v costs %g, said %g, least %g, allowed %v", comp.answer, m.sum(comp.answer), comp.cost, least, m.allowed(comp.answer))
				}
				if comp.cost > 1.2*least {
					t.Errorf("found %g, least %g", comp.cost, least)
				}
			}
			t.Logf("bounds come to %.3f of the least cost", sum/of)
			if sum < 0.8*of {
				t.Error("the bounds are far too low")
			}
		})
	}
}
