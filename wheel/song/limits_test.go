package song

import (
	"encoding/binary"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
)

func TestFileOverTheLimitIsRefusedUnread(t *testing.T) {
	path := filepath.Join(t.TempDir(), "huge.mid")
	if err := os.WriteFile(path, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(path, 1<<40); err != nil { // a hole of a terabyte, which no test could read
		t.Fatal(err)
	}
	_, err := ReadFile(path)
	if want := path + ": it has 1,099,511,627,776 bytes; a song may have up to 8,388,608"; err == nil || err.Error() != want {
		t.Errorf("error %v, want %q", err, want)
	}
}

func TestStreamOverTheLimitIsRefused(t *testing.T) {
	endless := strings.NewReader(strings.Repeat("M", MaxBytes+2))
	if _, err := Read(endless, "pipe"); err == nil || err.Error() != "pipe: it has more than 8,388,608 bytes, the most a song may have" {
		t.Errorf("error %v", err)
	}
	if endless.Len() != 1 {
		t.Errorf("%d bytes left unread, want 1", endless.Len())
	}
}

func TestFolderAndMissingFileAreNamed(t *testing.T) {
	folder := t.TempDir()
	if _, err := ReadFile(folder); err == nil || err.Error() != folder+": it is not a regular file; give a Standard MIDI File" {
		t.Errorf("error %v", err)
	}
	missing := filepath.Join(folder, "missing.mid")
	if _, err := ReadFile(missing); err == nil || !strings.Contains(err.Error(), missing) {
		t.Errorf("error %v", err)
	}
}

// big is a track of any length.
func big(events string) string {
	return "MTrk" + string(binary.BigEndian.AppendUint32(nil, uint32(len(events)))) + events
}

// The files that take most room for their size. Reading one may allocate, in
// all and not at once, 64 bytes for each of its own and 2 MiB for the bars.
func TestNoFileTakesRoomOutOfProportion(t *testing.T) {
	fill := func(unit string) string { return strings.Repeat(unit, (1<<20)/len(unit)) }
	for name, data := range map[string]string{
		"notes without an end":    head(0, 1, 96) + big("\x00\x90\x3C\x40"+fill("\x00\x3C\x40")),
		"notes":                   head(0, 1, 96) + big("\x00\x90\x3C\x40"+fill("\x01\x3C\x00\x00\x3C\x40")),
		"tempos":                  head(0, 1, 96) + big(fill("\x01\xFF\x51\x03\x01\x00\x00\x01\xFF\x51\x03\x02\x00\x00")),
		"meters":                  head(0, 1, 96) + big(fill("\x01\xFF\x58\x04\x04\x02\x18\x08\x01\xFF\x58\x04\x03\x02\x18\x08")),
		"late meters":             head(0, 1, 1) + big("\xFF\xFF\xFF\x7F\xFF\x01\x00"+fill("\x01\xFF\x58\x04\x04\x02\x18\x08\x01\xFF\x58\x04\x03\x02\x18\x08")),
		"one long text":           head(0, 1, 96) + big("\x00\xFF\x03\xBF\xFF\x7F"+fill("\xFF")),
		"tracks":                  head(1, 1, 96) + fill(track("")),
		"broken tracks":           head(1, 1, 96) + fill(track("\x00")),
		"tracks of one note":      head(1, 1, 96) + fill(track(noteOn)),
		"songs":                   head(2, 1, 96) + fill(track(noteOn)),
		"songs of endless bars":   head(2, 1, 1) + fill(track(noteOn+"\xFF\xFF\xFF\x7F\x80\x3C\x00")),
		"lengths past the end":    head(1, 1, 96) + fill("MTrk\xFF\xFF\xFF\xFF"),
		"chunks of unknown types": head(1, 1, 96) + fill("ABCD\x00\x00\x00\x00") + track(end),
		"no chunks at all":        head(1, 1, 96) + track(end) + fill("\x00"),
		"notes on 4,096 tracks":   head(1, 1, 96) + strings.Repeat(track("\x00\x90\x3C\x40"+strings.Repeat("\x01\x3C\x40", 80)), MaxTracks),
	} {
		t.Run(name, func(t *testing.T) {
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			songs, err := Parse([]byte(data), "")
			runtime.ReadMemStats(&after)
			if took, may := after.TotalAlloc-before.TotalAlloc, uint64(64*len(data)+2<<20); took > may {
				t.Errorf("%d bytes took %d, %.1f for each; error %v", len(data), took, float64(took)/float64(len(data)), err)
			} else {
				t.Logf("%.1f bytes for each", float64(took)/float64(len(data)))
			}
			bars := 0
			for _, s := range songs {
				bars += len(s.Bars)
			}
			if bars > MaxBars+len(songs) {
				t.Errorf("%d bars in %d songs", bars, len(songs))
			}
		})
	}
}

func TestNotesHoldNoRoomThatTheyDoNotFill(t *testing.T) {
	songs, err := Parse([]byte(head(0, 1, 96)+big("\x00\xF0\xBF\xFF\x7F"+strings.Repeat("\x00", 1<<20-1)+noteOn+end)), "")
	if err != nil {
		t.Fatal(err)
	}
	if notes := songs[0].Notes; len(notes) != 1 || cap(notes) > 2 {
		t.Errorf("%d notes in room for %d", len(notes), cap(notes))
	}
}

func TestWarningsStayFew(t *testing.T) {
	songs, err := Parse([]byte(head(1, 1, 96)+track(noteOn+"\x60"+noteOff+end)+strings.Repeat(track("\x00"), 2000)), "")
	if err != nil {
		t.Fatal(err)
	}
	// The header announces 1 track; 2,000 are broken; no tempo, no time signature.
	if got := songs[0].Warnings; len(got) != 51 || got[50] != "and 1,953 more warnings" {
		t.Errorf("%d warnings, the last %q", len(got), got[len(got)-1])
	}
}

func TestTracksBeyondTheLimitAreLeftOut(t *testing.T) {
	songs, err := Parse([]byte(head(1, 0, 96)+strings.Repeat(track(noteOn+"\x60"+noteOff+end), MaxTracks+2)), "")
	if err != nil {
		t.Fatal(err)
	}
	if got := len(songs[0].Tracks); got != MaxTracks {
		t.Errorf("%d tracks", got)
	}
	if want := "2 tracks beyond the first 4,096 left out"; songs[0].Warnings[0] != want {
		t.Errorf("warnings %q, want %q", songs[0].Warnings, want)
	}
}

// A delta time gone wrong puts the rest of a track far away; what comes before
// stays. 4/4 at 1 tick a quarter: bar 20,000 ends at tick 80,000.
func TestSongIsCutAfterItsLastBar(t *testing.T) {
	far := "\x83\x80\x80\x00" // 6,291,456
	songs, err := Parse([]byte(head(0, 1, 1)+track(noteOn+"\x04"+noteOff+"\x00\x90\x40\x40"+far+"\x80\x40\x00"+noteOn+end)), "")
	if err != nil {
		t.Fatal(err)
	}
	s := songs[0]
	want := []Note{{0, 4, 0, 60, 64, 1}, {4, 79_996, 0, 64, 64, 1}}
	if !slices.Equal(s.Notes, want) {
		t.Errorf("notes %v, want %v", s.Notes, want)
	}
	if len(s.Bars) != MaxBars || s.EndTick != 80_000 {
		t.Errorf("%d bars to tick %d", len(s.Bars), s.EndTick)
	}
	if !strings.Contains(strings.Join(s.Warnings, "\n"), "it runs on past bar 20,000, the last that is read; 1 note beyond it left out") {
		t.Errorf("warnings %q", s.Warnings)
	}
	sound(t, s)
}
