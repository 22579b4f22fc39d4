package main

import (
	"math"
	"strings"
	"testing"
)

var windowKeys = []string{"open", "from_bpm", "to_bpm", "red_line_bpm", "keep_below_bpm", "max_safe_bpm", "crank_from_rpm", "crank_to_rpm", "slowest", "fastest", "closed"}

// Worked by hand: the gate's 140 ms hold two pins a step apart to 15/0.140 =
// 107.14 BPM (4 steps to the beat) if every figure is exact. Nothing is measured, so
// the reload varies by 7 ms and is in doubt by 7, the latch of 18 varies by 0.9, and
// pins stand 0.5 mm from their places on an arc of 14.726 mm a step: of one spoilt
// note in 100 turns, z = −2.3263, the step p solves
//
//	p − 140 = 2.3263 √(49 + 49 + 2·0.81 + 2 (p·0.5/14.726)²)
//
// which is 170.0 ms, 88.24 BPM; a wander of 1 % adds (0.01 p)², 170.28 ms, 88.09
// BPM. That is the red line, of which the margin is taken off once: 10 % leave 0.9,
// 25 % leave 0.75. A house that goes no faster than 80 BPM has its red line there.
// No chord ends it below. With 8 turns of the crank to one of the wheel's 64 beats,
// 30 BPM are 3.75 turns a minute.
func TestWindowAnswersInJSON(t *testing.T) {
	f := newFolder(t)
	for _, c := range []struct {
		machine         string
		flags           []string
		keep, red, part float64
	}{
		{f.file("machine.json"), nil, 88.24, 88.24, 0.9},
		{f.file("machine.json"), []string{"-margin", "0"}, 88.24, 88.24, 1},
		{f.edited("machine.json", `"flam_ms": 20`, `"flam_ms": 20, "wander": 0.01`), []string{"-margin", "25"}, 88.09, 88.09, 0.75},
		{f.write("house.json", strings.Replace(f.read("machine.json"), `"flam_ms": 20`, `"flam_ms": 20, "house_bpm": 80`, 1)), nil, 88.24, 80, 0.9},
	} {
		r := call(append([]string{"window", "-machine", c.machine, "-pinning", f.file("pinning.json"), "-json"}, c.flags...)...)
		if r.status != done || r.err != "" {
			t.Fatalf("%q: status %d, errors %q", c.flags, r.status, r.err)
		}
		v := object(t, r.out)
		wantKeys(t, "the answer", v, "machine", "pinning", "margin", "wander", "window", "held", "slow")
		wantKeys(t, "the window", v["window"], windowKeys...)
		w := v["window"].(map[string]any)
		if v["machine"] != "Hailstone" || v["pinning"] != "Mill Race" || v["slow"] != nil || w["open"] != true || w["closed"] != nil || w["crank_from_rpm"] != nil {
			t.Errorf("%q: %s", c.flags, r.out)
		}
		near(t, "from_bpm", w["from_bpm"], 30)
		for key, want := range map[string]float64{"keep_below_bpm": c.keep, "red_line_bpm": c.red} {
			if got := w[key].(float64); math.Abs(got-want) > 0.01 {
				t.Errorf("%q: %s is %g, by hand %g", c.flags, key, got, want)
			}
		}
		near(t, "to_bpm", w["to_bpm"], w["red_line_bpm"].(float64)*c.part)
		near(t, "max_safe_bpm", w["max_safe_bpm"], 15/0.140)
	}
	geared := f.edited("machine.json", `"beats_per_bar": 4`, `"beats_per_bar": 4, "crank_turns": 8`)
	r := call("window", "-machine", geared, "-pinning", f.file("pinning.json"), "-json")
	w := object(t, r.out)["window"].(map[string]any)
	near(t, "crank_from_rpm", w["crank_from_rpm"], 3.75)
	near(t, "crank_to_rpm", w["crank_to_rpm"], w["red_line_bpm"].(float64)*0.9/8)
}

// With the reload of a pinned channel left out there is no window, and what to
// measure is said; nothing is set for slow.
func TestWindowSaysWhatToMeasureFirst(t *testing.T) {
	f := newFolder(t)
	machine := f.edited("machine.json", `"latch_ms": 18}, "gate": {"reload_ms": 140}`, `"latch_ms": 18}, "gate": {}`)
	args := []string{"window", "-machine", machine, "-pinning", f.file("pinning.json"), "-slow", "50-60"}
	r := call(append(args, "-json")...)
	if r.status != findings || r.err != "" {
		t.Errorf("status %d, errors %q", r.status, r.err)
	}
	v := object(t, r.out)
	w := v["window"].(map[string]any)
	for _, key := range []string{"from_bpm", "to_bpm", "red_line_bpm", "keep_below_bpm", "max_safe_bpm", "crank_from_rpm", "crank_to_rpm"} {
		if w[key] != nil {
			t.Errorf("%s is %v, want null", key, w[key])
		}
	}
	if w["open"] != false || w["closed"] != "There is no window while figures are unknown." || v["slow"] != nil || len(v["held"].([]any)) != 0 {
		t.Errorf("%s", r.out)
	}
	if text := call(args...).out; !strings.Contains(text, "For visitors: no tempo. There is no window while figures are unknown.\n  Measure first: the ") || strings.Contains(text, "Set for") {
		t.Errorf("it says\n%s", text)
	}
}

// 60 to 100 BPM go above the red line at 88.24 BPM, so setting for them is answered
// no.
func TestWindowTrustsNoRangeAboveTheRedLine(t *testing.T) {
	f := newFolder(t)
	args := []string{"window", "-machine", f.file("machine.json"), "-pinning", f.file("pinning.json"), "-slow", "60-100"}
	r := call(append(args, "-json")...)
	slow := object(t, r.out)["slow"].(map[string]any)
	const why = "The range goes up to 100 BPM, but set for it the pinning has its red line at 88.2 BPM. Choose a range below that."
	if r.status != findings || slow["trusted"] != false || slow["distrust"] != why {
		t.Errorf("status %d, %v", r.status, slow)
	}
	if text := call(args...).out; !strings.Contains(text, "  not to be trusted: "+why+"\n") {
		t.Errorf("it says\n%s", text)
	}
}

// together is two pins that are meant to sound together, on bars whose latches
// take 18 and 43 ms: 25 ms apart at any tempo, more than flam_ms. Set a step early,
// the slower one is 15/T s − 25 ms early.
func (f folder) together() string {
	return f.write("together.json", `{"format": "pinwright-pinning/1", "title": "Together", "machine": "Hailstone", "tempo_bpm": 84,
		"pins": [{"channel": "bar-c5", "step": 16, "aim": 16}, {"channel": "bar-e5", "step": 16, "aim": 16}]}`)
}

func TestWindowThatIsShutIsAnsweredNo(t *testing.T) {
	f := newFolder(t)
	r := call("window", "-machine", f.file("machine.json"), "-pinning", f.together(), "-json")
	if r.status != findings || r.err != "" {
		t.Errorf("status %d, errors %q", r.status, r.err)
	}
	w := object(t, r.out)["window"].(map[string]any)
	if w["open"] != false || w["from_bpm"] != nil || w["to_bpm"] != nil || w["closed"] != "There is no window: chords hold together at no tempo." {
		t.Errorf("%v", w)
	}
	near(t, "max_safe_bpm", w["max_safe_bpm"], 180)
	r = call("window", "-machine", f.file("machine.json"), "-pinning", f.together())
	if r.status != findings || !strings.Contains(r.out, "For visitors: no tempo. There is no window: chords hold together at no tempo.\n") {
		t.Errorf("status %d\n%s", r.status, r.out)
	}
}

// A latch of 268 ms is 250 later than the other of 18. Set a step early, 15/T s, it
// is together with it to 20 ms from 15/0.270 = 55.56 to 15/0.230 = 65.22 BPM (worked
// by hand); over 60 to 62 it is farthest at 62: 250 − 241.9 = 8.06 ms.
func TestWindowSaysWhatSettingForSlowGives(t *testing.T) {
	f := newFolder(t)
	machine := f.edited("machine.json", `"latch_ms": 43`, `"latch_ms": 268`)
	args := []string{"window", "-machine", machine, "-pinning", f.together(), "-json"}
	r := call(args...)
	if r.status != findings {
		t.Errorf("as it is: status %d", r.status)
	}
	held := false
	for _, one := range object(t, r.out)["held"].([]any) {
		one := one.(map[string]any)
		wantKeys(t, "a range", one, "from_bpm", "to_bpm")
		held = held || one["from_bpm"] == 55.6 && one["to_bpm"] == 65.2
	}
	if !held {
		t.Errorf("55.6 to 65.2 BPM is not among the ranges held: %s", r.out)
	}
	r = call(append(args, "-slow", "60-62")...)
	if r.status != done || r.err != "" {
		t.Errorf("set for slow: status %d, errors %q", r.status, r.err)
	}
	v := object(t, r.out)
	wantKeys(t, "slow", v["slow"], "from_bpm", "to_bpm", "stays", "pins_moved", "notes_lost", "spread_ms", "was_spread_ms", "chord_ms", "was_chord_ms", "tempo_bpm", "trusted", "distrust", "window")
	slow := v["slow"].(map[string]any)
	wantKeys(t, "its window", slow["window"], windowKeys...)
	if slow["stays"] != false || slow["pins_moved"] != 1.0 || slow["notes_lost"] != 0.0 || slow["tempo_bpm"] != 61.0 || slow["trusted"] != true || slow["distrust"] != nil {
		t.Errorf("%v", slow)
	}
	near(t, "was_spread_ms", slow["was_spread_ms"], 250)
	near(t, "spread_ms", slow["spread_ms"], 250-15e3/62)
	near(t, "chord_ms", slow["chord_ms"], 250-15e3/62)
	window := slow["window"].(map[string]any)
	near(t, "from_bpm", window["from_bpm"], 15/0.270)
	near(t, "to_bpm", window["to_bpm"], 15/0.230)

	text := call("window", "-machine", machine, "-pinning", f.together(), "-slow", "60-62").out
	for _, want := range []string{"Set for 60 to 62 BPM:\n", "spread by 8.1 ms at worst instead of 250 ms", "1 pin of 2 would move\n", "For visitors: 55.6 to 65.2 BPM\n"} {
		if !strings.Contains(text, want) {
			t.Errorf("it does not say %q:\n%s", want, text)
		}
	}
}

func TestWindowRefusesBadInput(t *testing.T) {
	f := newFolder(t)
	const more = " (see pinwright window -h)"
	m, p := f.file("machine.json"), f.file("pinning.json")
	for _, c := range []struct {
		args []string
		want string
	}{
		{nil, "pinwright window: -machine is missing; name the machine FILE" + more},
		{[]string{"-machine", m}, "pinwright window: -pinning is missing; name the pinning FILE" + more},
		{[]string{"-machine", m, "-pinning", p, "-slow", "50"}, `pinwright window: -slow is "50"; a range is two tempos from 1 to 1000 BPM with a hyphen between them, such as 50-60` + more},
		{[]string{"-machine", m, "-pinning", p, "-slow", "NaN-60"}, `pinwright window: -slow is "NaN-60"; a range is two tempos from 1 to 1000 BPM with a hyphen between them, such as 50-60` + more},
		{[]string{"-machine", m, "-pinning", p, "-slow", "80-60"}, "pinwright window: -slow: the range of tempo goes from 80 down to 60 BPM; the slower one comes first" + more},
		{[]string{"-machine", m, "-pinning", p, "-slow", "20-60"}, "pinwright window: -slow: the range of tempo has 20 BPM in it; it should lie within the machine's, 30 to 180 BPM" + more},
		{[]string{"-machine", m, "-pinning", p, "-margin", "100"}, `pinwright window: -margin is "100"; a margin in per cent is a number from 0 to 99` + more},
		{[]string{"-machine", m, "-pinning", f.file("none.json")}, f.file("none.json") + ": no such file or directory"},
		{[]string{"-machine", m, "-pinning", f.edited("pinning.json", `"channel": "bar-e5"`, `"channel": "bar-x9"`)}, f.file("edited-pinning.json") + `: pins[2].channel is "bar-x9", and Hailstone has no such channel`},
	} {
		call(append([]string{"window"}, c.args...)...).refuses(t, c.want)
	}
	bare := f.write("bare.json", `{"format": "pinwright-pinning/1", "title": "Bare", "machine": "Hailstone", "pins": []}`)
	call("window", "-machine", m, "-pinning", bare, "-slow", "50-60").refuses(t, bare+": it has no pins: nothing strikes, and there is no advance to choose with -slow")
	if r := call("window", "-machine", m, "-pinning", bare, "-json"); r.status != done || len(object(t, r.out)["held"].([]any)) != 0 {
		t.Errorf("without pins: %d %s", r.status, r.out)
	}
}
