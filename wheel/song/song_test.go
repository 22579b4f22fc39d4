package song

import (
	"math"
	"path/filepath"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

func readOne(t testing.TB, name string) *Song {
	t.Helper()
	songs, err := ReadFile(filepath.Join(midiFiles, name))
	if err != nil {
		t.Fatal(err)
	}
	return songs[0]
}

// Worked by hand from three-tracks.events.csv, 480 ticks a quarter: 8 bars of
// 3/4 of 1440 ticks, 8 of 6/8 of 1440, 4 of 4/4 of 1920, then 5/8 of 1200 from
// tick 30720; the file ends at tick 31140, inside the first of them.
func TestBarsFollowTimeSignatures(t *testing.T) {
	s := readOne(t, "three-tracks.mid")
	if len(s.Bars) != 21 {
		t.Fatalf("%d bars, want 21", len(s.Bars))
	}
	for _, c := range []struct {
		tick int64
		bar  int
		want Bar
	}{
		{-5, 0, Bar{0, 1440, 3, 4}},
		{0, 0, Bar{0, 1440, 3, 4}},
		{1439, 0, Bar{0, 1440, 3, 4}},
		{1440, 1, Bar{1440, 1440, 3, 4}},
		{11_519, 7, Bar{10_080, 1440, 3, 4}},
		{11_520, 8, Bar{11_520, 1440, 6, 8}},
		{23_040, 16, Bar{23_040, 1920, 4, 4}},
		{30_720, 20, Bar{30_720, 1200, 5, 8}},
		{1 << 40, 20, Bar{30_720, 1200, 5, 8}},
	} {
		if bar := s.BarAt(c.tick); bar != c.bar || s.Bars[bar] != c.want {
			t.Errorf("tick %d is in bar %d, %v; want %d, %v", c.tick, bar, s.Bars[bar], c.bar, c.want)
		}
	}
}

// Worked by hand: the tempo is 0.5 s a quarter for 23,040 ticks = 48 quarters,
// so 24 s; then 0.525 s, 0.55 s … 0.8 s for one quarter each, 7.95 s; then, until
// tick 30,720, four quarters more at 0.8 s, 3.2 s; then 0.333333 s.
func TestSecondsFollowTempos(t *testing.T) {
	s := readOne(t, "three-tracks.mid")
	byHand := *s
	byHand.Tempos = slices.Clone(s.Tempos)
	for _, c := range []struct {
		tick, want float64
		us         uint32
	}{
		{-480, -0.5, 500_000},
		{0, 0, 500_000},
		{480, 0.5, 500_000},
		{12.48, 0.013, 500_000},
		{23_040, 24, 525_000},
		{23_280, 24.2625, 525_000},
		{28_800, 24 + 7.95, 800_000},
		{30_720, 24 + 7.95 + 3.2, 333_333},
		{31_200, 24 + 7.95 + 3.2 + 0.333333, 333_333},
	} {
		if got := s.SecondsAt(c.tick); !near(got, c.want) {
			t.Errorf("tick %g at %g s, want %g", c.tick, got, c.want)
		}
		if got := byHand.SecondsAt(c.tick); !near(got, c.want) {
			t.Errorf("in a song made by hand tick %g at %g s, want %g", c.tick, got, c.want)
		}
		if got := s.TempoAt(int64(c.tick)); got.MicrosPerQuarter != c.us {
			t.Errorf("tick %g at tempo %v, want %d", c.tick, got, c.us)
		}
	}
}

func TestSongWithoutTemposRunsAt120(t *testing.T) {
	s := &Song{TicksPerQuarter: 96}
	if got := s.SecondsAt(192); got != 1 {
		t.Errorf("two quarters take %g s, want 1", got)
	}
	if got := s.TempoAt(192).BPM(); got != 120 {
		t.Errorf("tempo %g, want 120", got)
	}
	if got := s.BarAt(192); got != -1 {
		t.Errorf("in bar %d of none, want -1", got)
	}
}

// A bar of 3/64 at 10 ticks a quarter is 1.875 ticks. Worked by hand: bars start
// at 0, 1.875, 3.75, 5.625, 7.5, 9.375, so at ticks 0, 2, 4, 6, 8, 9.
func TestBarsOfBrokenLengthDoNotDrift(t *testing.T) {
	table := layBars([]Meter{{0, 3, 64}}, 10, 9, MaxBars)
	want := []Bar{{0, 2, 3, 64}, {2, 2, 3, 64}, {4, 2, 3, 64}, {6, 2, 3, 64}, {8, 1, 3, 64}}
	if !slices.Equal(table.bars, want) {
		t.Errorf("bars %v, want %v", table.bars, want)
	}
}

// The last note starts at the very end, on a bar line.
func TestEveryNoteHasABar(t *testing.T) {
	songs, err := Parse([]byte(head(0, 1, 24)+track("\x60\x90\x3C\x40\x00\x3C\x00"+end)), "")
	if err != nil {
		t.Fatal(err)
	}
	if got, want := songs[0].Bars, []Bar{{0, 96, 4, 4}, {96, 96, 4, 4}}; !slices.Equal(got, want) {
		t.Errorf("bars %v, want %v", got, want)
	}
}

// General MIDI System Level 1 keeps channel 10 for percussion. From memory.
func TestChannel10IsPercussion(t *testing.T) {
	for channel := uint8(1); channel <= 16; channel++ {
		if got := (Note{Channel: channel}).Drum(); got != (channel == 10) {
			t.Errorf("channel %d: drum is %v", channel, got)
		}
	}
}

// Worked by hand from overlaps.events.csv.
func TestOverlappingNotesOfOneKeyEndInTheOrderTheyStarted(t *testing.T) {
	s := readOne(t, "overlaps.mid")
	var got []Note
	for _, n := range s.Notes {
		if n.Track == 0 && (n.Key == 60 || n.Key == 64) {
			got = append(got, n)
		}
	}
	want := []Note{
		{0, 48, 0, 60, 11, 1}, {24, 72, 0, 60, 22, 1},
		{200, 20, 0, 60, 33, 1}, {200, 40, 0, 60, 44, 1},
		{400, 30, 0, 64, 66, 1}, {410, 30, 0, 64, 67, 1}, {420, 30, 0, 64, 68, 1},
	}
	if !slices.Equal(got, want) {
		t.Errorf("notes %v, want %v", got, want)
	}
}

// Of two tempos or time signatures at one tick the later holds, and one that
// changes nothing is no change.
func TestOnlyChangesAreKept(t *testing.T) {
	tempos := inForce([]Tempo{{480, 3}, {0, 1}, {0, 2}, {960, 3}, {480, 4}, {480, 3}}, defaultTempo, Tempo.tick, Tempo.same)
	if want := []Tempo{{0, 2}, {480, 3}}; !slices.Equal(tempos, want) {
		t.Errorf("tempos %v, want %v", tempos, want)
	}
	meters := inForce([]Meter{{960, 3, 4}, {1920, 3, 4}, {2000, 4, 4}}, defaultMeter, Meter.tick, Meter.same)
	if want := []Meter{{0, 4, 4}, {960, 3, 4}, {2000, 4, 4}}; !slices.Equal(meters, want) {
		t.Errorf("meters %v, want %v", meters, want)
	}
}

func TestTitleComesFromTrackElseFile(t *testing.T) {
	named := head(1, 2, 96) + track(end) + track("\x00\xFF\x03\x07\x00 Rain \x01"+noteOn+end)
	plain := head(0, 1, 96) + track(noteOn+end)
	trackNamed := func(name string) string {
		return head(0, 1, 96) + track("\x00\xFF\x03"+string(rune(len(name)))+name+noteOn+end)
	}
	for _, c := range []struct{ data, name, want string }{
		{named, "mill.mid", "Rain"},
		{plain, "mill.mid", "mill"},
		{plain, `C:\songs\Hail at noon.MIDI`, "Hail at noon"},
		{plain, "songs/mill.v2", "mill.v2"},
		{plain, "songs/.mid", "Untitled"},
		{plain, "", "Untitled"},
		{trackNamed("Staff"), "mill.mid", "mill"},
		{trackNamed("Staff-1"), "mill.mid", "mill"},
		{trackNamed("Track 1"), "mill.mid", "mill"},
		{trackNamed("track01"), "mill.mid", "mill"},
		{trackNamed("Staffage"), "mill.mid", "Staffage"},
		{trackNamed("Tracks in Snow"), "mill.mid", "Tracks in Snow"},
		{trackNamed("Track 1"), "", "Track 1"},
		{head(1, 2, 96) + track("\x00\xFF\x03\x05Staff"+end) + track("\x00\xFF\x03\x04Rain"+noteOn+end), "mill.mid", "Rain"},
	} {
		songs, err := Parse([]byte(c.data), c.name)
		if err != nil {
			t.Fatal(err)
		}
		if songs[0].Title != c.want {
			t.Errorf("%q: title %q, want %q", c.name, songs[0].Title, c.want)
		}
	}
}

func TestNamesAreFitToShow(t *testing.T) {
	for _, c := range []struct{ text, want string }{
		{"Flûte", "Flûte"},
		{"Fl\xFBte", "Flûte"},
		{"\tTwo\r\nlines\x00 ", "Two  lines"},
		{"left\u202eright", "leftright"},
		{"\x80\x9F", ""},
	} {
		if got := cleanName(c.text); got != c.want {
			t.Errorf("%q shows as %q, want %q", c.text, got, c.want)
		}
		if got := cleanName(c.want); got != c.want {
			t.Errorf("%q shows as %q the second time", c.want, got)
		}
	}
}

// A file's whole microseconds of a quarter note are read as the tempo that was
// meant: 60,000,000 / µs (Standard MIDI Files 1.0, Set Tempo), which is never a
// microsecond from what stands there.
func TestTempoIsReadAsItWasMeant(t *testing.T) {
	for halves := 8; halves <= 2*960; halves++ { // 4 BPM is 15 s a quarter note, near the most that is written
		bpm := float64(halves) / 2
		for _, us := range []uint32{uint32(math.Round(60e6 / bpm)), uint32(60e6 / bpm)} {
			if got := (Tempo{0, us}).BPM(); got != bpm {
				t.Fatalf("%d µs is %v BPM, want %v", us, got, bpm)
			}
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		us := rapid.Uint32Range(1, 1<<24-1).Draw(t, "us")
		if bpm := (Tempo{0, us}).BPM(); !(math.Abs(60e6/bpm-float64(us)) < 1) {
			t.Fatalf("%d µs is read as %v BPM, which is %v µs", us, bpm, 60e6/bpm)
		}
	})
	if got := (Tempo{0, 714_000}).BPM(); got != 60e6/714_000.0 {
		t.Errorf("714,000 µs is %v BPM, want 84.0336…", got)
	}
}
