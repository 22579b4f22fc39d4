package song

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"
	"pgregory.net/rapid"
)

// sameEvents fails the test unless the events of a file are those that gomidi's
// own reader finds.
func sameEvents(t reporter, data []byte) {
	t.Helper()
	file, err := smf.ReadFrom(bytes.NewReader(data))
	if err != nil {
		t.Errorf("gomidi: %v", err)
		return
	}
	var w warnings
	_, rest, err := readHeader(data, &w)
	chunks := trackChunks(rest, &w)
	if err != nil || len(w.list) > 0 || len(chunks) != len(file.Tracks) {
		t.Errorf("%d tracks, gomidi %d; error %v, warnings %q", len(chunks), len(file.Tracks), err, w.list)
		return
	}
	for i, c := range chunks {
		e := events{body: c.body}
		tick := int64(0)
		for n, want := range file.Tracks[i] {
			got, err := e.next()
			if err != nil {
				t.Errorf("track %d, event %d: %v; gomidi: %v", i+1, n, err, want.Message)
				return
			}
			tick += int64(want.Delta)
			if got[0] == 0xF0 || got[0] == 0xF7 { // gomidi leaves the length out
				_, start := quantity(got, 1)
				got = append(smf.Message{got[0]}, got[start:]...)
			}
			if !bytes.Equal(got, want.Message) || e.tick != tick {
				t.Errorf("track %d, event %d: % X at tick %d; gomidi: % X at %d", i+1, n, []byte(got), e.tick, []byte(want.Message), tick)
				return
			}
		}
		if e.pos != len(c.body) {
			t.Errorf("track %d: %d of %d bytes read", i+1, e.pos, len(c.body))
		}
	}
}

// gomidi cannot read SMPTE time, so smpte.mid is not among them.
func TestEventsAreThoseThatGomidiReads(t *testing.T) {
	for _, name := range []string{"aimless", "drum-loop", "mixed", "one-track", "overlaps", "patterns", "three-tracks"} {
		data, err := os.ReadFile(filepath.Join(midiFiles, name+".mid"))
		if err != nil {
			t.Fatal(err)
		}
		sameEvents(t, data)
	}
	for _, file := range []string{specFormat0, specFormat1} {
		sameEvents(t, unhex(t, file))
	}
}

func TestEventsAreThoseThatGomidiWrote(t *testing.T) {
	data := rapid.Uint8Range(0, 127)
	message := rapid.Custom(func(t *rapid.T) smf.Message {
		channel, a, b := rapid.Uint8Range(0, 15).Draw(t, "channel"), data.Draw(t, "data"), data.Draw(t, "data")
		switch rapid.IntRange(0, 8).Draw(t, "kind") {
		case 0, 1:
			return smf.Message(midi.NoteOn(channel, a, b))
		case 2:
			return smf.Message(midi.NoteOffVelocity(channel, a, b))
		case 3:
			return smf.Message(midi.ControlChange(channel, a, b))
		case 4:
			return smf.Message(midi.ProgramChange(channel, a))
		case 5:
			return smf.Message(midi.AfterTouch(channel, a))
		case 6:
			return smf.MetaLyric(rapid.StringN(0, 300, 300).Draw(t, "lyric"))
		case 7:
			return smf.Message(midi.SysEx(rapid.SliceOf(data).Draw(t, "sysex")))
		default:
			return smf.Message(midi.Pitchbend(channel, int16(a)*64))
		}
	})
	rapid.Check(t, func(t *rapid.T) {
		file := smf.New()
		file.NoRunningStatus = rapid.Bool().Draw(t, "no running status")
		for range rapid.IntRange(1, 3).Draw(t, "tracks") {
			var track smf.Track
			for range rapid.IntRange(0, 30).Draw(t, "events") {
				track.Add(rapid.Uint32Range(0, longestDelta).Draw(t, "delta"), message.Draw(t, "message"))
			}
			track.Close(rapid.Uint32Range(0, longestDelta).Draw(t, "delta"))
			if err := file.Add(track); err != nil {
				t.Fatal(err)
			}
		}
		written, err := file.Bytes()
		if err != nil {
			t.Fatal(err)
		}
		sameEvents(t, written)
	})
}
