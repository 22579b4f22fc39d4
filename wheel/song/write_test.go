package song

import (
	"bytes"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"gitlab.com/gomidi/midi/v2/smf"
	"pgregory.net/rapid"
)

// songs draws songs such as Parse gives: tempos and meters that change
// something, notes of one key that end in the order they start.
func songs(t *rapid.T) *Song {
	s := &Song{TicksPerQuarter: float64(rapid.OneOf(rapid.SampledFrom([]int{96, 480}), rapid.IntRange(1, 0x7FFF)).Draw(t, "ticks per quarter"))}
	if s.SMPTE = rapid.Bool().Draw(t, "SMPTE"); s.SMPTE {
		frames := rapid.SampledFrom([]int{24, 25, 29, 30}).Draw(t, "frames")
		s.TicksPerQuarter = smpteTicksPerQuarter(frameRates[frames], rapid.IntRange(1, 255).Draw(t, "ticks per frame"))
	}
	// Some songs have gaps longer than the longest delta time.
	unit := rapid.SampledFrom([]int64{1, 30, 100_000_000}).Draw(t, "unit")
	ticks := rapid.Map(rapid.Int64Range(0, 200), func(n int64) int64 { return n * unit })

	s.Tempos = []Tempo{defaultTempo}
	if !s.SMPTE {
		micros := rapid.Uint32Range(1, 0xFFFFFF)
		s.Tempos[0].MicrosPerQuarter = micros.Draw(t, "tempo")
		for _, tick := range rising(t, ticks, "tempo ticks") {
			s.Tempos = append(s.Tempos, Tempo{tick, micros.Draw(t, "tempo")})
		}
		s.Tempos = inForce(s.Tempos, defaultTempo, Tempo.tick, Tempo.same)
	}
	meters := rapid.Custom(func(t *rapid.T) Meter {
		return Meter{0, rapid.IntRange(1, 255).Draw(t, "numerator"), 1 << rapid.IntRange(0, 6).Draw(t, "denominator")}
	}).Filter(func(m Meter) bool { return m.wrong(s.TicksPerQuarter) == "" })
	s.Meters = []Meter{meters.Draw(t, "meter")}
	for _, tick := range rising(t, ticks, "meter ticks") {
		m := meters.Draw(t, "meter")
		m.Tick = tick
		s.Meters = append(s.Meters, m)
	}
	s.Meters = inForce(s.Meters, defaultMeter, Meter.tick, Meter.same)

	names := rapid.Map(rapid.String(), cleanName)
	for range rapid.IntRange(1, 4).Draw(t, "tracks") {
		s.Tracks = append(s.Tracks, Track{Name: names.Draw(t, "name")})
	}
	s.Title = names.Filter(func(name string) bool { return name != "" && name != untitled }).Draw(t, "title")

	s.Notes = rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Note {
		return Note{
			Tick: ticks.Draw(t, "tick"), Ticks: ticks.Draw(t, "ticks"),
			Track:    rapid.IntRange(0, len(s.Tracks)-1).Draw(t, "track"),
			Key:      rapid.OneOf(rapid.Uint8Range(60, 61), rapid.Uint8Range(0, 127)).Draw(t, "key"),
			Velocity: rapid.Uint8Range(1, 127).Draw(t, "velocity"),
			Channel:  rapid.OneOf(rapid.Just(uint8(1)), rapid.Uint8Range(1, 16)).Draw(t, "channel"),
		}
	}), 0, 40).Draw(t, "notes")
	firstInFirstOut(s.Notes)
	slices.SortStableFunc(s.Notes, byPlace)
	if len(s.Notes) == 0 {
		s.Notes = nil
	}
	s.setChannels()

	s.EndTick = max(ticks.Draw(t, "end"), s.Tempos[len(s.Tempos)-1].Tick, s.Meters[len(s.Meters)-1].Tick)
	for _, n := range s.Notes {
		s.EndTick = max(s.EndTick, n.Tick+n.Ticks)
	}
	s.setBars(MaxBars+1, &warnings{})
	return s
}

func rising(t *rapid.T, ticks *rapid.Generator[int64], label string) []int64 {
	list := rapid.SliceOfN(ticks, 0, 4).Draw(t, label)
	slices.Sort(list)
	return slices.Compact(list)
}

// firstInFirstOut gives the notes of each key, in order of their starts, their
// ends in order.
func firstInFirstOut(notes []Note) {
	type key struct {
		track        int
		channel, key uint8
	}
	ends := map[key][]int64{}
	slices.SortStableFunc(notes, byPlace)
	for _, n := range notes {
		k := key{n.Track, n.Channel, n.Key}
		ends[k] = append(ends[k], n.Tick+n.Ticks)
	}
	for _, list := range ends {
		slices.Sort(list)
	}
	for i, n := range notes {
		k := key{n.Track, n.Channel, n.Key}
		notes[i].Ticks = ends[k][0] - n.Tick
		ends[k] = ends[k][1:]
	}
}

func TestWhatWasWrittenIsReadAgain(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		s := songs(r)
		var file bytes.Buffer
		err := Write(&file, s)
		if len(s.Bars) > MaxBars {
			if err == nil {
				r.Fatalf("%d bars were written", len(s.Bars))
			}
			return
		}
		if err != nil {
			r.Fatal(err)
		}
		again, err := Parse(file.Bytes(), "")
		if err != nil {
			r.Fatal(err)
		}
		same(r, again[0], s)
		want := 0
		if s.SMPTE {
			want = 1 // that beats are laid at 120 BPM
		}
		if len(s.Notes) == 0 {
			want++
		}
		got := slices.DeleteFunc(again[0].Warnings, func(w string) bool { return strings.Contains(w, "cut short") || strings.HasPrefix(w, "no tempo") })
		if len(got) != want {
			r.Errorf("warnings %q", got)
		}
	})
}

// Readers that sound one note of a key at a time would else cut the second off.
func TestNoteEndsBeforeTheNextOfItsKeyStarts(t *testing.T) {
	var file bytes.Buffer
	s := &Song{TicksPerQuarter: 96, Notes: []Note{{0, 96, 0, 60, 64, 1}, {96, 96, 0, 60, 64, 1}}}
	if err := Write(&file, s); err != nil {
		t.Fatal(err)
	}
	read, err := smf.ReadFrom(&file)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range read.Tracks[0] {
		got = append(got, fmt.Sprintf("%d:%X", e.Delta, []byte(e.Message)))
	}
	if want := []string{"0:903C40", "96:803C00", "0:903C40", "96:803C00", "0:FF2F00"}; !slices.Equal(got, want) {
		t.Errorf("written %v, want %v", got, want)
	}
}

// A title is never lost: where no track bears it, the first comes to.
func TestTitleIsWritten(t *testing.T) {
	for _, c := range []struct {
		title  string
		tracks []Track
		want   []string
	}{
		{"Hail", nil, []string{"Hail"}},
		{"Hail", []Track{{}, {Name: "Hail"}}, []string{"", "Hail"}},
		{"Hail", []Track{{Name: "Drums"}, {Name: "Bells"}}, []string{"Hail", "Bells"}},
		{"", []Track{{}, {Name: "Bells"}}, []string{"", "Bells"}},
		{"Untitled", []Track{{}}, []string{""}},
	} {
		var file bytes.Buffer
		if err := Write(&file, &Song{Title: c.title, TicksPerQuarter: 96, Tracks: c.tracks}); err != nil {
			t.Fatal(err)
		}
		again, err := Parse(file.Bytes(), "")
		if err != nil {
			t.Fatal(err)
		}
		var names []string
		for _, track := range again[0].Tracks {
			names = append(names, track.Name)
		}
		if !slices.Equal(names, c.want) {
			t.Errorf("title %q, tracks %v: written %q, want %q", c.title, c.tracks, names, c.want)
		}
		if c.title != "" && again[0].Title != c.title {
			t.Errorf("title %q read again as %q", c.title, again[0].Title)
		}
	}
}

func TestWhatNoFileCanHoldIsNotWritten(t *testing.T) {
	for want, change := range map[string]func(s *Song){
		"TicksPerQuarter is 0; it must be a whole number from 1 to 32767":     func(s *Song) { s.TicksPerQuarter = 0 },
		"TicksPerQuarter is 96.5; it must be a whole number from 1 to 32767":  func(s *Song) { s.TicksPerQuarter = 96.5 },
		"TicksPerQuarter is 32768; it must be a whole number from 1 to 32767": func(s *Song) { s.TicksPerQuarter = 32768 },
		"TicksPerQuarter is 501; in SMPTE time it must be half of 24, 25, 29.97 or 30 frames × 1 to 255 ticks": func(s *Song) {
			s.SMPTE, s.TicksPerQuarter = true, 501
		},
		"it has 4,097 tracks; a song may have up to 4,096":                                   func(s *Song) { s.Tracks = make([]Track, MaxTracks+1) },
		"Tempos[0].Tick is -1; ticks start from 0 and rise":                                  func(s *Song) { s.Tempos = []Tempo{{-1, 1}} },
		"Tempos[1].Tick is 5; ticks start from 0 and rise":                                   func(s *Song) { s.Tempos = []Tempo{{5, 1}, {5, 2}} },
		"Tempos[0].MicrosPerQuarter is 0; it goes from 1 to 16,777,215":                      func(s *Song) { s.Tempos = []Tempo{{0, 0}} },
		"Tempos[0].MicrosPerQuarter is 16777216; it goes from 1 to 16,777,215":               func(s *Song) { s.Tempos = []Tempo{{0, 1 << 24}} },
		"Meters[1].Tick is 0; ticks start from 0 and rise":                                   func(s *Song) { s.Meters = []Meter{{0, 3, 4}, {0, 4, 4}} },
		"Meters[0].Numerator is 256; it goes from 1 to 255":                                  func(s *Song) { s.Meters = []Meter{{0, 256, 4}} },
		"Meters[0].Denominator is 6; it is a power of two from 1 to 64":                      func(s *Song) { s.Meters = []Meter{{0, 4, 6}} },
		"Meters[0].Denominator is 128; it is a power of two from 1 to 64":                    func(s *Song) { s.Meters = []Meter{{0, 4, 128}} },
		"Meters[0].Numerator is 1 over 64, a bar of 0.62 ticks; it must be 1 tick or longer": func(s *Song) { s.TicksPerQuarter, s.Meters = 10, []Meter{{0, 1, 64}} },
		"Notes[1].Tick is -1; it goes from 0 to 1125899906842624":                            func(s *Song) { s.Notes[1].Tick = -1 },
		"Notes[1].Ticks is -1; it goes from 0 to 1125899906842624":                           func(s *Song) { s.Notes[1].Ticks = -1 },
		"Notes[1].Track is 2; it goes from 0 to 1":                                           func(s *Song) { s.Notes[1].Track = 2 },
		"Notes[1].Key is 128; it goes from 0 to 127":                                         func(s *Song) { s.Notes[1].Key = 128 },
		"Notes[1].Velocity is 0; it goes from 1 to 127":                                      func(s *Song) { s.Notes[1].Velocity = 0 },
		"Notes[1].Channel is 17; it goes from 1 to 16":                                       func(s *Song) { s.Notes[1].Channel = 17 },
		"EndTick is -1; it cannot be negative":                                               func(s *Song) { s.EndTick = -1 },
		"it has more than 20,000 bars, the most a song may have":                             func(s *Song) { s.EndTick = 20_000*384 + 1 },
	} {
		s := &Song{TicksPerQuarter: 96, Tracks: make([]Track, 2), Notes: []Note{{0, 1, 0, 60, 1, 1}, {0, 1, 0, 60, 1, 1}}}
		change(s)
		var file bytes.Buffer
		if err := Write(&file, s); err == nil || err.Error() != want || file.Len() > 0 {
			t.Errorf("error %v, %d bytes written; want %q", err, file.Len(), want)
		}
	}
}

func TestSongTooLargeToReadIsNotWritten(t *testing.T) {
	s := &Song{TicksPerQuarter: 96, Notes: make([]Note, MaxBytes/8)} // of 8 bytes each, and a header
	for i := range s.Notes {
		s.Notes[i] = Note{int64(i), 1, 0, uint8(i % 128), 1, 1}
	}
	var file bytes.Buffer
	if err := Write(&file, s); err == nil || !strings.HasSuffix(err.Error(), "a song may have up to 8,388,608") || file.Len() > 0 {
		t.Errorf("error %v, %d bytes written", err, file.Len())
	}
}

type fullDisk struct{}

var errFull = errors.New("no space left")

func (fullDisk) Write([]byte) (int, error) { return 0, errFull }

func TestWriteTellsOfAFullDisk(t *testing.T) {
	if err := Write(fullDisk{}, &Song{TicksPerQuarter: 96}); !errors.Is(err, errFull) {
		t.Errorf("error %v, want %v", err, errFull)
	}
}
