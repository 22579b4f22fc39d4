package demo

import (
	"math"

	"pinwright/wheel/song"
)

// The keys of Hailstone that the songs use: MIDI note numbers, 60 being
// middle C, and General MIDI percussion keys.
const (
	c3, d3, f3, g3              = 48, 50, 53, 55
	g4, a4, as4, b4             = 67, 69, 70, 71
	c5, cs5, d5, e5, f5         = 72, 73, 74, 76, 77
	fs5, g5, a5, as5, b5, c6    = 78, 79, 81, 82, 83, 84
	lowDrum, sideDrum           = 36, 38
	claves, highBlock, lowBlock = 75, 76, 77
	triangle                    = 81
)

const (
	stepsPerBeat = 4
	stepsPerBar  = 16
	ticksPerStep = 120 // 480 to the quarter note
	percussion   = 10  // General MIDI's channel for it
)

// note is one note: on a step of its bar, from 0, for so many steps.
type note struct{ step, key, steps int }

// part is one player's notes, bar by bar.
type part struct {
	name     string
	channel  uint8 // MIDI, from 1
	velocity uint8 // off the beat; notes on beats 1 and 3 are struck harder
	bars     [][]note
}

const accent = 16

// piece is a song in 4/4.
type piece struct {
	title, fileName string
	tempoBPM        float64
	parts           []part
}

// song lays a piece out. A track without notes comes first: it has the title.
func (p piece) song() *song.Song {
	s := &song.Song{
		Title:           p.title,
		TicksPerQuarter: ticksPerStep * stepsPerBeat,
		Tempos:          []song.Tempo{{MicrosPerQuarter: uint32(math.Round(60e6 / p.tempoBPM))}},
		Meters:          []song.Meter{{Numerator: 4, Denominator: 4}},
		Tracks:          []song.Track{{Name: p.title}},
	}
	for _, of := range p.parts {
		s.Tracks = append(s.Tracks, song.Track{Name: of.name})
		for bar, notes := range of.bars {
			for _, n := range notes {
				velocity := of.velocity
				if n.step%(2*stepsPerBeat) == 0 {
					velocity += accent
				}
				s.Notes = append(s.Notes, song.Note{
					Tick:  int64(bar*stepsPerBar+n.step) * ticksPerStep,
					Ticks: int64(n.steps) * ticksPerStep,
					Track: len(s.Tracks) - 1, Key: uint8(n.key), Velocity: velocity, Channel: of.channel,
				})
			}
		}
		s.EndTick = max(s.EndTick, int64(len(of.bars)*stepsPerBar*ticksPerStep))
	}
	return s
}

// eighths are notes of two steps each, one after the other from the bar's
// first step.
func eighths(keys ...int) []note {
	notes := make([]note, len(keys))
	for i, key := range keys {
		notes[i] = note{2 * i, key, 2}
	}
	return notes
}

// hits are strokes of one step each at steps of a bar, on one key.
func hits(key int, steps ...int) []note {
	notes := make([]note, len(steps))
	for i, step := range steps {
		notes[i] = note{step, key, 1}
	}
	return notes
}
