package song

import (
	"cmp"
	"encoding/csv"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// The files of testdata/midi, which other programs wrote, are read as two other
// readers read them: midicsv for every event, @tonejs/midi for the pairing of
// starts and ends. The README there says how each list was made.
func TestFilesReadAsOtherReadersReadThem(t *testing.T) {
	for _, name := range []string{"aimless", "drum-loop", "mixed", "one-track", "overlaps", "patterns", "smpte", "three-tracks"} {
		t.Run(name, func(t *testing.T) {
			songs, err := ReadFile(filepath.Join(midiFiles, name+".mid"))
			if err != nil {
				t.Fatal(err)
			}
			events, paired := readEvents(t, name), readPaired(t, name)
			if songs[0].Format != events.format || !songs[0].SMPTE && songs[0].TicksPerQuarter != events.division {
				t.Errorf("format %d, %g ticks per quarter; midicsv: %d, %g", songs[0].Format, songs[0].TicksPerQuarter, events.format, events.division)
			}
			if events.format == 2 {
				if len(songs) != len(events.tracks) {
					t.Fatalf("%d songs, %d tracks", len(songs), len(events.tracks))
				}
				for i, s := range songs {
					compare(t, s, events.tracks[i:i+1], paired[i+1], events.tracks[i].title)
				}
				return
			}
			compare(t, songs[0], events.tracks, slices.Concat(paired[1], paired[2], paired[3], paired[4]), cmp.Or(events.title(), name))
		})
	}
}

func compare(t *testing.T, s *Song, tracks []trackEvents, paired []pairedNote, title string) {
	t.Helper()
	sound(t, s)
	if s.Title != title {
		t.Errorf("title %q, want %q", s.Title, title)
	}
	var starts []start
	ends := map[start]int{}
	var tempos []Tempo
	var meters []Meter
	var endTick int64
	for i, track := range tracks {
		if s.Tracks[i].Name != track.title {
			t.Errorf("track %d is named %q, midicsv: %q", i+1, s.Tracks[i].Name, track.title)
		}
		for _, n := range track.starts {
			n.track = i
			starts = append(starts, n)
		}
		for _, n := range track.ends {
			n.track = i
			ends[n]++
		}
		tempos = append(tempos, track.tempos...)
		meters = append(meters, track.meters...)
		endTick = max(endTick, track.endTick)
	}

	var gotStarts []start
	var gotPaired []pairedNote
	for _, n := range s.Notes {
		gotStarts = append(gotStarts, start{n.Tick, n.Track, int(n.Channel), int(n.Key), int(n.Velocity)})
		stop := start{n.Tick + n.Ticks, n.Track, int(n.Channel), int(n.Key), 0}
		if ends[stop]--; ends[stop] < 0 {
			t.Errorf("%v ends where midicsv has no end", n)
		}
		gotPaired = append(gotPaired, pairedNote{n.Tick, n.Ticks, int(n.Key), int(n.Velocity)})
	}
	slices.SortFunc(starts, compareStarts)
	slices.SortFunc(gotStarts, compareStarts)
	if !slices.Equal(gotStarts, starts) {
		t.Errorf("starts differ from midicsv's:\n%v\nwant\n%v", gotStarts, starts)
	}
	slices.SortFunc(gotPaired, comparePaired)
	slices.SortFunc(paired, comparePaired)
	if !slices.Equal(gotPaired, paired) {
		t.Errorf("notes differ from @tonejs/midi's:\n%v\nwant\n%v", gotPaired, paired)
	}
	if !s.SMPTE && len(tempos) > 0 && !reflect.DeepEqual(s.Tempos, tempos) {
		t.Errorf("tempos %v, midicsv: %v", s.Tempos, tempos)
	}
	if len(meters) > 0 && !reflect.DeepEqual(s.Meters, meters) {
		t.Errorf("meters %v, midicsv: %v", s.Meters, meters)
	}
	if s.EndTick != endTick {
		t.Errorf("ends at tick %d, midicsv: %d", s.EndTick, endTick)
	}
}

// A start is the start or, with velocity 0, the end of a note. Tracks and
// channels count as in Song.
type start struct {
	tick                          int64
	track, channel, key, velocity int
}

type trackEvents struct {
	title        string
	starts, ends []start
	tempos       []Tempo
	meters       []Meter
	endTick      int64
}

type fileEvents struct {
	format   int
	division float64
	tracks   []trackEvents
}

func (f fileEvents) title() string {
	for _, t := range f.tracks {
		if t.title != "" {
			return t.title
		}
	}
	return ""
}

// readEvents reads what midicsv printed.
func readEvents(t *testing.T, name string) (f fileEvents) {
	t.Helper()
	for _, row := range readTable(t, name+".events.csv") {
		number := func(i int) int {
			n, err := strconv.Atoi(row[i])
			if err != nil {
				t.Fatal(err)
			}
			return n
		}
		if row[2] == "Header" {
			f.format, f.division, f.tracks = number(3), float64(number(5)), make([]trackEvents, number(4))
		}
		if row[0] == "0" {
			continue
		}
		track, tick := &f.tracks[number(0)-1], int64(number(1))
		switch row[2] {
		case "Title_t":
			track.title = latin1(row[3])
		case "Tempo":
			track.tempos = append(track.tempos, Tempo{tick, uint32(number(3))})
		case "Time_signature":
			track.meters = append(track.meters, Meter{tick, number(3), 1 << number(4)})
		case "Note_on_c", "Note_off_c":
			n := start{tick: tick, channel: number(3) + 1, key: number(4)}
			if velocity := number(5); row[2] == "Note_on_c" && velocity > 0 {
				n.velocity = velocity
				track.starts = append(track.starts, n)
			} else {
				track.ends = append(track.ends, n)
			}
		case "End_track":
			track.endTick = tick
		}
	}
	return f
}

type pairedNote struct {
	tick, ticks   int64
	key, velocity int
}

// readPaired reads the notes of @tonejs/midi, by track from 1.
func readPaired(t *testing.T, name string) map[int][]pairedNote {
	t.Helper()
	notes := map[int][]pairedNote{}
	for _, row := range readTable(t, name+".notes.csv") {
		var n [5]int
		for i := range n {
			var err error
			if n[i], err = strconv.Atoi(row[i]); err != nil {
				t.Fatal(err)
			}
		}
		notes[n[0]] = append(notes[n[0]], pairedNote{int64(n[1]), int64(n[2]), n[3], n[4]})
	}
	return notes
}

func readTable(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open(filepath.Join(midiFiles, name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	table := csv.NewReader(f)
	table.TrimLeadingSpace, table.FieldsPerRecord, table.LazyQuotes = true, -1, true
	rows, err := table.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) == 0 {
		t.Fatalf("%s is empty", name)
	}
	return rows
}

// latin1 decodes the ISO 8859-1 that midicsv writes.
func latin1(text string) string {
	var b strings.Builder
	for i := range len(text) {
		b.WriteRune(rune(text[i]))
	}
	return b.String()
}

func compareStarts(a, b start) int {
	return cmp.Or(cmp.Compare(a.tick, b.tick), cmp.Compare(a.track, b.track), cmp.Compare(a.channel, b.channel), cmp.Compare(a.key, b.key), cmp.Compare(a.velocity, b.velocity))
}

func comparePaired(a, b pairedNote) int {
	return cmp.Or(cmp.Compare(a.tick, b.tick), cmp.Compare(a.key, b.key), cmp.Compare(a.velocity, b.velocity), cmp.Compare(a.ticks, b.ticks))
}
