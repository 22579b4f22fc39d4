package demo_test

import (
	"slices"
	"strings"
	"testing"

	"pinwright/wheel/song"
)

const barTicks = 4 * 480

// The tune in scale degrees, from memory, as it is sung everywhere: 1 is C5,
// and 5, is the G below.
const frereJacques = `
	1 2 3 1 | 1 2 3 1 |
	3 4 5 - | 3 4 5 - |
	56 54 3 1 | 56 54 3 1 |
	1 5, 1 - | 1 5, 1 - |`

// sung reads scale degrees: a beat each, two digits a half beat each, "-" a
// beat more of the note before.
func sung(text string) (notes []song.Note) {
	major := map[byte]uint8{'1': 72, '2': 74, '3': 76, '4': 77, '5': 79, '6': 81}
	tick := int64(0)
	for _, beat := range strings.Fields(strings.ReplaceAll(text, "|", " ")) {
		switch {
		case beat == "-":
			notes[len(notes)-1].Ticks += 480
		case beat == "5,":
			notes = append(notes, song.Note{Tick: tick, Ticks: 480, Key: major['5'] - 12})
		default:
			length := int64(480 / len(beat))
			for i := range len(beat) {
				notes = append(notes, song.Note{Tick: tick + int64(i)*length, Ticks: length, Key: major[beat[i]]})
			}
		}
		tick += 480
	}
	return notes
}

func track(s *song.Song, name string) (notes []song.Note) {
	i := slices.IndexFunc(s.Tracks, func(t song.Track) bool { return t.Name == name })
	for _, n := range s.Notes {
		if n.Track == i {
			notes = append(notes, song.Note{Tick: n.Tick, Ticks: n.Ticks, Key: n.Key})
		}
	}
	return notes
}

func TestFrereJacquesIsARoundOfItsTune(t *testing.T) {
	s := named(t, "frere-jacques.mid")
	tune := sung(frereJacques)
	for voice, name := range []string{"First voice", "Second voice", "Third voice", "Fourth voice"} {
		var want []song.Note
		for _, start := range []int64{0, 8 * barTicks} {
			for _, n := range tune {
				n.Tick += start + int64(voice)*2*barTicks
				if n.Tick < 16*barTicks {
					want = append(want, n)
				}
			}
		}
		if got := track(s, name); !slices.Equal(got, want) {
			t.Errorf("%s sings\n%v\nwant\n%v", name, got, want)
		}
	}
}

// harmony of Mill Race, a chord for each half bar, as pitch classes from C.
func harmony() (chords [][]int) {
	c, f, g, g7 := []int{0, 4, 7}, []int{5, 9, 0}, []int{7, 11, 2}, []int{7, 11, 2, 5}
	am, dm, d7, c7 := []int{9, 0, 4}, []int{2, 5, 9}, []int{2, 6, 9, 0}, []int{0, 4, 7, 10}
	a := [][]int{c, c, f, f, c, g7, c, g}
	b := [][]int{am, am, dm, dm, d7, d7, g, g}
	last := [][]int{c, c7, f, dm, c, g7, c, c}
	return slices.Concat(a, b, a, last)
}

// Common practice: what falls on beats 1 and 3 belongs to the chord.
func TestMillRaceKeepsToItsHarmony(t *testing.T) {
	s := named(t, "mill-race.mid")
	chords := harmony()
	for _, part := range []string{"Tune", "Water", "Tubes"} {
		for _, n := range track(s, part) {
			if n.Tick%(barTicks/2) == 0 && !slices.Contains(chords[n.Tick/(barTicks/2)], int(n.Key)%12) {
				t.Errorf("%s: bar %d, tick %d of it: key %d is not in the chord", part, n.Tick/barTicks+1, n.Tick%barTicks, n.Key)
			}
		}
	}
}

func TestMillRaceBringsItsFirstPhraseBack(t *testing.T) {
	s := named(t, "mill-race.mid")
	bars := func(part string, from, to int64) (notes []song.Note) {
		for _, n := range track(s, part) {
			if n.Tick >= from*barTicks && n.Tick < to*barTicks {
				n.Tick -= from * barTicks
				notes = append(notes, n)
			}
		}
		return notes
	}
	for _, part := range []string{"Tune", "Water", "Tubes", "Drums and blocks"} {
		a, b, again, c := bars(part, 0, 4), bars(part, 4, 8), bars(part, 8, 12), bars(part, 12, 16)
		if !slices.Equal(a, again) {
			t.Errorf("%s: bars 9 to 12 are not bars 1 to 4", part)
		}
		if slices.Equal(a, b) || slices.Equal(a, c) || slices.Equal(b, c) {
			t.Errorf("%s: a contrasting phrase is the same", part)
		}
	}
}

// Fux, Gradus ad Parnassum (1725): outer voices do not go from one fifth or
// octave to another of its kind in the same direction.
func TestMillRaceHasNoParallelFifthsOrOctaves(t *testing.T) {
	s := named(t, "mill-race.mid")
	at := func(notes []song.Note, tick int64) int {
		for _, n := range notes {
			if n.Tick <= tick && tick < n.Tick+n.Ticks {
				return int(n.Key)
			}
		}
		return 0
	}
	tune, bass := track(s, "Tune"), track(s, "Tubes")
	var high, low int
	for _, n := range bass { // the tune against every note of the bass
		h, l := at(tune, n.Tick), int(n.Key)
		if h == 0 {
			continue
		}
		if high != 0 && h != high && l != low && (h > high) == (l > low) {
			before, now := (high-low)%12, (h-l)%12
			if before == now && (now == 0 || now == 7) {
				t.Errorf("bar %d, tick %d of it: from %d over %d to %d over %d", n.Tick/barTicks+1, n.Tick%barTicks, high, low, h, l)
			}
		}
		high, low = h, l
	}
}

// A full close (common practice): leading note over the fifth step, B over G,
// and both go home to C.
func TestMillRaceEndsWithAFullClose(t *testing.T) {
	s := named(t, "mill-race.mid")
	tune, bass := track(s, "Tune"), track(s, "Tubes")
	last := int64(15 * barTicks)
	i := slices.IndexFunc(tune, func(n song.Note) bool { return n.Tick == last })
	j := slices.IndexFunc(bass, func(n song.Note) bool { return n.Tick == last })
	if tune[i-1].Key != 83 || tune[i].Key != 84 || bass[j-1].Key != 55 || bass[j].Key != 48 {
		t.Errorf("it ends %v over %v", tune[i-1:], bass[j-1:])
	}
}
