package ease_test

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"pinwright/wheel/ease"
)

// crowded is notes strewn over 28 channels and a turn of 256 steps. Those of a
// channel have to be 4 steps apart; groups of channels share a lane in which
// marbles meet when their pins are within 2 steps.
func crowded(notes, group int) ease.Problem {
	const channels, turn = 28, 256
	random := rand.New(rand.NewPCG(1, 2))
	p := ease.Problem{Turn: turn}
	for c := range channels {
		p.Channels = append(p.Channels, ease.Channel{Gap: 4, Advance: random.IntN(8)})
		for other := c + 1; other < channels && other/group == c/group; other++ {
			p.Meetings = append(p.Meetings, ease.Meeting{Channel: c, Other: other, From: -2, To: 2})
		}
	}
	for _, hole := range random.Perm(channels * turn)[:notes] {
		weight := 1 + random.Float64()
		n := ease.Note{Aim: hole % turn, LeaveOut: weight}
		for later := -2; later <= 2; later++ {
			n.Candidates = append(n.Candidates, ease.Candidate{Channel: hole / turn, Later: later, Cost: 0.2 * float64(max(later, -later)) * weight})
		}
		p.Notes = append(p.Notes, n)
	}
	return p
}

func BenchmarkSolve(b *testing.B) {
	for _, c := range []struct{ notes, group int }{{1500, 1}, {300, 2}, {300, 4}} {
		p := crowded(c.notes, c.group)
		b.Run(fmt.Sprintf("%d notes, lanes of %d channels", c.notes, c.group), func(b *testing.B) {
			b.ReportAllocs()
			var r ease.Result
			for b.Loop() {
				r = ease.Solve(b.Context(), p)
			}
			b.ReportMetric(r.Cost, "cost")
			b.ReportMetric(r.LowerBound, "lower")
		})
	}
}
