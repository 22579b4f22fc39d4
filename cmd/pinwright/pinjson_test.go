package main

import (
	"encoding/json"
	"testing"

	"pinwright/wheel/arrange"
	"pinwright/wheel/song"
)

// stumble is a bar of 4/4 at 100 BPM: C5 on steps 0 and 1, E5 on step 8.
func stumble() *song.Song {
	return &song.Song{
		Title: "Stumble", TicksPerQuarter: 480,
		Tempos: []song.Tempo{{MicrosPerQuarter: 600_000}}, Meters: []song.Meter{{Numerator: 4, Denominator: 4}},
		Tracks: []song.Track{{Name: "Stumble"}},
		Notes: []song.Note{
			{Tick: 0, Ticks: 60, Key: 72, Velocity: 127, Channel: 1},
			{Tick: 120, Ticks: 60, Key: 72, Velocity: 127, Channel: 1},
			{Tick: 960, Ticks: 60, Key: 76, Velocity: 127, Channel: 1},
		},
		EndTick: 1920,
	}
}

// slow is the machine of testdata with gates that take 600 ms. Its lowest tempo,
// 110 BPM, has steps of 15/110 s = 136 ms, so that a channel needs 5 steps.
func (f folder) slow() string {
	f.t.Helper()
	f.edited("machine.json", `"tempo_min_bpm": 30`, `"tempo_min_bpm": 110`)
	return f.edited("edited-machine.json",
		`"latch_ms": 18}, "gate": {"reload_ms": 140}`, `"latch_ms": 18}, "gate": {"reload_ms": 600}`)
}

// answers fails the test unless a run ends with a status and this answer, which
// is one line, byte for byte.
func (r told) answers(t *testing.T, status int, want string) {
	t.Helper()
	if r.status != status || r.out != want+"\n" {
		t.Errorf("status %d, errors %q, it answers\n%swant status %d\n%s", r.status, r.err, r.out, status, want)
	}
}

// Programs read this JSON: its keys, their order and its numbers stay as they
// are. The texts are what the program printed when this was written. What can be
// followed by hand: for tune see TestPinSetsASongAndReportsInJSON. Of stumble,
// the gate's 140 ms hold up to 15/0.140 = 107.14 BPM, and 2 steps instead of 1
// cost a fifth of a note's weight, 1 + 127/127 and 1 more as it is the highest of
// its onset. Bar E5 is 25 ms later than Bar C5, so that each is 12.5 ms off the
// middle; at 150 BPM that is 1/8 of a step of 2π × 600/256 = 14.726 mm.
func TestThePinsJSONStaysAsItIsToTheByte(t *testing.T) {
	f := newFolder(t)
	machine, tune, stumble := f.file("machine.json"), f.song("tune.mid", tune()), f.song("stumble.mid", stumble())
	on := func(machine, song string, flags ...string) told {
		return call(append([]string{"pin", "-machine", machine, "-song", song, "-out", f.file("out.json"), "-json"}, flags...)...)
	}
	on(machine, tune).answers(t, done,
		`{"notes":6,"placed":3,"shifted":0,"dropped":1,"out_of_range":1,"merged":1,"transpose":0,"tempo_bpm":75,`+
			`"worst_error_ms":25,"rms_error_ms":14.577379737113262,"cost":0,`+
			`"changes":[{"kind":"dropped","channel":"drum","from_step":8,"to_step":8,"why":"Drum is resting"}],"max_safe_bpm":180,"eased_to_bpm":null,"keep_below_bpm":180}`)
	on(f.slow(), stumble).answers(t, done,
		`{"notes":3,"placed":3,"shifted":0,"dropped":0,"out_of_range":0,"merged":0,"transpose":0,"tempo_bpm":100,`+
			`"worst_error_ms":0,"rms_error_ms":0,"cost":0,"changes":[],"max_safe_bpm":null,"eased_to_bpm":null,"keep_below_bpm":null}`)
	on(machine, stumble, "-tempo", "150", "-ease", "-advance").answers(t, done,
		`{"notes":3,"placed":3,"shifted":1,"dropped":0,"out_of_range":0,"merged":0,"transpose":0,"tempo_bpm":150,`+
			`"worst_error_ms":0,"rms_error_ms":0,"cost":0.6000000000000001,`+
			`"changes":[{"kind":"shifted","channel":"bar-c5","from_step":0,"to_step":255,`+
			`"why":"Bar C5 sounds at bar 1 beat 1 +1/4 too, 1 step away; up to 150 BPM it needs 2"}],"max_safe_bpm":180,`+
			`"eased":{"lower_bound":0.6000000000000001,"exact":true,"before_bpm":107.14285714285714,"left_out":0,"cannot":null},`+
			`"remains":[{"channel":"bar-c5","ms":-12.5,"lever_mm":-1.8407769454627694},{"channel":"bar-e5","ms":12.499999999999996,"lever_mm":1.840776945462769}],"eased_to_bpm":150,"keep_below_bpm":180}`)
	on(machine, stumble, "-tempo", "600", "-ease").answers(t, findings,
		`{"notes":3,"placed":3,"shifted":1,"dropped":0,"out_of_range":0,"merged":0,"transpose":0,"tempo_bpm":600,`+
			`"worst_error_ms":0,"rms_error_ms":0,"cost":0.6000000000000001,`+
			`"changes":[{"kind":"shifted","channel":"bar-c5","from_step":0,"to_step":255,`+
			`"why":"Bar C5 sounds at bar 1 beat 1 +1/4 too, 1 step away; up to 180 BPM it needs 2"}],"max_safe_bpm":180,`+
			`"eased":{"lower_bound":0.6000000000000001,"exact":true,"before_bpm":107.14285714285714,"left_out":0,`+
			`"cannot":["600 BPM is above the machine's highest tempo; eased for that, 180 BPM"]},"eased_to_bpm":180,"keep_below_bpm":180}`)
}

// All values differ, so that one in another's place is seen.
func TestThePinsJSONHasEveryFieldOfAReport(t *testing.T) {
	text, err := json.Marshal(newPinJSON(&arrange.Report{
		Notes: 1, Placed: 2, Shifted: 3, Dropped: 4, OutOfRange: 5, Merged: 6, Transpose: -7, TempoBPM: 8.5,
		WorstErrorMS: 9.5, RMSErrorMS: 10.5, Cost: 11.5, MaxSafeBPM: new(12.5), Swing: 1.5,
		Changes: []arrange.Change{{Kind: "moved", Channel: "a", FromStep: 13, ToStep: 14, Why: "so", ToChannel: "b"}},
		Eased:   &arrange.Eased{LowerBound: 15.5, Exact: true, LeftOut: 16, EasedToBPM: new(19.5), Cannot: []string{"no"}}, KeepBelowBPM: new(20.5),
		Remains: []arrange.Remain{{Channel: "c", MS: 17.5, LeverMM: 18.5}},
	}))
	want := `{"notes":1,"placed":2,"shifted":3,"dropped":4,"out_of_range":5,"merged":6,"transpose":-7,"tempo_bpm":8.5,` +
		`"worst_error_ms":9.5,"rms_error_ms":10.5,"cost":11.5,` +
		`"changes":[{"kind":"moved","channel":"a","from_step":13,"to_step":14,"why":"so","to_channel":"b"}],"max_safe_bpm":12.5,"swing":1.5,` +
		`"eased":{"lower_bound":15.5,"exact":true,"before_bpm":null,"left_out":16,"cannot":["no"]},` +
		`"remains":[{"channel":"c","ms":17.5,"lever_mm":18.5}],"eased_to_bpm":19.5,"keep_below_bpm":20.5}`
	if err != nil || string(text) != want {
		t.Errorf("it is %v\n%s\nwant\n%s", err, text, want)
	}
}
