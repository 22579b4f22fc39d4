package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"pinwright/wheel/arrange"
)

// Programs read this JSON: its keys, their order and its numbers stay as they
// are. The texts are what the program printed when this was written. What can be
// followed by hand: see TestThePinsJSONStaysAsItIsToTheByte; where gates take
// 600 ms, the slowest tempo is not safe, and of three notes two are left.
func TestTheSurveysJSONStaysAsItIsToTheByte(t *testing.T) {
	f := newFolder(t)
	songs := f.file("songs")
	if err := os.Mkdir(songs, 0o755); err != nil {
		t.Fatal(err)
	}
	f.song(filepath.Join("songs", "stumble.mid"), stumble())
	f.write(filepath.Join("songs", "broken.midi"), "bad\n")
	folder, err := json.Marshal(songs)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ machine, want string }{
		{f.file("machine.json"), `{"file":"stumble.mid","song":1,"title":"Stumble","suits":1,"from_bar":1,"bars":1,"transpose":0,"notes":3,"share":1,` +
			`"worst_error_ms":0,"rms_error_ms":0,"tempo_bpm":150,"max_safe_bpm":107.14285714285714,"eased_bpm":180,"eased_notes":1,"left_out":0,` +
			`"verdict":"suits well: 1 note moved to be trusted at its tempo","keep_below_bpm":180,"slowest_bpm":30}`},
		{f.slow(), `{"file":"stumble.mid","song":1,"title":"Stumble","suits":0.6666666666666666,"from_bar":1,"bars":1,"transpose":0,"notes":3,"share":1,` +
			`"worst_error_ms":0,"rms_error_ms":0,"tempo_bpm":150,"max_safe_bpm":null,"eased_bpm":180,"eased_notes":0,"left_out":1,` +
			`"verdict":"can be set: 1 note left out to be trusted at its tempo","keep_below_bpm":180,"slowest_bpm":110}`},
	} {
		call("survey", "-machine", c.machine, songs, "-tempo", "150", "-json").answers(t, done,
			`{"machine":"Hailstone","folder":`+string(folder)+`,"files":2,"songs":[`+c.want+`],`+
				`"unreadable":[{"file":"broken.midi","why":"it is no Standard MIDI File: it begins with \"bad\\n\", not \"MThd\""}]}`)
	}
}

// All values differ, so that one in another's place is seen.
func TestTheSurveysJSONHasEveryFieldOfAJudgement(t *testing.T) {
	for _, c := range []struct {
		found surveyed
		want  string
	}{
		{surveyed{machine: "M", folder: "F", files: 1, songs: []arrange.Judgement{{
			File: "a.mid", Number: 2, Title: "T", Suits: 0.25, FromBar: 3, Bars: 4, Transpose: -5, Notes: 6, Share: 0.75,
			WorstMS: 7.5, RMSMS: 8.5, TempoBPM: 9.5, MaxSafeBPM: new(10.5), EasedBPM: new(11.5), EasedNotes: 12, LeftOut: 13, Verdict: "V", KeepBelowBPM: new(14.5), SlowestBPM: new(15.5),
		}}}, `{"machine":"M","folder":"F","files":1,"songs":[{"file":"a.mid","song":2,"title":"T","suits":0.25,"from_bar":3,"bars":4,"transpose":-5,` +
			`"notes":6,"share":0.75,"worst_error_ms":7.5,"rms_error_ms":8.5,"tempo_bpm":9.5,"max_safe_bpm":10.5,"eased_bpm":11.5,"eased_notes":12,` +
			`"left_out":13,"verdict":"V","keep_below_bpm":14.5,"slowest_bpm":15.5}],"unreadable":[]}`},
		{surveyed{unreadable: []arrange.Unreadable{{File: "b", Why: "W"}}},
			`{"machine":"","folder":"","files":0,"songs":[],"unreadable":[{"file":"b","why":"W"}]}`},
	} {
		text, err := json.Marshal(newSurveyJSON(c.found))
		if err != nil || string(text) != c.want {
			t.Errorf("it is %v\n%s\nwant\n%s", err, text, c.want)
		}
	}
}
