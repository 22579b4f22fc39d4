package ease

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestChainAgreesWithSweep holds the answer for a single channel against a
// sweep that proves its own, on wheels too full for a search through all there
// is: the two share nothing but the model.
func TestChainAgreesWithSweep(t *testing.T) {
	random := rand.New(rand.NewPCG(9, 10))
	eased := 0
	for range 120 {
		p := Problem{Turn: 16 + random.IntN(80)}
		p.Channels = []Channel{{Gap: 1 + random.IntN(12), Advance: random.IntN(p.Turn)}}
		for _, aim := range random.Perm(p.Turn)[:2+random.IntN(p.Turn-2)] {
			weight := 1 + random.Float64()
			n := Note{Aim: aim, LeaveOut: weight}
			for later := -2; later <= 2; later++ {
				n.Candidates = append(n.Candidates, Candidate{0, later, 0.2 * math.Abs(float64(later)) * weight})
			}
			p.Notes = append(p.Notes, n)
		}
		m, ok := newModel(&p)
		if !ok {
			t.Fatal("too many candidates exclude each other")
		}
		all := make([]int32, len(p.Notes))
		for i := range all {
			all[i] = int32(i)
		}
		s := solver{ctx: t.Context(), effort: usualEffort}
		s.effort.narrow, s.effort.proofStates = 2048, math.MaxInt
		part := s.cutter.cut(m, inWheelOrder(m, all), nil, allConflicts)
		if !part.isChain() {
			t.Fatal("one channel is no chain")
		}
		swept, chained := s.sweepAll(part), newChain(part).solve()
		if !swept.exact() {
			t.Fatalf("the sweep proved nothing: %g of %g", swept.lower, swept.cost)
		}
		near := 1e-9 * (1 + swept.cost)
		if math.Abs(swept.cost-chained.cost) > near || math.Abs(part.sum(chained.answer)-chained.cost) > near || !part.allowed(chained.answer) {
			t.Errorf("%d steps, gap %d, %d notes: swept %g, chained %g, adds up to %g", p.Turn, p.Channels[0].Gap, len(p.Notes), swept.cost, chained.cost, part.sum(chained.answer))
		}
		if swept.cost > 0 {
			eased++
		}
	}
	if eased < 60 {
		t.Errorf("only %d cases had anything to ease", eased)
	}
}
