// Package demo is a museum to try things out in: the Kestrel Mill, which is
// invented, its marble machine Hailstone, and three songs for it.
//
// Hailstone has a wheel of 16 bars at four steps to the beat, and 28
// channels: bars from G4 to C6, four tubes, three blocks, two drums and a
// triangle. Three neighbouring bars share a drop and a chute, so a scale in
// sixteenths and a chord of close seconds find the limits of a chute; tubes
// and drums share a drain; and the tubes hang low, so that they sound late
// unless their pins are set early. One bar is resting.
package demo

import (
	"bytes"
	_ "embed"

	"pinwright/wheel"
	"pinwright/wheel/file"
	"pinwright/wheel/song"
)

//go:embed hailstone.json
var hailstone []byte

// Machine is Hailstone.
func Machine() *wheel.Machine {
	m, err := file.ReadMachine(hailstone)
	if err != nil {
		panic("demo: " + err.Error()) // the file is embedded and under test
	}
	return m
}

// Song is a Standard MIDI File.
type Song struct {
	FileName string
	Bytes    []byte
}

// Songs are three songs for Hailstone, the same bytes every time: Mill Race,
// a dance that fills the wheel; Frère Jacques, a round; and Nine Knocks, a
// study of which the highest safe tempo can be worked out by hand.
func Songs() []Song {
	pieces := []piece{millRace(), frereJacques(), nineKnocks()}
	songs := make([]Song, len(pieces))
	for i, p := range pieces {
		var b bytes.Buffer
		if err := song.Write(&b, p.song()); err != nil {
			panic("demo: " + p.title + ": " + err.Error()) // written here and under test
		}
		songs[i] = Song{p.fileName, b.Bytes()}
	}
	return songs
}
