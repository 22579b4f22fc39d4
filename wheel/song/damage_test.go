package song

import (
	"slices"
	"strings"
	"testing"
)

// What a damaged file gives: notes as start+length in ticks, in order, and the
// warnings about the damage.
func TestDamagedFilesAreReadUpToTheDamage(t *testing.T) {
	const c4, held = "0+0", "track 1 has 1 note without an end; held to the track's end at tick "
	for name, want := range map[string]struct {
		notes    string
		warnings []string
	}{
		"chunk cut short": {"0+96 0+0", []string{
			"track 2 breaks off after 4 bytes at tick 0 (4 of 64 bytes are there); its notes up to there were kept",
			"track 2 has 1 note without an end; held to the track's end at tick 0",
		}},
		"header announces more":  {"0+96", []string{"the header announces 9 tracks; there are 1"}},
		"length zero":            {"0+96", []string{"track 1 states a length of 0 bytes but ends after 12"}},
		"length too short":       {"0+96", []string{"track 1 states a length of 6 bytes but ends after 12"}},
		"length beyond the file": {"0+96", []string{"track 1 states a length of 4,294,967,295 bytes but ends after 12"}},
		"no end of track":        {"0+96", []string{"track 1 has no end-of-track event; it was taken to end with its last event, at tick 96"}},
		"no end of track, padding": {"0+96", []string{
			"track 1 has no end-of-track event; it was taken to end with its last event, at tick 96",
		}},
		"data without a status": {c4, []string{
			"track 1 left out; nothing of it can be read (an event has no status byte, and none came before)",
			"track 2 has 1 note without an end; held to the track's end at tick 0",
		}},
		"note without an end": {"0+96", []string{held + "96"}},
		"delta of five bytes": {c4, []string{
			"track 1 breaks off after 4 bytes at tick 0 (a delta time is longer than four bytes); its notes up to there were kept", held + "0",
		}},
		"data byte above 127": {c4, []string{
			"track 1 breaks off after 4 bytes at tick 0 (a data byte is above 127); its notes up to there were kept", held + "0",
		}},
		"system message": {c4, []string{
			"track 1 breaks off after 4 bytes at tick 0 (an event begins with F4, which has no place in a file); its notes up to there were kept", held + "0",
		}},
		"running status after meta": {"0+96", []string{
			"track 1 uses a running status that a meta or system exclusive event had ended; it was read as if it still held",
		}},
		"tempo 0": {c4, []string{held + "0",
			"track 1 has 1 tempo left out; a tempo is 1 to 16,777,215 µs per quarter note",
		}},
		"tempo of two bytes": {c4, []string{held + "0",
			"track 1 has 1 tempo left out; a tempo is 1 to 16,777,215 µs per quarter note",
		}},
		"meter 0/4": {c4, []string{held + "0",
			"track 1 has 1 time signature left out; one is 1 to 255 over a power of two from 1 to 64, its bar at least one tick long",
		}},
		"meter 4/128": {c4, []string{held + "0",
			"track 1 has 1 time signature left out; one is 1 to 255 over a power of two from 1 to 64, its bar at least one tick long",
		}},
		"meter 1/64, 1 tick": {c4, []string{held + "0",
			"track 1 has 1 time signature left out; one is 1 to 255 over a power of two from 1 to 64, its bar at least one tick long",
		}},
		"meter inside a bar": {"0+192", []string{"1 bar cut short by a new time signature, the first of them bar 1"}},
		// 9 × 268,435,455 ticks; 20,000 bars of 4/4 at 1 tick a quarter are 80,000.
		"giant delta times": {"0+80000", []string{"it runs on past bar 20,000, the last that is read; 0 notes beyond it left out"}},
		"text of 256 MiB": {c4, []string{
			"track 1 breaks off after 4 bytes at tick 0 (it ends inside an event); its notes up to there were kept", held + "0",
		}},
		"SMPTE, drop frame": {"0+96", []string{
			"its times are in parts of a second, not of a beat, so beats and bars are set at 120 quarter notes a minute",
			"1 tempo left out, since tempos do not change times in parts of a second",
		}},
		"format 0 with two tracks": {"0+0 0+0", []string{
			"its format 0 has one track, but there are 2; they were read as sounding together", held + "0",
			"track 2 has 1 note without an end; held to the track's end at tick 0",
		}},
		"format 2":               {c4, []string{"1 track without notes left out", "track 2 has 1 note without an end; held to the track's end at tick 0"}},
		"format 2 without notes": {"", []string{"it has no notes"}},
		"unknown chunks":         {c4, []string{held + "0"}},
		"padding":                {"0+96", []string{"track 1 is followed by 40 bytes that belong to no track; left out"}},
		"RMID":                   {c4, []string{held + "0"}},
	} {
		t.Run(name, func(t *testing.T) {
			songs, err := Parse([]byte(damages[name]), "mill.mid")
			if err != nil {
				t.Fatal(err)
			}
			var notes []string
			for _, n := range songs[0].Notes {
				notes = append(notes, count(n.Tick)+"+"+strings.ReplaceAll(count(n.Ticks), ",", ""))
			}
			if got := strings.Join(notes, " "); got != want.notes {
				t.Errorf("notes %s, want %s", got, want.notes)
			}
			assumed := func(w string) bool { return strings.HasSuffix(w, "was assumed") }
			if got := slices.DeleteFunc(songs[0].Warnings, assumed); !slices.Equal(got, want.warnings) {
				t.Errorf("warnings\n%q\nwant\n%q", got, want.warnings)
			}
		})
	}
}

func TestWhatIsNoSongIsRefusedInOneSentence(t *testing.T) {
	for name, want := range map[string]string{
		"division 0":            "its division is 0 ticks per quarter note; it must be 1 to 32767",
		"SMPTE of 26 frames":    "its division is 26 SMPTE frames a second; it must be 24, 25, 29 or 30",
		"format 3":              "its format is 3; Standard MIDI Files have format 0, 1 or 2",
		"no track":              "it has a header but no track",
		"only a header's start": "its header breaks off: it has 6 bytes of 14",
		"empty":                 `it is no Standard MIDI File: it begins with "", not "MThd"`,
		"no MIDI":               `it is no Standard MIDI File: it begins with "PK\x03\x04", not "MThd"`,
	} {
		songs, err := Parse([]byte(damages[name]), "songs/mill.mid")
		if err == nil || err.Error() != "songs/mill.mid: "+want || songs != nil {
			t.Errorf("%s: %d songs, error %v; want %q", name, len(songs), err, want)
		}
	}
	for data, want := range map[string]string{
		head(0, 1, 0xE700) + track(end):                    "its division is 0 ticks per SMPTE frame; it must be 1 to 255",
		head(1, 2, 96) + track("\x00\x3C") + track("\x81"): "nothing of its 2 tracks can be read; of track 1: an event has no status byte, and none came before",
		"RIFF\x00\x00\x00\x00WAVEfmt ":                     `it is a RIFF file of kind "WAVE"; only RMID holds MIDI`,
		"RIFF\x00\x00\x00\x00RMIDLIST\xFF\xFF\xFF\xFF":     `it is a RIFF file without the "data" chunk that holds MIDI`,
		"MThd\x00\x00\x00\x02\x00\x00\x00\x01\x00\x60....": "its header states a length of 2 bytes; it has 6",
	} {
		if _, err := Parse([]byte(data), ""); err == nil || err.Error() != want {
			t.Errorf("%q: error %v, want %q", data, err, want)
		}
	}
}

// Every file cut off anywhere after its first event still gives its notes up to
// the cut, and says so.
func TestFileCutOffAnywhereGivesWhatCameBefore(t *testing.T) {
	whole := unhex(t, specFormat1)
	full, err := Parse(whole, "")
	if err != nil {
		t.Fatal(err)
	}
	kept := 0
	for size := range len(whole) {
		songs, err := Parse(whole[:size], "")
		if size < 14+8+8 { // header, track header, first event
			if err == nil {
				t.Errorf("cut to %d bytes: no error", size)
			}
			continue
		}
		if err != nil {
			t.Errorf("cut to %d bytes: %v", size, err)
			continue
		}
		sound(t, songs[0])
		if len(songs[0].Warnings) == 0 {
			t.Errorf("cut to %d bytes: no warning", size)
		}
		if now := len(songs[0].Notes); now < kept {
			t.Errorf("cut to %d bytes: %d notes, fewer than with a byte less", size, now)
		} else {
			kept = now
		}
		for _, n := range songs[0].Notes {
			began := func(m Note) bool {
				return m.Tick == n.Tick && m.Key == n.Key && m.Velocity == n.Velocity && m.Channel == n.Channel && m.Track == n.Track
			}
			if !slices.ContainsFunc(full[0].Notes, began) {
				t.Errorf("cut to %d bytes: note %v is not in the whole file", size, n)
			}
		}
	}
	if kept != len(full[0].Notes) {
		t.Errorf("cut by its last byte it gives %d notes, whole %d", kept, len(full[0].Notes))
	}
}

func TestMissingTempoAndMeterAreAssumedAloud(t *testing.T) {
	songs, err := Parse([]byte(head(0, 1, 96)+track(noteOn+"\x60"+noteOff+end)), "")
	if err != nil {
		t.Fatal(err)
	}
	want := []string{
		"no tempo is given for its start; 120 quarter notes a minute was assumed",
		"no time signature is given for its start; 4/4 was assumed",
	}
	if got := songs[0].Warnings; !slices.Equal(got, want) {
		t.Errorf("warnings %q, want %q", got, want)
	}
}
