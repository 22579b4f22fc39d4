package arrange

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
	"pinwright/wheel/song"
)

// channelsWith counts a machine's channels in service that play a key.
func channelsWith(m *wheel.Machine) func(key int, drum bool) int {
	return func(key int, drum bool) int {
		n := 0
		for _, c := range m.Channels {
			if c.Service == wheel.Playing && c.Drum == drum && slices.Contains(c.Keys, key) {
				n++
			}
		}
		return n
	}
}

// choiceByKey is the choice where every note goes by its key alone: capacity is
// the number of channels in service that play a key, 0 … 127, and include tells
// which notes count; nil counts all. Percussion is not transposed.
func choiceByKey(capacity func(key int, drum bool) int, include func(song.Note) bool, lowest, highest int) Choice {
	return Choice{
		Voice: func(n song.Note) (int, bool) {
			return int(newBarNote(0, n)), include == nil || include(n)
		},
		Capacity: func(voice, semitones int) int {
			k, ok := key(voice).moved(semitones)
			if !ok {
				return 0
			}
			return capacity(int(k%keys), k.drum())
		},
		Lowest: lowest, Highest: highest,
	}
}

// bestStretch is the first of [Stretches]. ok is false where no note of the
// song would sound.
func bestStretch(m *wheel.Machine, s *song.Song, c Choice) (best Stretch, ok bool) {
	all := Stretches(m, s, c)
	if len(all) == 0 || all[0].Placed == 0 {
		return Stretch{}, false
	}
	return all[0], true
}

// Worked by hand on a wheel of two bars with C, D and E: bars 3 and 4 have six
// notes, all on those keys as they stand; no other two bars have as many notes.
func TestBestStretchPlacesMost(t *testing.T) {
	m := machine(32, 4, row{id: "c", keys: []int{60}}, row{id: "d", keys: []int{62}}, row{id: "e", keys: []int{64}})
	s := barsOf([]uint8{60, 61, 63}, []uint8{70}, []uint8{62, 64}, []uint8{60, 62, 64, 62})
	best, ok := bestStretch(m, s, choiceByKey(channelsWith(m), nil, -12, 12))
	if !ok || best.Section.FromBar != 3 || best.Section.Bars != 2 || best.Transpose != 0 || best.Notes != 6 || best.Placed != 6 || best.Lost != 0 {
		t.Errorf("got %+v, %v", best, ok)
	}
	if want := 6 * (0.75 + 0.25*best.Seam.Likeness); best.Worth != want {
		t.Errorf("worth %g, want %g", best.Worth, want)
	}
}

// Worked by hand: bars a, b and x have four notes each, none in common, and all
// are placed. In x a b a x x bars 2 and 3, a b, are followed by a: 8 × 1.
func TestSeamThatLeadsBackDecidesBetweenEquals(t *testing.T) {
	a, b, x := []uint8{60, 62, 64, 65}, []uint8{67, 69, 71, 72}, []uint8{72, 60, 71, 62}
	m := machine(32, 4, row{id: "all", keys: []int{60, 62, 64, 65, 67, 69, 71, 72}})
	got := Stretches(m, barsOf(x, a, b, a, x, x), choiceByKey(channelsWith(m), nil, 0, 0))
	if got[0].Section.FromBar != 2 || got[0].Worth != 8 || got[0].Seam.Likeness != 1 {
		t.Errorf("best is %+v", got[0])
	}
	var order []int
	for _, st := range got {
		order = append(order, st.Section.FromBar)
	}
	// Bars 3 and 4, b a, were come to from a: 8 too. Bars 1 and 2, x a, are
	// followed by b: 8 × ¾. So are bars 4 and 5, a x, by x after b, and bars 5 and
	// 6, x x, after a. Bar 6 alone leaves a bar of silence: 4 × ¾.
	if want := []int{2, 3, 1, 4, 5, 6}; !slices.Equal(order, want) {
		t.Errorf("order %v, want %v", order, want)
	}
}

// Worked by hand: 61 alone on a machine of 60 and 62 is placed by −1 and by +1.
func TestSmallestTranspositionWinsAndUpFirst(t *testing.T) {
	m := machine(16, 4, row{id: "c", keys: []int{60}}, row{id: "d", keys: []int{62}})
	best, ok := bestStretch(m, barsOf([]uint8{61}), choiceByKey(channelsWith(m), nil, -12, 12))
	if !ok || best.Transpose != 1 {
		t.Errorf("got %+v, %v", best, ok)
	}
	best, _ = bestStretch(m, barsOf([]uint8{61}), choiceByKey(channelsWith(m), nil, -127, 0))
	if best.Transpose != -1 {
		t.Errorf("got %+v", best)
	}
}

// Two notes of one key at one step need two channels.
func TestNotesOfOnePlaceNeedAsManyChannels(t *testing.T) {
	s := tune(1, note(0, 60), note(10, 60), note(480, 60))
	for channels, want := range []int{0, 2, 3, 3} {
		m := machine(16, 4, row{id: "a"})
		c := choiceByKey(func(key int, drum bool) int { return channels }, nil, 0, 0)
		if got := Stretches(m, s, c); got[0].Placed != want || got[0].Lost != 3-want {
			t.Errorf("%d channels: %+v, want %d placed", channels, got[0], want)
		}
	}
}

// Worked by hand: a voice for the part an octave lower makes 48 a 60, and a part
// that is off does not count.
func TestVoicesMayBeAnything(t *testing.T) {
	s := tune(1, note(0, 48), note(480, 60), percussion(960, 36))
	m := machine(16, 4, row{id: "c", keys: []int{60}})
	c := Choice{
		Voice: func(n song.Note) (int, bool) { return int(n.Key), !n.Drum() },
		Capacity: func(voice, semitones int) int {
			if voice == 48 {
				voice += 12
			}
			return channelsWith(m)(voice+semitones, false)
		},
	}
	if got := Stretches(m, s, c); len(got) != 1 || got[0].Notes != 2 || got[0].Placed != 2 {
		t.Errorf("got %+v", got)
	}
}

func TestNothingThatSoundsIsNobestStretch(t *testing.T) {
	m := machine(16, 4, row{id: "c", keys: []int{60}})
	c := choiceByKey(channelsWith(m), nil, 0, 0)
	if best, ok := bestStretch(m, barsOf([]uint8{61}, nil), c); ok {
		t.Errorf("got %+v", best)
	}
	if best, ok := bestStretch(m, &song.Song{TicksPerQuarter: 480}, c); ok {
		t.Errorf("got %+v", best)
	}
	// A bar of which one note of three sounds comes before a silent one.
	got := Stretches(m, barsOf(nil, []uint8{60, 61, 61}), c)
	if got[0].Section.FromBar != 2 || got[0].Sounding != 1 || got[0].Worth <= 0 {
		t.Errorf("got %+v", got)
	}
	if got := Stretches(m, barsOf([]uint8{60}), choiceByKey(channelsWith(m), nil, 3, -3)); got != nil {
		t.Errorf("no transposition at all gives %+v", got)
	}
}

// TestStretchesAgreeWithEverySectionCounted lays every section out by itself, in
// fractions.
func TestStretchesAgreeWithEverySectionCounted(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, s := drawMachine(t), drawSong(t)
		low, high := rapid.IntRange(-20, 5).Draw(t, "lowest"), rapid.IntRange(-5, 20).Draw(t, "highest")
		if low > high {
			low, high = high, low
		}
		leftOut := uint8(rapid.IntRange(55, 72).Draw(t, "left out"))
		include := func(n song.Note) bool { return n.Key != leftOut }
		capacity := channelsWith(m)
		got := Stretches(m, s, choiceByKey(capacity, include, low, high))
		if !slices.IsSortedFunc(got, Stretch.compare) {
			t.Fatal("not best first")
		}
		byBar := map[int]Stretch{}
		for _, st := range got {
			byBar[st.Section.FromBar] = st
		}
		kept := *s
		kept.Notes = slices.DeleteFunc(slices.Clone(s.Notes), func(n song.Note) bool { return !include(n) })
		for _, sec := range Fits(m, s) {
			st, ok := byBar[sec.FromBar]
			if ok != (sec.Bars > 0) {
				t.Fatalf("from bar %d there is a stretch: %v", sec.FromBar, ok)
			}
			if !ok {
				continue
			}
			type spot struct {
				aim, key int
				drum     bool
			}
			held := map[spot]int{}
			notes := plain{m: m, s: &kept, from: sec.Tick, until: sec.EndTick}.notes()
			for _, n := range notes {
				held[spot{n.aim, n.key, n.drum}]++
			}
			best, placed, sounding := 0, -1, 0
			for size := 0; size <= 20; size++ {
				for _, n := range []int{size, -size} {
					if n < low || n > high {
						continue
					}
					sum, all := 0, 0
					for at, notes := range held {
						if !at.drum {
							at.key += n
						}
						sum += min(notes, capacity(at.key, at.drum))
						if capacity(at.key, at.drum) > 0 {
							all += notes
						}
					}
					if sum > placed {
						best, placed, sounding = n, sum, all
					}
				}
			}
			seam := SeamOf(m, s, sec, include)
			worth := float64(sounding) * float64(sounding) / float64(max(1, len(notes))) * (0.75 + 0.25*seam.Likeness)
			want := Stretch{sec, best, len(notes), placed, len(notes) - placed, sounding, seam, worth}
			if st != want {
				t.Fatalf("got %+v, want %+v", st, want)
			}
		}
	})
}

// TestManyFractionsOfAStepCostLittleAccuracy has bars cut short so that they
// start at more fractions of a step than are told apart. A note may then be
// counted at the step next to its own where it lies within 1/32 of half way.
func TestManyFractionsOfAStepCostLittleAccuracy(t *testing.T) {
	s := tune(0)
	tick := int64(0)
	random := rand.New(rand.NewPCG(1, 2))
	for range 60 {
		ticks := 400 + random.Int64N(480)
		s.Bars = append(s.Bars, song.Bar{Tick: tick, Ticks: ticks, Numerator: 4, Denominator: 4})
		for range 6 {
			s.Notes = append(s.Notes, note(tick+random.Int64N(ticks), 60))
		}
		tick += ticks
	}
	slices.SortFunc(s.Notes, func(a, b song.Note) int { return int(a.Tick - b.Tick) })
	m := machine(32, 4, row{id: "c", keys: []int{60}})
	if n := len(phases(m.Wheel, s, Fits(m, s))); n > mostPhases {
		t.Fatalf("%d fractions of a step are told apart", n)
	}
	for _, st := range Stretches(m, s, choiceByKey(channelsWith(m), nil, 0, 0)) {
		want := plain{m: m, s: s, from: st.Section.Tick, until: st.Section.EndTick}
		notes := want.notes()
		if placed := want.count(notes, 0).placed; st.Notes != len(notes) || math.Abs(float64(st.Placed-placed)) > 0.1*float64(len(notes)) {
			t.Errorf("%s: %d of %d placed, want %d of %d", st.Section, st.Placed, st.Notes, placed, len(notes))
		}
	}
}

// BenchmarkStretches finds the best stretch of 100,000 notes in 300 bars, ten
// minutes of music, among transpositions, on a wheel of 16 bars.
func BenchmarkStretches(b *testing.B) {
	random := rand.New(rand.NewPCG(1, 2))
	var notes []song.Note
	for range 100_000 {
		notes = append(notes, note(random.Int64N(300*1920), uint8(36+random.IntN(60))))
	}
	s := tune(300, notes...)
	var rows []row
	for i := range 28 {
		rows = append(rows, row{id: fmt.Sprint(i), keys: []int{60 + i*3/4}})
	}
	m := machine(256, 4, rows...)
	for _, reach := range []int{12, 127} {
		b.Run(fmt.Sprint("±", reach), func(b *testing.B) {
			c := choiceByKey(channelsWith(m), nil, -reach, reach)
			b.ReportAllocs()
			for b.Loop() {
				if _, ok := bestStretch(m, s, c); !ok {
					b.Fatal("nothing sounds")
				}
			}
		})
	}
}
