package arrange

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pinwright/timing"
)

// tryAll finds the least spread of errors − p·advance over every advance from
// 0 to most, and of those within a picosecond of it the least sum.
func tryAll(errors []float64, p float64, most int) (spread float64, sum int) {
	spread = math.Inf(1)
	adv := make([]int, len(errors))
	each := func(visit func(spread float64, sum int)) {
		clear(adv)
		for {
			low, high, total := math.Inf(1), math.Inf(-1), 0
			for i, e := range errors {
				left := e - p*float64(adv[i])
				low, high, total = min(low, left), max(high, left), total+adv[i]
			}
			visit(high-low, total)
			i := 0
			for ; i < len(adv) && adv[i] == most; i++ {
				adv[i] = 0
			}
			if i == len(adv) {
				return
			}
			adv[i]++
		}
	}
	each(func(s float64, _ int) { spread = min(spread, s) })
	sum = math.MaxInt
	each(func(s float64, total int) {
		if s <= spread+1e-12 {
			sum = min(sum, total)
		}
	})
	return spread, sum
}

func errorsOf(w *timing.Works, p float64) []float64 {
	var list []float64
	for c := range w.Machine.Channels {
		reach, seconds := w.Lag(c)
		list = append(list, p*reach+seconds)
	}
	return list
}

func all(n int) []int {
	list := make([]int, n)
	for i := range list {
		list[i] = i
	}
	return list
}

func TestAdvancesAreTheBestOfAllTried(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		reach, latch := rapid.Float64Range(0, 3), rapid.Float64Range(0, 700)
		if rapid.Bool().Draw(t, "even") { // gaps that are equal but for rounding
			reach, latch = rapid.SampledFrom([]float64{0, 0.25, 0.5, 1, 2}), rapid.SampledFrom([]float64{0, 25, 50, 100, 125, 150, 200, 300, 500})
		}
		var rows []row
		for i := range rapid.IntRange(1, 4).Draw(t, "channels") {
			rows = append(rows, row{
				id:      fmt.Sprint(i),
				reachMM: reach.Draw(t, "reach"),
				latchMS: latch.Draw(t, "latch"),
			})
		}
		w := compileRapid(t, machine(64, 4, rows...))
		tempo := rapid.SampledFrom([]float64{60, 120, 150, 73.1}).Draw(t, "tempo")
		p := 60 / (tempo * 4)
		errors := errorsOf(w, p)
		adv, spread := Advances(w, all(len(rows)), tempo)
		want, sum := tryAll(errors, p, int(slices.Max(errors)/p)+2)
		if math.Abs(spread-want) > 1e-12 {
			t.Fatalf("advances %v leave a spread of %g s, want %g", adv, spread, want)
		}
		low, high, total := math.Inf(1), math.Inf(-1), 0
		for i, e := range errors {
			left := e - p*float64(adv[i])
			low, high, total = min(low, left), max(high, left), total+adv[i]
		}
		if spread != high-low || slices.Min(adv) != 0 || total != sum {
			t.Fatalf("advances %v with spread %g add up to %d, want %d", adv, high-low, total, sum)
		}
	})
}

// Worked by hand, at 60 BPM and 4 steps a beat, p = 250 ms:
// 0, 260 and 740 ms are 0, 10 and 240 ms past a step, on a circle of 250. The
// gaps are 10, 230 and 10 ms; cut at 230, the last stands 10 ms before the
// step after: 0, 10 and −10, spread 20 ms with advances 0, 1 and 3.
func TestAdvanceCutsTheCircleAtItsWidestGap(t *testing.T) {
	w := compile(t, machine(64, 4, row{id: "a"}, row{id: "b", latchMS: 260}, row{id: "c", latchMS: 740}))
	adv, spread := Advances(w, []int{0, 1, 2}, 60)
	if !slices.Equal(adv, []int{0, 1, 3}) || math.Abs(spread-0.020) > 1e-12 {
		t.Errorf("advances %v, spread %g s; want 0 1 3 and 0.020", adv, spread)
	}
	// Two half a step apart: cut either way 125 ms are left, and less is advanced
	// by staying.
	w = compile(t, machine(64, 4, row{id: "a", latchMS: 125}, row{id: "b"}))
	adv, spread = Advances(w, []int{0, 1}, 60)
	if !slices.Equal(adv, []int{0, 0}) || math.Abs(spread-0.125) > 1e-12 {
		t.Errorf("advances %v, spread %g s; want 0 0 and 0.125", adv, spread)
	}
}

// Worked by hand: at 150 BPM and 4 steps a beat p is 100 ms, and 350 and 400 ms
// are half a step apart. Advances 0 and 0 leave 50 ms and so do 0 and 1, with a
// gap that rounding makes 10⁻¹⁷ s wider.
func TestRoundingDoesNotAdvance(t *testing.T) {
	w := compile(t, machine(64, 4, row{id: "a", latchMS: 350}, row{id: "b", latchMS: 400}))
	adv, spread := Advances(w, []int{0, 1}, 150)
	if !slices.Equal(adv, []int{0, 0}) || math.Abs(spread-0.050) > 1e-12 {
		t.Errorf("advances %v, spread %g s; want 0 0 and 0.050", adv, spread)
	}
}

func TestAdvancesOfFewChannels(t *testing.T) {
	w := compile(t, machine(64, 4, row{id: "a", latchMS: 777}, row{id: "b", latchMS: 20}))
	if adv, spread := Advances(w, nil, 60); adv != nil || spread != 0 {
		t.Errorf("none: %v, %g", adv, spread)
	}
	if adv, spread := Advances(w, []int{0}, 60); !slices.Equal(adv, []int{0}) || spread != 0 {
		t.Errorf("one: %v, %g", adv, spread)
	}
	if adv, _ := Advances(w, []int{1, 0}, 60); !slices.Equal(adv, []int{0, 3}) {
		t.Errorf("in the order asked for: %v, want 0 3", adv)
	}
}
