package ease_test

import (
	"context"
	"fmt"

	"pinwright/wheel/ease"
)

// Three notes of one channel want to sound on steps that follow each other, but
// the channel needs two steps from one note to the next. The first note weighs
// the most, the last the least.
func ExampleSolve() {
	p := ease.Problem{
		Turn:     16,
		Channels: []ease.Channel{{Gap: 2}},
	}
	for i, weight := range []float64{2, 1.5, 1} {
		n := ease.Note{Aim: 4 + i, LeaveOut: weight}
		for later := -2; later <= 2; later++ {
			n.Candidates = append(n.Candidates, ease.Candidate{Later: later, Cost: 0.2 * weight * float64(max(later, -later))})
		}
		p.Notes = append(p.Notes, n)
	}
	r := ease.Solve(context.Background(), p)
	for i, k := range r.Chosen {
		if k == ease.LeftOut {
			fmt.Printf("note %d is left out\n", i)
		} else {
			fmt.Printf("note %d sounds at step %d\n", i, p.Notes[i].Aim+p.Notes[i].Candidates[k].Later)
		}
	}
	fmt.Printf("cost %.1f, the least: %v\n", r.Cost, r.Exact)
	// Output:
	// note 0 sounds at step 3
	// note 1 sounds at step 5
	// note 2 sounds at step 7
	// cost 0.6, the least: true
}
