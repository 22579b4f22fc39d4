package main

import "testing"

// Programs read this JSON: its keys, their order and its numbers stay as they
// are. Where the numbers come from: TestMidiWritesThePinningAsWritten and
// TestMidiWritesThePinningAsPlayedWithoutWhatIsMissed.
func TestTheMidisJSONStaysAsItIsToTheByte(t *testing.T) {
	f := newFolder(t)
	call(f.midiArgs("written.mid", "-tempo", "120", "-json")...).answers(t, done,
		`{"machine":"Hailstone","pinning":"Mill Race","tempo_bpm":120,"as_played":false,"turns":1,"strikes":3,"missed":[],"seconds":32}`)
	call(f.midiArgs("played.mid", "-tempo", "120", "-as-played", "-turns", "2", "-json")...).answers(t, findings,
		`{"machine":"Hailstone","pinning":"Mill Race","tempo_bpm":120,"as_played":true,"turns":2,"strikes":4,`+
			`"missed":[{"channel":"bar-c5","step":15,"why":"unready"}],"seconds":64}`)
}
