// Package song reads Standard MIDI Files into songs and writes songs out again.
//
// It follows the Standard MIDI Files 1.0 specification (formats 0, 1 and 2,
// ticks per quarter note and SMPTE time) and keeps what a pin can play: notes,
// with the tempos, time signatures and track names around them. Controllers,
// programs, pedals and lyrics are passed over.
//
// Files come from anywhere, so none is trusted: what is sound is kept, what is
// damaged is left out and named in Song.Warnings.
package song

import (
	"math"
	"sort"
)

// Limits of what is read, so that no file can take memory or time out of
// proportion to its size.
const (
	MaxBytes  = 8 << 20 // 8 MiB: larger files are refused before they are read
	MaxBars   = 20_000  // bars of all songs of one file: 11 hours of 4/4 at 120 BPM; what lies beyond is left out
	MaxTracks = 4096    // tracks of one file; those beyond are left out
)

// A Song is music as it came in from a Standard MIDI File. Times are in ticks
// from its start. Parse gives every song at least one tempo, meter, bar and
// track; a Song is meant to be read, and a changed one to be a new value.
type Song struct {
	Title           string   // name of the first track that has one ("Staff" or "Track 1" is none), else the file's, else "Untitled"
	Format          int      // 0 one track, 1 tracks that sound together, 2 tracks that are songs of their own
	TicksPerQuarter float64  // ticks in a quarter note; SMPTE: ticks per second × 0.5
	SMPTE           bool     // ticks are parts of a second; beats are laid at a nominal 120 BPM
	Tempos          []Tempo  // the tempo at tick 0 and every change, by tick
	Meters          []Meter  // the time signature at tick 0 and every change, by tick
	Bars            []Bar    // every bar, the last partly filled one too; bar number is index + 1
	Tracks          []Track  // in file order
	Notes           []Note   // by Tick, then Track, Channel, Key
	EndTick         int64    // where the last track ends; no note sounds beyond it
	Warnings        []string // sentences of what was left out or assumed

	clock clock
}

// A Note is one key sounding. Where notes of one key and channel overlap in a
// track, the first to start is the first to end: MIDI does not say which of
// them a note-off means.
type Note struct {
	Tick, Ticks int64 // start and length; Ticks may be 0
	Track       int   // index in Song.Tracks
	Key         uint8 // 0 … 127, 60 is middle C
	Velocity    uint8 // 1 … 127
	Channel     uint8 // 1 … 16
}

// Drum reports whether the note is percussion: channel 10 in General MIDI,
// where the key names an instrument and not a pitch.
func (n Note) Drum() bool { return n.Channel == 10 }

// A Tempo holds from its tick on.
type Tempo struct {
	Tick             int64
	MicrosPerQuarter uint32 // µs per quarter note, 1 … 16,777,215
}

// BPM returns the tempo in quarter notes per minute: 60,000,000 / µs. A file
// has whole microseconds alone, so that of 84 BPM, 714,285.71 µs, it has 714,286
// or 714,285: where a tempo of at most three decimals comes to the same, rounded
// or cut, it is that one, with the fewest decimals.
func (t Tempo) BPM() float64 {
	us := float64(t.MicrosPerQuarter)
	exact := 60e6 / us
	for _, unit := range []float64{1, 10, 100, 1000} {
		if bpm := math.Round(exact*unit) / unit; bpm > 0 && math.Abs(60e6/bpm-us) < 1 {
			return bpm
		}
	}
	return exact
}

// A Meter is a time signature that holds from its tick on. It starts a new bar,
// cutting the bar before it short if need be.
type Meter struct {
	Tick        int64
	Numerator   int // 1 … 255
	Denominator int // a power of two, 1 … 64
}

// A Bar starts at Tick and lasts until the next. Ticks is its whole length,
// even where the song ends inside it.
type Bar struct {
	Tick, Ticks            int64
	Numerator, Denominator int
}

// A Track is one track of the file.
type Track struct {
	Name     string // empty if the file gives none
	Channels []int  // MIDI channels of its notes, 1 … 16, ascending; no bytes, which JSON would garble
}

var (
	defaultTempo = Tempo{MicrosPerQuarter: 500_000}
	defaultMeter = Meter{Numerator: 4, Denominator: 4}
)

// untitled is the title of a song that neither its tracks nor its file name.
const untitled = "Untitled"

// TempoAt returns the tempo in force at a tick; before the first, the first.
func (s *Song) TempoAt(tick int64) Tempo {
	if len(s.Tempos) == 0 {
		return defaultTempo
	}
	i := sort.Search(len(s.Tempos), func(i int) bool { return s.Tempos[i].Tick > tick })
	return s.Tempos[max(i-1, 0)]
}

// BarAt returns the index in Bars of the bar that a tick lies in: the first bar
// for ticks before it, the last for ticks after it, -1 if there are no bars.
func (s *Song) BarAt(tick int64) int {
	i := sort.Search(len(s.Bars), func(i int) bool { return s.Bars[i].Tick > tick })
	return min(max(i-1, 0), len(s.Bars)-1)
}
