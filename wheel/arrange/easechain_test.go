package arrange

import (
	"math"
	"math/rand/v2"
	"testing"
)

// TestChainAgreesWithSweep holds the answer for a single channel against a
// sweep that proves its own, on wheels too full for a search through all there
// is: the two share nothing but the puzzle.
func TestChainAgreesWithSweep(t *testing.T) {
	random := rand.New(rand.NewPCG(9, 10))
	few := 0
	for range 120 {
		steps, gap := 16+random.IntN(80), 1+random.IntN(12)
		m := machine(steps, 4, row{id: "e5", keys: []int{76}, reloadMS: 125*float64(gap) - 1})
		w := compile(t, m)
		var notes []placedNote
		for _, aim := range random.Perm(steps)[:2+random.IntN(steps-2)] {
			notes = append(notes, placedNote{aim: int32(aim), weight: 1 + random.Float64(), choices: []int32{0}})
		}
		p, _, err := newGround(w, notes, []int{random.IntN(steps)}, make([]wish, len(notes)), 120).puzzle()
		if err != nil {
			t.Fatal(err)
		}
		all := make([]int32, len(notes))
		for i := range all {
			all[i] = int32(i)
		}
		s := solver{ctx: t.Context(), pains: usualPains}
		s.pains.narrow, s.pains.proofEffort = 2048, math.MaxInt
		part := s.cutter.cut(p, inTurn(p, all), nil, allFoes)
		swept, chained := s.sweepAll(part), newChain(part).solve()
		if !swept.exact() {
			t.Fatalf("the sweep proved nothing: %g of %g", swept.lower, swept.cost)
		}
		if math.Abs(swept.cost-chained.cost) > 1e-9*(1+swept.cost) || math.Abs(part.sum(chained.answer)-chained.cost) > 1e-9*(1+swept.cost) || !part.allowed(chained.answer) {
			t.Errorf("%d steps, gap %d, %d notes: swept %g, chained %g, adds up to %g", steps, gap, len(notes), swept.cost, chained.cost, part.sum(chained.answer))
		}
		if swept.cost > 0 {
			few++
		}
	}
	if few < 60 {
		t.Errorf("only %d cases had anything to ease", few)
	}
}
