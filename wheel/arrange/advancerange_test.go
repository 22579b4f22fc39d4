package arrange

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestAdvancesOverARangeAreTheLeastThatWholeStepsAllow holds the answer against
// every combination of advances on small machines.
func TestAdvancesOverARangeAreTheLeastThatWholeStepsAllow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var rows []row
		for i := range rapid.IntRange(1, 4).Draw(t, "channels") {
			rows = append(rows, row{
				id: fmt.Sprint(i), keys: []int{60 + i},
				reachMM: rapid.Float64Range(0, 3).Draw(t, "reach"),
				latchMS: rapid.Float64Range(0, 700).Draw(t, "latch"),
			})
		}
		w := compileRapid(t, machine(32, 4, rows...))
		from, to := rapid.Float64Range(40, 160).Draw(t, "from"), rapid.Float64Range(40, 160).Draw(t, "to")
		channels := make([]int, len(rows))
		for i := range channels {
			channels[i] = i
		}
		adv, spread := AdvancesOver(w, channels, from, to)

		at := func(adv []int) float64 {
			worst := 0.0
			for _, bpm := range []float64{from, to, (from + to) / 2} {
				p := w.Machine.Wheel.StepPeriod(bpm)
				low, high := math.Inf(1), math.Inf(-1)
				for i, a := range adv {
					reach, seconds := w.Lag(i)
					e := p*(reach-float64(a)) + seconds
					low, high = min(low, e), max(high, e)
				}
				worst = max(worst, high-low)
			}
			return worst
		}
		if got := at(adv); math.Abs(got-spread) > 1e-9 {
			t.Fatalf("advances %v spread by %g s, not %g", adv, got, spread)
		}
		// 3 mm of reach and 0.7 s are at most 3 + 0.7/(60/160/4) < 11 steps.
		best := math.Inf(1)
		try := make([]int, len(rows))
		var all func(i int)
		all = func(i int) {
			if i == len(try) {
				best = min(best, at(try))
				return
			}
			for try[i] = -1; try[i] <= 11; try[i]++ {
				all(i + 1)
			}
		}
		all(0)
		if spread > best+1e-9 {
			t.Fatalf("advances %v spread by %g s over %g to %g BPM; %g is possible", adv, spread, from, to, best)
		}
	})
}

// At one tempo the range is no range.
func TestAdvancesOverOneTempoAreThoseOfThatTempo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var rows []row
		for i := range rapid.IntRange(1, 12).Draw(t, "channels") {
			rows = append(rows, row{id: fmt.Sprint(i), keys: []int{60 + i}, latchMS: rapid.Float64Range(0, 2000).Draw(t, "latch")})
		}
		w := compileRapid(t, machine(32, 4, rows...))
		var channels []int
		for i := range rows {
			channels = append(channels, i)
		}
		bpm := rapid.Float64Range(30, 180).Draw(t, "tempo")
		_, want := Advances(w, channels, bpm)
		if _, got := AdvancesOver(w, channels, bpm, bpm); math.Abs(got-want) > 1e-9 {
			t.Fatalf("over one tempo the spread is %g s, at it %g", got, want)
		}
	})
}
