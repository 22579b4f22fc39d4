package ease

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// TestProofNeedsNoGoodAnswer begins proofs at bad answers, with all notes left out
// or from a sweep of a state or two, with room for few states: whatever they come to, a lower bound
// is no more than the least cost, and what is called the least is. The least cost
// is that of a sweep with room for all states, which the plain solver of
// solve_test.go holds on smaller problems.
func TestProofNeedsNoGoodAnswer(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	const cases = 400
	exact, open, bad := 0, 0, 0
	for range cases {
		p := Problem{Turn: 20 + random.IntN(20), Meetings: []Meeting{{0, 1, -1, 1}, {1, 2, 0, 2}}}
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
		s := solver{ctx: context.Background(), effort: effort{narrow: 1 + random.IntN(8), widest: 8 << random.IntN(5), proofStates: 1 << (6 + random.IntN(12))}}
		r := s.sweeper.sweep(s.ctx, m, sweep{width: math.MaxInt, under: math.Inf(1)})
		if !r.exact {
			t.Fatal("the sweep with room for all states proved nothing")
		}
		least := r.cost
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
