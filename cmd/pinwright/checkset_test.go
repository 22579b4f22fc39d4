package main

import (
	"strings"
	"testing"
)

// The gate's 100 ms are short above 15/0.100 = 150 BPM, where 140 were above
// 107.14; the plate's 90 ms above 166.67 (worked by hand).
func TestCheckTriesFiguresAndTellsWhatTheMachineIs(t *testing.T) {
	f := newFolder(t)
	before := f.read("machine.json")
	args := []string{"check", "-machine", f.file("machine.json"), "-pinning", f.file("pinning.json"), "-tempo", "120",
		"-set", "channels.bar-c5.gate.reload_ms=90", "-set", "channels.bar-c5.gate.reload_ms=100", "-set", "limits.flam_ms=12.5"}
	r := call(args...)
	const want = `Mill Race on Hailstone, 3 pins

Tried:
  reload of Bar C5: 100 ms in place of 140 ms
  widest flam: 12.5 ms in place of 20 ms

At 120 BPM: close; no rule is broken, but more faults are expected than the machine's limits allow

Keep below 117.9 BPM. If every figure were exact: 150 BPM.
At 120 BPM: about one spoilt note in 63 turns and practically no jams, most of them Bar C5.
Between 117.9 and 150 BPM: spread 38 %, doubt 37 %, pins 25 %.

Bare limit: 150 BPM (every note sounds up to 150, every lane runs free up to 180)
As the machine is:  107.1 BPM

What stops it first, in BPM:
  150     Bar C5, bar 1 beat 4 +1/2: any faster, the next pin comes before the gate is ready, which takes 100 ms
          reload 100 ms → 90 ms lifts the limit from 150 to 166.6 BPM
            keep below 117.9 → 128.5 BPM; spoilt notes and jams 0.016 → 0.0013 a turn
  166.6   Bar C5, bar 1 beat 4 +1/2: any faster, the next strike comes before the plate is clear, which takes 90 ms
          time to clear 90 ms → 83 ms lifts this limit from 166.6 to 180 BPM
            wins nothing by itself: keep below stays at 117.9 BPM

No rule is broken, in BPM:
  30 to 150

Together: flam is 0 ms at 120 BPM, and within 12.5 ms from 30 to 180 BPM
`
	if r.status != findings || r.err != "" || r.out != want {
		t.Errorf("status %d, errors %q, it says\n%s\nwant\n%s", r.status, r.err, r.out, want)
	}
	r = call(append(args, "-json")...)
	v := object(t, r.out)
	wantKeys(t, "the verdict", v, verdictKeys...)
	near(t, "max_safe_bpm", v["max_safe_bpm"], 150)
	if r.status != findings || v["safe"] != true || v["verdict"] != "close" {
		t.Errorf("status %d, safe %v", r.status, v["safe"])
	}
	if f.read("machine.json") != before {
		t.Error("the machine's file has changed")
	}
}

func TestATrialWithFindingsExitsWithOne(t *testing.T) {
	f := newFolder(t)
	r := call("check", "-machine", f.file("machine.json"), "-pinning", f.file("pinning.json"), "-set", "channels.bar-c5.gate.reload_ms=600")
	if r.status != findings || !strings.Contains(r.out, "Bare limit: none") || !strings.Contains(r.out, "As the machine is:  107.1 BPM") {
		t.Errorf("status %d, it says\n%s", r.status, r.out)
	}
}

func TestCheckRefusesATrialInOneSentence(t *testing.T) {
	f := newFolder(t)
	machine, pinning := f.file("machine.json"), f.file("pinning.json")
	const more = " (see pinwright check -h)"
	for set, want := range map[string]string{
		"channels.bar-c5.gate.relod_ms=120":  "-set: channels.bar-c5.gate.relod_ms is no figure of the machine; did you mean channels.bar-c5.gate.reload_ms?",
		"channels.bar-c5.gate.reload_ms=-5":  "-set: channels.bar-c5.gate.reload_ms is −5; a time cannot be negative",
		"channels.bar-c5.gate.reload_ms=NaN": "-set: channels.bar-c5.gate.reload_ms is not a finite number",
		"channels.bar-c5.gate.reload_ms=1,5": `-set is "channels.bar-c5.gate.reload_ms=1,5"; what stands after = should be a number, with a point for decimals`,
		"channels.bar-c5.gate.reload_ms":     `-set is "channels.bar-c5.gate.reload_ms"; it should be a figure's path and its value, such as channels.bar-c5.gate.reload_ms=120 or lanes.*.rolling=0.003`,
		"=5":                                 `-set is "=5"; it should be a figure's path and its value, such as channels.bar-c5.gate.reload_ms=120 or lanes.*.rolling=0.003`,
		"channels.*.gate.relod_ms=120":       "-set: channels.*.gate.relod_ms is no figure of a channel; did you mean channels.*.gate.reload_ms?",
		"kind:bell.gate.reload_ms=120":       "-set: kind:bell.gate.reload_ms matches nothing: the machine has no bell with such a figure",
		"kind:bar.gate.reload_ms*=-1":        "-set: channels.bar-c5.gate.reload_ms is −140; a time cannot be negative",
		"wheel.steps=20":                     "-set: " + pinning + " does not fit: pins[2].step is 40; the wheel of Hailstone has steps 0 to 19",
		"limits.tempo_max_bpm=20":            "-set: limits.tempo_max_bpm is 20; it has to be above tempo_min_bpm, 30",
	} {
		call("check", "-machine", machine, "-pinning", pinning, "-json", "-set", set).refuses(t, "pinwright check: "+want+more)
	}
}

// A reload of half of 140 ms is short above 15/0.070 = 214 BPM; the plate's 90 ms
// above 166.67 (worked by hand).
func TestCheckTriesFiguresOfGroups(t *testing.T) {
	f := newFolder(t)
	r := call("check", "-machine", f.file("machine.json"), "-pinning", f.file("pinning.json"),
		"-set", "channels.*.gate.reload_ms=140", "-set", "kind:bar.gate.reload_ms*=0.5")
	for _, want := range []string{"  reload of 3 channels: 140 ms\n", "  reload of 2 bars: × 0.5\n", "Bare limit: 166.6 BPM"} {
		if !strings.Contains(r.out, want) {
			t.Errorf("status %d, errors %q, no %q in\n%s", r.status, r.err, want, r.out)
		}
	}
}
