package arrange

import (
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel/song"
)

// Worked by hand: bar 1 has a chord of two and a drum beat with it (one onset)
// and a note a tick before bar 2; bar 2 nothing; bar 3 one note; the last note
// lies beyond the bars.
func TestDensityCountsWhatStartsInEachBar(t *testing.T) {
	s := tune(3, note(0, 60), note(0, 64), percussion(0, 36), note(1919, 60), note(3840, 60), note(5760, 60))
	want := []BarDensity{{1, 4, 2, 1}, {2, 0, 0, 0}, {3, 1, 1, 0}}
	if got := Density(s); !slices.Equal(got, want) {
		t.Errorf("got %+v, want %+v", got, want)
	}
	if got := Density(&song.Song{}); len(got) != 0 {
		t.Errorf("a song without bars has %+v", got)
	}
}

func TestDensityCountsEveryNoteOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := drawSong(t)
		for i, d := range Density(s) {
			want := BarDensity{Bar: i + 1}
			ticks := map[int64]bool{}
			for _, n := range s.Notes {
				if s.BarAt(n.Tick) == i {
					want.Notes++
					ticks[n.Tick] = true
					if n.Drum() {
						want.Drums++
					}
				}
			}
			want.Onsets = len(ticks)
			if d != want {
				t.Fatalf("got %+v, want %+v", d, want)
			}
		}
	})
}

func BenchmarkDensity100k(b *testing.B) {
	s := longSong()
	b.ReportAllocs()
	for b.Loop() {
		Density(s)
	}
}
