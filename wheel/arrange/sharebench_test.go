package arrange

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pinwright/timing"
)

// TestChannelsBeyondTheBoundAreNoWorseThanGiven has fourteen channels of which any
// note may have some.
func TestChannelsBeyondTheBoundAreNoWorseThanGiven(t *testing.T) {
	w, notes := entwined(14, 600)
	advance := make([]int, len(w.Channels))
	given := leastSlack(w, notes, advance, 84)
	share(w, notes, 84)
	if got := leastSlack(w, notes, advance, 84); got < given || math.IsInf(got, -1) {
		t.Errorf("least slack %g s, given %g", got, given)
	}
}

// entwined is channels with needs of their own and notes that may have any three
// or so of them, each given the first that is free.
func entwined(channels, most int) (*timing.Works, []placedNote) {
	random := rand.New(rand.NewPCG(1, 2))
	var rows []row
	for i := range channels {
		rows = append(rows, row{id: fmt.Sprint(i), reloadMS: float64(100 + random.IntN(300))})
	}
	w, err := timing.Compile(machine(256, 4, rows...))
	if err != nil {
		panic(err)
	}
	var notes []placedNote
	taken := map[[2]int32]bool{}
	for range most {
		n := placedNote{aim: random.Int32N(256)}
		for range 3 {
			n.choices = append(n.choices, random.Int32N(int32(channels)))
		}
		slices.Sort(n.choices)
		n.choices = slices.Compact(n.choices)
		for _, c := range n.choices {
			if !taken[[2]int32{n.aim, c}] {
				taken[[2]int32{n.aim, c}] = true
				n.channel = c
				notes = append(notes, n)
				break
			}
		}
	}
	return w, notes
}

// BenchmarkShare shares out 1,500 notes on 28 channels of which four keys have
// two or three, as on a wheel of 256 steps; a hundred times as many; five twins
// alike that never rest; and channels beyond the bound.
func BenchmarkShare(b *testing.B) {
	run := func(name string, w *timing.Works, notes []placedNote) {
		b.Run(name, func(b *testing.B) {
			given := slices.Clone(notes)
			b.ReportAllocs()
			for b.Loop() {
				copy(notes, given)
				share(w, notes, 84)
			}
		})
	}
	for _, c := range []struct{ steps, notes int }{{256, 1500}, {65536, 150_000}} {
		var rows []row
		for i := range 28 {
			rows = append(rows, row{id: fmt.Sprint(i), reloadMS: 140})
		}
		w := compile(b, machine(c.steps, 4, rows...))
		var lists [][]int32
		for i := int32(0); i < 28; {
			list := []int32{i}
			for i++; i < 28 && len(list) < 3 && i < 9; i++ {
				list = append(list, i)
			}
			lists = append(lists, list)
		}
		lists[3] = []int32{9, 10}
		lists[4] = lists[3]
		random := rand.New(rand.NewPCG(1, 2))
		var notes []placedNote
		taken := map[[2]int32]bool{}
		for len(notes) < c.notes {
			n := placedNote{aim: random.Int32N(int32(c.steps)), choices: lists[random.IntN(len(lists))]}
			for _, c := range n.choices {
				if !taken[[2]int32{n.aim, c}] {
					taken[[2]int32{n.aim, c}] = true
					n.channel = c
					notes = append(notes, n)
					break
				}
			}
		}
		run(fmt.Sprint(c.notes, " notes, few twins"), w, notes)
	}
	var aims []int32
	for i := range int32(256) {
		aims = append(aims, i)
	}
	for _, k := range []int32{2, 3, 4, 5, 6, 8} {
		var rows []row
		for i := range k {
			rows = append(rows, row{id: fmt.Sprint(i), reloadMS: 140})
		}
		run(fmt.Sprint(k, " twins without a rest"), compile(b, machine(256, 4, rows...)), twins(k, aims...))
	}
	w, notes := entwined(14, 600)
	run(fmt.Sprint("beyond the bound, ", len(notes)), w, notes)
}
