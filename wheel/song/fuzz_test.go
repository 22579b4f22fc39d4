package song

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"unicode/utf8"
)

// sound fails the test unless a song from Parse keeps every promise of the type
// and comes back the same from Write.
func sound(t *testing.T, s *Song) {
	t.Helper()
	if s.Title == "" || !utf8.ValidString(s.Title) {
		t.Errorf("title is %q", s.Title)
	}
	for _, w := range s.Warnings {
		if w == "" || strings.Contains(w, "%!") || strings.ContainsAny(w, "\n") {
			t.Errorf("warning is %q", w)
		}
	}
	if len(s.Warnings) > maxWarnings+1 {
		t.Errorf("%d warnings", len(s.Warnings))
	}
	if s.Tempos[0].Tick != 0 || s.Meters[0].Tick != 0 || s.Bars[0].Tick != 0 {
		t.Errorf("first tempo %v, meter %v, bar %v: not at tick 0", s.Tempos[0], s.Meters[0], s.Bars[0])
	}
	for i := 1; i < len(s.Tempos); i++ {
		if s.Tempos[i].Tick <= s.Tempos[i-1].Tick || s.Tempos[i].MicrosPerQuarter == 0 {
			t.Fatalf("tempo %d: %v after %v", i, s.Tempos[i], s.Tempos[i-1])
		}
		if at, before := s.SecondsAt(float64(s.Tempos[i].Tick)), s.SecondsAt(float64(s.Tempos[i-1].Tick)); at <= before || math.IsInf(at, 0) {
			t.Fatalf("tempo %d at %g s after %g s", i, at, before)
		}
	}
	if len(s.Bars) > MaxBars {
		t.Errorf("%d bars", len(s.Bars))
	}
	for i := 1; i < len(s.Bars); i++ {
		if b := s.Bars[i-1]; b.Ticks < 1 || b.Tick+b.Ticks != s.Bars[i].Tick {
			t.Fatalf("bar %d is %v, the next %v", i, b, s.Bars[i])
		}
	}
	for i, n := range s.Notes {
		if i > 0 && byPlace(s.Notes[i-1], n) > 0 {
			t.Fatalf("note %d %v comes after %v", i, n, s.Notes[i-1])
		}
		if wrong := n.wrong(len(s.Tracks)); wrong != "" {
			t.Fatalf("note %d: %s", i, wrong)
		}
		if n.Tick+n.Ticks > s.EndTick {
			t.Fatalf("note %d %v ends after tick %d", i, n, s.EndTick)
		}
		if b := s.Bars[s.BarAt(n.Tick)]; n.Tick < b.Tick || n.Tick >= b.Tick+b.Ticks {
			t.Fatalf("note %d %v is not in its bar %v", i, n, b)
		}
	}

	var file bytes.Buffer
	if err := Write(&file, s); err != nil {
		if !strings.Contains(err.Error(), "a song may have up to") {
			t.Fatalf("cannot be written: %v", err)
		}
		return
	}
	again, err := Parse(file.Bytes(), "")
	if err != nil {
		t.Fatalf("cannot be read again: %v", err)
	}
	same(t, again[0], s)
}

// A reporter is a test, of testing or of rapid.
type reporter interface {
	Helper()
	Errorf(format string, args ...any)
}

// same fails the test unless a song that was written and read again is the one
// that was written.
func same(t reporter, got, wrote *Song) {
	t.Helper()
	want := *wrote
	want.Format = min(1, len(want.Tracks)-1)
	want.Tracks = append([]Track(nil), want.Tracks...)
	for i, name := range want.names() {
		want.Tracks[i].Name = name
	}
	differ := func(field string, got, want any) {
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%s read again as %.300v, want %.300v", field, fmt.Sprint(got), fmt.Sprint(want))
		}
	}
	differ("Title", got.Title, want.Title)
	differ("Format", got.Format, want.Format)
	differ("TicksPerQuarter", got.TicksPerQuarter, want.TicksPerQuarter)
	differ("SMPTE", got.SMPTE, want.SMPTE)
	differ("Tempos", got.Tempos, want.Tempos)
	differ("Meters", got.Meters, want.Meters)
	differ("Bars", got.Bars, want.Bars)
	differ("Tracks", got.Tracks, want.Tracks)
	differ("Notes", got.Notes, want.Notes)
	differ("EndTick", got.EndTick, want.EndTick)
}

// damages are files that went wrong in ways seen in the field or told of by the
// specification, each made from two sound tracks.
var damages = map[string]string{
	"chunk cut short":           head(1, 2, 96) + track(noteOn+"\x60"+noteOff+end) + "MTrk\x00\x00\x00\x40" + noteOn,
	"header announces more":     head(1, 9, 96) + track(noteOn+"\x60"+noteOff+end),
	"length zero":               head(0, 1, 96) + "MTrk\x00\x00\x00\x00" + noteOn + "\x60" + noteOff + end,
	"length too short":          head(1, 2, 96) + "MTrk\x00\x00\x00\x06" + noteOn + "\x60" + noteOff + end + track(end),
	"length beyond the file":    head(1, 2, 96) + "MTrk\xFF\xFF\xFF\xFF" + noteOn + "\x60" + noteOff + end + track(end),
	"no end of track":           head(0, 1, 96) + track(noteOn+"\x60"+noteOff),
	"no end of track, padding":  head(0, 1, 96) + track(noteOn+"\x60"+noteOff) + strings.Repeat("\x01", 40),
	"data without a status":     head(1, 2, 96) + track("\x00\x3C\x40") + track(noteOn+end),
	"note without an end":       head(0, 1, 96) + track(noteOn+"\x60\xFF\x2F\x00"),
	"delta of five bytes":       head(0, 1, 96) + track(noteOn+"\x81\x81\x81\x81\x00\x80\x3C\x00"),
	"data byte above 127":       head(0, 1, 96) + track(noteOn+"\x00\x90\x3C\x90"),
	"system message":            head(0, 1, 96) + track(noteOn+"\x00\xF4\x00"+end),
	"running status after meta": head(0, 1, 96) + track(noteOn+"\x00\xFF\x01\x00\x60\x3C\x00"+end),
	"tempo 0":                   head(0, 1, 96) + track("\x00\xFF\x51\x03\x00\x00\x00"+noteOn+end),
	"tempo of two bytes":        head(0, 1, 96) + track("\x00\xFF\x51\x02\x00\x00"+noteOn+end),
	"meter 0/4":                 head(0, 1, 96) + track("\x00\xFF\x58\x04\x00\x02\x18\x08"+noteOn+end),
	"meter 4/128":               head(0, 1, 96) + track("\x00\xFF\x58\x04\x04\x07\x18\x08"+noteOn+end),
	"meter 1/64, 1 tick":        head(0, 1, 1) + track("\x00\xFF\x58\x04\x01\x06\x18\x08"+noteOn+end),
	"meter inside a bar":        head(0, 1, 96) + track(noteOn+"\x60\xFF\x58\x04\x03\x02\x18\x08\x60"+noteOff+end),
	"giant delta times":         head(0, 1, 1) + track(noteOn+strings.Repeat("\xFF\xFF\xFF\x7F\x90\x3C\x00", 9)+end),
	"text of 256 MiB":           head(0, 1, 96) + track(noteOn+"\x00\xFF\x01\xFF\xFF\xFF\x7Fmore"),
	"SMPTE, drop frame":         head(0, 1, 0xE364) + track("\x00\xFF\x51\x03\x07\xA1\x20"+noteOn+"\x60"+noteOff+end),
	"format 0 with two tracks":  head(0, 2, 96) + track(noteOn+end) + track(noteOn+end),
	"format 2":                  head(2, 3, 96) + track(end) + track(noteOn+end) + track(noteOn+"\x60"+noteOff+end),
	"format 2 without notes":    head(2, 1, 96) + track(end),
	"unknown chunks":            head(0, 1, 96) + "ABCD\x00\x00\x00\x02xx" + track(noteOn+end) + "EFGH\x00\x00\x00\x00",
	"padding":                   head(0, 1, 96) + track(noteOn+"\x60"+noteOff+end) + strings.Repeat("\x00", 40),
	"RMID":                      "RIFF\x2A\x00\x00\x00RMIDdata\x1E\x00\x00\x00" + head(0, 1, 96) + track(noteOn+end),
	"division 0":                head(0, 1, 0) + track(noteOn+end),
	"SMPTE of 26 frames":        head(0, 1, 0xE604) + track(noteOn+end),
	"format 3":                  head(3, 1, 96) + track(noteOn+end),
	"no track":                  head(1, 1, 96),
	"only a header's start":     "MThd\x00\x00",
	"empty":                     "",
	"no MIDI":                   "PK\x03\x04 and so on",
}

// Pieces of the files above: middle C starts or ends, the track ends.
const (
	noteOn  = "\x00\x90\x3C\x40"
	noteOff = "\x80\x3C\x40"
	end     = "\x00\xFF\x2F\x00"
)

func head(format, tracks byte, division uint16) string {
	return "MThd\x00\x00\x00\x06\x00" + string([]byte{format, 0, tracks, byte(division >> 8), byte(division)})
}

func track(events string) string {
	n := len(events)
	return "MTrk\x00\x00" + string([]byte{byte(n >> 8), byte(n)}) + events
}

// No input may panic, hang, or take room out of proportion; what is read keeps
// every promise of Song and survives Write.
func FuzzParse(f *testing.F) {
	for _, data := range damages {
		f.Add([]byte(data))
	}
	files, _ := filepath.Glob(filepath.Join(midiFiles, "*.mid"))
	for _, path := range files {
		data, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		if len(data) < 4096 {
			f.Add(data)
		}
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		songs, err := Parse(data, "")
		if err != nil {
			if len(songs) > 0 || strings.ContainsAny(err.Error(), "\n") {
				t.Errorf("%d songs and error %q", len(songs), err)
			}
			return
		}
		if len(songs) == 0 {
			t.Error("no song and no error")
		}
		for _, s := range songs {
			sound(t, s)
		}
	})
}

const midiFiles = "../../testdata/midi"
