package arrange

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"pinwright/wheel/song"
)

// longSong is 100,000 notes, five in a hundred of them percussion, over as many
// bars as a wheel of 65,536 steps holds at 4 steps a quarter.
func longSong() *song.Song {
	const bars = 4096
	random := rand.New(rand.NewPCG(1, 2))
	var notes []song.Note
	for range 100_000 {
		n := note(random.Int64N(bars*1920), uint8(36+random.IntN(60)))
		if random.IntN(20) == 0 {
			n.Channel = 10
		}
		notes = append(notes, n)
	}
	return tune(bars, notes...)
}

// BenchmarkSet100k sets all of a long song, the highest safe tempo of the
// pinning included.
func BenchmarkSet100k(b *testing.B) {
	s := longSong()
	for _, c := range []struct {
		name    string
		octaves int
	}{{"a key a channel", 1}, {"three keys a channel", 3}} {
		b.Run(c.name, func(b *testing.B) {
			var rows []row
			for i := range 48 {
				r := row{id: fmt.Sprint("bar", i), reloadMS: 20, latchMS: float64(17 * i)}
				for octave := range c.octaves {
					r.keys = append(r.keys, 48+i/2+12*octave)
				}
				rows = append(rows, r)
			}
			w := compile(b, machine(65536, 4, rows...))
			b.ReportAllocs()
			for b.Loop() {
				_, r, err := Set(b.Context(), w, s, Request{Transpose: Transpose{Auto: true}, Advance: true})
				if err != nil || r.Notes != len(s.Notes) {
					b.Fatal(err, r)
				}
			}
		})
	}
}

func BenchmarkAdvances(b *testing.B) {
	for _, n := range []int{40, 1000} {
		b.Run(fmt.Sprint(n, " channels"), func(b *testing.B) {
			random := rand.New(rand.NewPCG(1, 2))
			var rows []row
			for i := range n {
				rows = append(rows, row{id: fmt.Sprint(i), reachMM: random.Float64() * 4, latchMS: random.Float64() * 900})
			}
			w := compile(b, machine(256, 4, rows...))
			channels := all(n)
			b.ReportAllocs()
			for b.Loop() {
				Advances(w, channels, 84)
			}
		})
	}
}
