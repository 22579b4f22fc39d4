package song

import (
	"encoding/hex"
	"reflect"
	"slices"
	"strings"
	"testing"
)

// The variable-length quantities that the Standard MIDI Files 1.0 specification
// prints as examples. From memory.
func TestVariableLengthQuantitiesOfTheSpecification(t *testing.T) {
	for _, c := range []struct {
		value int
		bytes string
	}{
		{0x00000000, "00"},
		{0x00000040, "40"},
		{0x0000007F, "7F"},
		{0x00000080, "81 00"},
		{0x00002000, "C0 00"},
		{0x00003FFF, "FF 7F"},
		{0x00004000, "81 80 00"},
		{0x00100000, "C0 80 00"},
		{0x001FFFFF, "FF FF 7F"},
		{0x00200000, "81 80 80 00"},
		{0x08000000, "C0 80 80 00"},
		{0x0FFFFFFF, "FF FF FF 7F"},
	} {
		b := unhex(t, c.bytes)
		if value, next := quantity(append(b, 0x55), 0); value != c.value || next != len(b) {
			t.Errorf("%s is %X in %d bytes, want %X in %d", c.bytes, value, next, c.value, len(b))
		}
		if _, next := quantity(b[:len(b)-1], 0); next != quantityCut {
			t.Errorf("%s less its last byte: position %d, want %d", c.bytes, next, quantityCut)
		}
	}
	if _, next := quantity(unhex(t, "81 80 80 80 00"), 0); next != quantityLong {
		t.Errorf("a quantity of five bytes: position %d, want %d", next, quantityLong)
	}
}

// The example of the Standard MIDI Files 1.0 specification, printed there as a
// file of format 0 and as one of format 1: a piece for three channels at 96
// ticks per quarter note, in 4/4 at 120 BPM. From memory; the chunk lengths, as
// printed, agree with the bytes.
const (
	specFormat0 = `
		4D 54 68 64  00 00 00 06  00 00  00 01  00 60
		4D 54 72 6B  00 00 00 3B
		00 FF 58 04 04 02 18 08
		00 FF 51 03 07 A1 20
		00 C0 05
		00 C1 2E
		00 C2 46
		00 92 30 60
		00 3C 60
		60 91 43 40
		60 90 4C 20
		81 40 82 30 40
		00 3C 40
		00 81 43 40
		00 80 4C 40
		00 FF 2F 00`
	specFormat1 = `
		4D 54 68 64  00 00 00 06  00 01  00 04  00 60
		4D 54 72 6B  00 00 00 14
		00 FF 58 04 04 02 18 08
		00 FF 51 03 07 A1 20
		83 00 FF 2F 00
		4D 54 72 6B  00 00 00 10
		00 C0 05
		81 40 90 4C 20
		81 40 4C 00
		00 FF 2F 00
		4D 54 72 6B  00 00 00 0F
		00 C1 2E
		60 91 43 40
		82 20 43 00
		00 FF 2F 00
		4D 54 72 6B  00 00 00 15
		00 C2 46
		00 92 30 60
		00 3C 60
		83 00 30 00
		00 3C 00
		00 FF 2F 00`
)

func TestExampleFilesOfTheSpecification(t *testing.T) {
	for _, c := range []struct {
		name, file string
		format     int
		tracks     []Track
		trackOf    map[uint8]int // by channel
	}{
		{"format 0", specFormat0, 0, []Track{{Channels: []int{1, 2, 3}}}, map[uint8]int{1: 0, 2: 0, 3: 0}},
		{"format 1", specFormat1, 1, []Track{{}, {Channels: []int{1}}, {Channels: []int{2}}, {Channels: []int{3}}}, map[uint8]int{1: 1, 2: 2, 3: 3}},
	} {
		t.Run(c.name, func(t *testing.T) {
			songs, err := Parse(unhex(t, c.file), "")
			if err != nil || len(songs) != 1 {
				t.Fatal(len(songs), err)
			}
			s := songs[0]
			// The piece as the specification tells it: C3 and C2 on channel 3
			// from the start, G4 on channel 2 a quarter later, E5 on channel 1
			// another quarter later; all end with the fourth quarter.
			notes := []Note{
				{Tick: 0, Ticks: 384, Key: 48, Velocity: 96, Channel: 3},
				{Tick: 0, Ticks: 384, Key: 60, Velocity: 96, Channel: 3},
				{Tick: 96, Ticks: 288, Key: 67, Velocity: 64, Channel: 2},
				{Tick: 192, Ticks: 192, Key: 76, Velocity: 32, Channel: 1},
			}
			for i := range notes {
				notes[i].Track = c.trackOf[notes[i].Channel]
			}
			if !slices.Equal(s.Notes, notes) {
				t.Errorf("notes\n%v\nwant\n%v", s.Notes, notes)
			}
			if !reflect.DeepEqual(s.Tracks, c.tracks) {
				t.Errorf("tracks %v, want %v", s.Tracks, c.tracks)
			}
			if s.Format != c.format || s.TicksPerQuarter != 96 || s.SMPTE || s.EndTick != 384 || s.Title != "Untitled" {
				t.Errorf("format %d, %g ticks, SMPTE %v, end %d, title %q", s.Format, s.TicksPerQuarter, s.SMPTE, s.EndTick, s.Title)
			}
			if !slices.Equal(s.Tempos, []Tempo{{0, 500_000}}) || s.Tempos[0].BPM() != 120 {
				t.Errorf("tempos %v", s.Tempos)
			}
			if !slices.Equal(s.Meters, []Meter{{0, 4, 4}}) || !slices.Equal(s.Bars, []Bar{{0, 384, 4, 4}}) {
				t.Errorf("meters %v, bars %v", s.Meters, s.Bars)
			}
			if len(s.Warnings) > 0 {
				t.Errorf("warnings %q", s.Warnings)
			}
			sound(t, s)
		})
	}
}

// The specification: milliseconds by 25 frames a second of 40 ticks; −29 frames
// is 30 drop frame, which SMPTE 12M runs at 30,000/1001 frames a second; bit
// resolution of 30 frames, 80 ticks, is division E2 50. From memory.
func TestSMPTETicksAreAbsoluteTime(t *testing.T) {
	for _, c := range []struct {
		division uint16
		perS     float64
	}{
		{0xE728, 1000},
		{0xE250, 2400},
		{0xE804, 96},
		{0xE364, 100 * 30_000.0 / 1001},
	} {
		file := head(0, 1, c.division) + track("\x00\xFF\x51\x03\x01\x00\x00"+noteOn+"\x64"+noteOff+end)
		songs, err := Parse([]byte(file), "")
		if err != nil {
			t.Fatal(err)
		}
		s := songs[0]
		if !s.SMPTE || s.TicksPerQuarter != c.perS*0.5 || s.Tempos[0].BPM() != 120 || len(s.Tempos) != 1 {
			t.Errorf("division %X: SMPTE %v, %g ticks per quarter, tempos %v", c.division, s.SMPTE, s.TicksPerQuarter, s.Tempos)
		}
		if got, want := s.SecondsAt(100), 100/c.perS; !near(got, want) {
			t.Errorf("division %X: tick 100 at %g s, want %g", c.division, got, want)
		}
		sound(t, s)
	}
}

func near(a, b float64) bool { return a-b < 1e-9 && b-a < 1e-9 }

func unhex(t *testing.T, text string) []byte {
	t.Helper()
	b, err := hex.DecodeString(strings.Join(strings.Fields(text), ""))
	if err != nil {
		t.Fatal(err)
	}
	return b
}
