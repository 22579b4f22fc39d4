package arrange

import (
	"math"
	"math/big"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
	"pinwright/wheel/song"
)

// barsOf is a song of 4/4 bars, each a list of keys on its first sixteenths.
func barsOf(keys ...[]uint8) *song.Song {
	var notes []song.Note
	for bar, list := range keys {
		for i, k := range list {
			notes = append(notes, note(int64(1920*bar+120*i), k))
		}
	}
	return tune(len(keys), notes...)
}

func section(t testing.TB, m *wheel.Machine, s *song.Song, fromBar, bars int) Section {
	t.Helper()
	sec, err := SectionOf(m, s, fromBar, bars)
	if err != nil {
		t.Fatal(err)
	}
	return sec
}

// All likenesses are worked by hand: a and b are bars of four notes that have
// none in common, half has two of a's four at their steps, 2·2/(4+4).
func TestSeamIsJudgedByTheSongItself(t *testing.T) {
	a, b := []uint8{60, 62, 64, 65}, []uint8{67, 69, 71, 72}
	half := []uint8{60, 62, 71, 72}
	for _, c := range []struct {
		name           string
		bars           [][]uint8
		fromBar, count int
		likeness       float64
		text           string
	}{
		{"the song goes on with the same bar", [][]uint8{a, b, a, b}, 1, 2, 1, "the song itself goes on from here as it began"},
		{"half the same bar", [][]uint8{a, b, half, b}, 1, 2, 0.5, "the end leads back by half"},
		{"another bar", [][]uint8{a, b, b, a}, 1, 2, 0, "the end does not lead back: after bar 2 the song goes elsewhere"},
		{"it came from such a bar", [][]uint8{b, a, b}, 2, 2, 1, "the end leads back: bar 1, before the beginning, is like bar 3"},
		{"it came from another", [][]uint8{a, a, b}, 2, 2, 0, "the end does not lead back: the song ends with bar 3 and comes to bar 2 another way"},
		{"the better of the two counts", [][]uint8{b, a, b, half}, 2, 2, 1, "the end leads back: bar 1, before the beginning, is like bar 3"},
		{"silent bars", [][]uint8{nil, nil, nil, nil}, 2, 2, 0, "the bars at the seam are silent, so nothing can be said"},
		{"silence goes elsewhere", [][]uint8{a, b, nil, a}, 1, 2, 0, "the end does not lead back: after bar 2 the song goes elsewhere"},
	} {
		t.Run(c.name, func(t *testing.T) {
			m, s := machine(32, 4, row{id: "a"}), barsOf(c.bars...)
			got := SeamOf(m, s, section(t, m, s, c.fromBar, c.count), nil)
			if want := (Seam{Likeness: c.likeness, Text: c.text}); got != want {
				t.Errorf("got %+v, want %+v", got, want)
			}
		})
	}
}

// Worked by hand: two bars of a song that goes on as it began, on wheels of 64
// and 128 steps and, in 3/4, five bars of 12 steps on one of 64: a beat is left,
// and 1 − 4/12 of the likeness.
func TestSilenceBreaksTheSeam(t *testing.T) {
	a, b := []uint8{60, 62, 64, 65}, []uint8{67, 69, 71, 72}
	s := barsOf(a, b, a, b)
	m := machine(64, 4, row{id: "a"})
	if got, want := SeamOf(m, s, section(t, m, s, 1, 2), nil), (Seam{0, 32, 2, "the turn ends with 2 bars of silence"}); got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
	m = machine(55, 4, row{id: "a"})
	if got, want := SeamOf(m, s, section(t, m, s, 1, 2), nil), (Seam{0, 23, 0, "the turn ends with 23 steps of silence"}); got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
	m = machine(64, 4, row{id: "a"})
	waltz := tune(0)
	waltz.Bars = bars(nil, 10, 3, 4, 480)
	for i := range int64(10) {
		waltz.Notes = append(waltz.Notes, note(1440*i, 60))
	}
	got := SeamOf(m, waltz, section(t, m, waltz, 1, 5), nil)
	if math.Abs(got.Likeness-2./3) > 1e-12 || got.RestSteps != 4 || got.RestBars != 0 ||
		got.Text != "the song itself goes on from here as it began, but the turn ends with 1 beat of silence" {
		t.Errorf("got %+v", got)
	}
}

// Worked by hand: of the first bar's notes half are C, a quarter D, a quarter E;
// of the last bar's half are C, half G. They have the half C in common, and that
// is worth half of it, ¼. Percussion has no pitch.
func TestWholeSongIsJudgedByItsPitches(t *testing.T) {
	s := barsOf([]uint8{60, 62, 64, 72}, []uint8{48, 67})
	s.Notes = append(s.Notes, percussion(2400, 36))
	m := machine(32, 4, row{id: "a"})
	got := SeamOf(m, s, section(t, m, s, 1, 2), nil)
	if want := (Seam{Likeness: 0.25, Text: "the whole song is on the wheel; the notes of its last bar and its first agree by half"}); got != want {
		t.Errorf("got %+v, want %+v", got, want)
	}
}

// A note played 20 ms before the bar line belongs to the bar, as on the wheel.
func TestNoteJustBeforeTheBarBelongsToIt(t *testing.T) {
	m := machine(32, 4, row{id: "a"})
	s := tune(4, note(0, 60), note(1920, 72), note(3820, 60), note(5760, 72))
	if got := SeamOf(m, s, section(t, m, s, 1, 2), nil); got.Likeness != 1 {
		t.Errorf("got %+v", got)
	}
}

func TestOnlyNotesThatCountMakeASeam(t *testing.T) {
	m := machine(32, 4, row{id: "a"})
	s := barsOf([]uint8{60, 62}, []uint8{67}, []uint8{60, 64}, []uint8{67})
	got := SeamOf(m, s, section(t, m, s, 1, 2), func(n song.Note) bool { return n.Key != 62 && n.Key != 64 })
	if got.Likeness != 1 {
		t.Errorf("got %+v", got)
	}
}

func TestNoSectionHasNoSeam(t *testing.T) {
	m, s := machine(32, 4, row{id: "a"}), barsOf([]uint8{60})
	for _, sec := range []Section{{}, {FromBar: 1}, {FromBar: 2, Bars: 1}, {FromBar: -3, Bars: 1}, {FromBar: 1, Bars: 2}} {
		if got := SeamOf(m, s, sec, nil); got.Likeness != 0 || got.Text == "" {
			t.Errorf("%+v has %+v", sec, got)
		}
	}
}

// TestSeamsAgreeWithSetsOfNotes makes the sets of bars in another way: every
// note goes to the bar that has the step nearest to it.
func TestSeamsAgreeWithSetsOfNotes(t *testing.T) {
	type at struct {
		step int64
		key  uint8
		drum bool
	}
	rapid.Check(t, func(t *rapid.T) {
		m, s := drawMachine(t), drawSong(t)
		r := plain{m: m, s: s}
		sets := make([]map[at]bool, len(s.Bars))
		for i := range sets {
			sets[i] = map[at]bool{}
		}
		for _, n := range s.Notes {
			for i, b := range s.Bars {
				x := r.steps(n.Tick - b.Tick)
				step := floor(x.Add(x, big.NewRat(1, 2)))
				within := i == len(s.Bars)-1 || new(big.Rat).SetInt64(step).Cmp(r.steps(b.Ticks)) < 0
				if n.Tick < b.Tick+b.Ticks && step >= 0 && within {
					sets[i][at{step, n.Key, n.Drum()}] = true
				}
			}
		}
		like := func(a, b map[at]bool) float64 {
			if len(a)+len(b) == 0 {
				return 0
			}
			both := 0
			for k := range a {
				if b[k] {
					both++
				}
			}
			return 2 * float64(both) / float64(len(a)+len(b))
		}
		for i, sec := range Fits(m, s) {
			got := SeamOf(m, s, sec, nil)
			if got.Likeness < 0 || got.Likeness > 1 || got.Text == "" {
				t.Fatalf("%+v has %+v", sec, got)
			}
			after := i + sec.Bars
			if sec.Bars == 0 || i == 0 && after == len(s.Bars) {
				continue
			}
			want := 0.0
			if after < len(s.Bars) {
				want = like(sets[after], sets[i])
			}
			if i > 0 {
				want = max(want, like(sets[i-1], sets[after-1]))
			}
			bar, _ := r.steps(s.Bars[after-1].Ticks).Float64()
			rest := max(0, float64(m.Wheel.Steps)-sec.Steps)
			if want *= max(0, 1-rest/bar); math.Abs(got.Likeness-want) > 1e-9 || math.Abs(got.RestSteps-rest) > 1e-9 {
				t.Fatalf("%+v has %+v, want likeness %g, rest %g", sec, got, want, rest)
			}
		}
	})
}

func TestFractionsAreSaidAsPeopleDo(t *testing.T) {
	var got []string
	for _, x := range []float64{0.2, 0.3, 0.45, 0.6, 0.7, 0.9, 1} {
		got = append(got, fraction(x))
	}
	want := []string{"a quarter", "a third", "half", "two thirds", "two thirds", "nine tenths", "all"}
	if !slices.Equal(got, want) {
		t.Errorf("got %q, want %q", got, want)
	}
}

func BenchmarkSeam(b *testing.B) {
	s := longSong()
	m := machine(256, 4, row{id: "a"})
	sec := section(b, m, s, 100, 0)
	b.ReportAllocs()
	for b.Loop() {
		SeamOf(m, s, sec, nil)
	}
}
