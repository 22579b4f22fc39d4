package song_test

import (
	"bytes"
	"fmt"
	"log"

	"pinwright/wheel/song"
)

func ExampleParse() {
	file := new(bytes.Buffer)
	err := song.Write(file, &song.Song{
		Title:           "Mill Race",
		TicksPerQuarter: 96,
		Tempos:          []song.Tempo{{Tick: 0, MicrosPerQuarter: 500_000}},
		Meters:          []song.Meter{{Tick: 0, Numerator: 3, Denominator: 4}},
		Notes: []song.Note{
			{Tick: 0, Ticks: 96, Key: 72, Velocity: 80, Channel: 1},
			{Tick: 288, Ticks: 48, Key: 36, Velocity: 100, Channel: 10},
		},
	})
	if err != nil {
		log.Fatal(err)
	}

	songs, err := song.Parse(file.Bytes(), "mill-race.mid")
	if err != nil {
		log.Fatal(err)
	}
	s := songs[0]
	fmt.Printf("%s: %d bars at %g BPM\n", s.Title, len(s.Bars), s.TempoAt(0).BPM())
	for _, n := range s.Notes {
		fmt.Printf("bar %d, %.1f s: key %d, drum %v\n", s.BarAt(n.Tick)+1, s.SecondsAt(float64(n.Tick)), n.Key, n.Drum())
	}
	// A file that breaks off gives what came before.
	songs, err = song.Parse(file.Bytes()[:file.Len()-6], "mill-race.mid")
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(songs[0].Warnings[0])

	// Output:
	// Mill Race: 2 bars at 120 BPM
	// bar 1, 0.0 s: key 72, drum false
	// bar 2, 1.5 s: key 36, drum true
	// track 1 breaks off after 41 bytes at tick 288 (it ends inside an event); its notes up to there were kept
}
