package arrange

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"testing"

	"gitlab.com/gomidi/midi/v2/smf"

	"pinwright/timing"
	"pinwright/wheel/demo"
	"pinwright/wheel/song"
)

// tenMinutes is 100,000 notes over 300 bars of 4/4 at 120 BPM: ten minutes.
func tenMinutes() *song.Song {
	random := rand.New(rand.NewPCG(3, 4))
	var notes []song.Note
	for range 100_000 {
		n := note(120*random.Int64N(300*16), uint8(48+random.IntN(40)))
		if random.IntN(20) == 0 {
			n.Channel, n.Key = 10, uint8(35+random.IntN(47))
		}
		notes = append(notes, n)
	}
	return tune(300, notes...)
}

func demoWorks(b *testing.B) *timing.Works {
	b.Helper()
	return compile(b, demo.Machine())
}

// BenchmarkOpenCompareAndSuggest100k is all that the page of a song of ten
// minutes and 100,000 notes asks for: the file read, its best stretch found and
// all transpositions of that compared. The aim is a second.
func BenchmarkOpenCompareAndSuggest100k(b *testing.B) {
	w := demoWorks(b)
	src := source(b, "long.mid", tenMinutes())
	data, err := src.Read()
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		songs, err := song.Parse(data, src.Name)
		if err != nil {
			b.Fatal(err)
		}
		r := Request{Transpose: Transpose{Auto: true}, Advance: true}
		stretches, err := Suggest(w.Machine, songs[0], r)
		if err != nil {
			b.Fatal(err)
		}
		r.FromBar, r.Bars = stretches[0].Section.FromBar, stretches[0].Section.Bars
		if _, err := Compare(b.Context(), w, songs[0], r); err != nil {
			b.Fatal(err)
		}
	}
}

// ordinary is a tune of two minutes in three parts, some 1,400 notes.
func ordinary(seed uint64) *song.Song {
	random := rand.New(rand.NewPCG(seed, 5))
	var notes []song.Note
	scale := []uint8{0, 2, 4, 5, 7, 9, 11}
	root := uint8(55 + random.IntN(12))
	for bar := range int64(64) {
		for step := range int64(16) {
			at := bar*1920 + step*120
			if step%2 == 0 || random.IntN(4) == 0 {
				notes = append(notes, note(at, root+12+scale[random.IntN(7)]))
			}
			if step%4 == 0 {
				n := note(at, root-12+scale[random.IntN(7)])
				n.Channel = 2
				notes = append(notes, n)
			}
			if step%4 == 2 {
				notes = append(notes, percussion(at, uint8([]int{36, 38, 42}[random.IntN(3)])))
			}
		}
	}
	s := tune(64, notes...)
	s.Title = fmt.Sprintf("Tune %d", seed)
	return s
}

// BenchmarkSurvey judges ordinary tunes, on all cores, beside gomidi reading
// the same files on one: events only, nothing made of them.
func BenchmarkSurvey(b *testing.B) {
	const tunes = 100
	var sources []Source
	var files [][]byte
	for i := range tunes {
		src := source(b, fmt.Sprintf("%d.mid", i), ordinary(uint64(i)))
		data, err := src.Read()
		if err != nil {
			b.Fatal(err)
		}
		sources, files = append(sources, src), append(files, data)
	}
	b.Run("judged", func(b *testing.B) {
		w := demoWorks(b)
		for b.Loop() {
			judged, bad, err := Survey(b.Context(), w, sources, SurveyOptions{})
			if err != nil || len(judged) != tunes || len(bad) > 0 {
				b.Fatal(err, bad)
			}
		}
		b.ReportMetric(tunes*float64(b.N)/b.Elapsed().Seconds(), "files/s")
	})
	b.Run("gomidi alone", func(b *testing.B) {
		for b.Loop() {
			for _, data := range files {
				if _, err := smf.ReadFrom(bytes.NewReader(data)); err != nil {
					b.Fatal(err)
				}
			}
		}
		b.ReportMetric(tunes*float64(b.N)/b.Elapsed().Seconds(), "files/s")
	})
}
