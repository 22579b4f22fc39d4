package demo_test

import (
	"context"
	"fmt"
	"log"

	"pinwright/timing"
	"pinwright/wheel/arrange"
	"pinwright/wheel/demo"
	"pinwright/wheel/song"
)

func Example() {
	works, err := timing.Compile(demo.Machine())
	if err != nil {
		log.Fatal(err)
	}
	for _, file := range demo.Songs() {
		songs, err := song.Parse(file.Bytes, file.FileName)
		if err != nil {
			log.Fatal(err)
		}
		pinning, report, err := arrange.Set(context.Background(), works, songs[0], arrange.Request{Advance: true, Repeat: true})
		if err != nil {
			log.Fatal(err)
		}
		fmt.Printf("%s: %d pins, written at %.0f BPM, safe up to %.1f BPM\n",
			pinning.Title, len(pinning.Pins), pinning.TempoBPM, *report.MaxSafeBPM)
	}
	// Output:
	// Mill Race: 427 pins, written at 84 BPM, safe up to 113.2 BPM
	// Frère Jacques: 222 pins, written at 80 BPM, safe up to 111.1 BPM
	// Nine Knocks: 104 pins, written at 80 BPM, safe up to 107.1 BPM
}
