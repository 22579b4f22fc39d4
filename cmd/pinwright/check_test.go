package main

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// near fails the test unless a JSON number is what it should be, to 1e-9.
func near(t *testing.T, what string, got any, want float64) {
	t.Helper()
	if v, ok := got.(float64); !ok || math.Abs(v-want) > 1e-9*max(1, math.Abs(want)) {
		t.Errorf("%s is %v, want %v", what, got, want)
	}
}

// verdictKeys are those of "pinwright check -json".
var verdictKeys = []string{
	"machine", "pinning", "pins", "tempo_bpm", "safe", "findings", "bands", "max_safe_bpm", "verdict", "keep_below_bpm", "red_line_bpm", "spoilt_per_turn", "jams_per_turn", "notes_bpm", "lanes_bpm", "stop_bpm",
	"at_best_bpm", "unknown", "assumed", "warnings", "limits", "flam_ms", "together",
}

// Worked by hand. The pins of bar-c5 are 1 step apart: with 4 steps to the beat
// a step takes 15/T s, so the gate's 140 ms are short above 15/0.140 =
// 107.142857… BPM and the plate's 90 ms above 15/0.090 = 166.67 BPM. No two
// channels share an aim, so the flam is 0.
func TestCheckAnswersInJSON(t *testing.T) {
	f := newFolder(t)
	r := call("check", "-machine", f.file("machine.json"), "-pinning", f.file("pinning.json"), "-json")
	if r.status != done || r.err != "" {
		t.Errorf("status %d, errors %q", r.status, r.err)
	}
	v := object(t, r.out)
	wantKeys(t, "the verdict", v, verdictKeys...)
	for key, want := range map[string]any{"machine": "Hailstone", "pinning": "Mill Race", "pins": 3., "tempo_bpm": 84., "safe": true, "flam_ms": 0.} {
		if v[key] != want {
			t.Errorf("%s is %v, want %v", key, v[key], want)
		}
	}
	if list, ok := v["findings"].([]any); !ok || len(list) != 0 {
		t.Errorf("findings are %v, want an empty list", v["findings"])
	}
	near(t, "max_safe_bpm", v["max_safe_bpm"], 15/0.140)

	bands := v["bands"].([]any)
	if len(bands) != 1 {
		t.Fatalf("bands are %v", bands)
	}
	band := bands[0].(map[string]any)
	wantKeys(t, "a band", band, "from_bpm", "to_bpm", "stopped_by")
	near(t, "from_bpm", band["from_bpm"], 30)
	near(t, "to_bpm", band["to_bpm"], 15/0.140)
	cause := band["stopped_by"].(map[string]any)
	wantKeys(t, "stopped_by", cause, "kind", "channel", "other_channel", "lane")
	if cause["kind"] != "unready" || cause["channel"] != "bar-c5" || cause["lane"] != nil {
		t.Errorf("stopped_by is %v", cause)
	}

	limits := v["limits"].([]any)
	if len(limits) != 2 {
		t.Fatalf("limits are %v", limits)
	}
	for i, want := range []struct {
		kind string
		bpm  float64
	}{{"unready", 15 / 0.140}, {"unclear", 15 / 0.090}} {
		limit := limits[i].(map[string]any)
		wantKeys(t, "a limit", limit, "kind", "channel", "other_channel", "lane", "bpm")
		if limit["kind"] != want.kind {
			t.Errorf("limit %d is %v, want %s", i, limit, want.kind)
		}
		near(t, "bpm", limit["bpm"], want.bpm)
	}
	together := v["together"]
	wantKeys(t, "together", together, "from_bpm", "to_bpm")
	near(t, "from_bpm", together.(map[string]any)["from_bpm"], 30)
	near(t, "to_bpm", together.(map[string]any)["to_bpm"], 180)
}

// At 120 BPM a step takes 125 ms: short of the gate's 140, long enough for the
// plate's 90.
func TestCheckAnswersWithFindingsInJSON(t *testing.T) {
	f := newFolder(t)
	r := call("check", "-machine", f.file("machine.json"), "-pinning", f.file("pinning.json"), "-tempo", "120", "-json")
	if r.status != findings || r.err != "" {
		t.Errorf("status %d, errors %q", r.status, r.err)
	}
	v := object(t, r.out)
	list := v["findings"].([]any)
	if v["safe"] != false || v["tempo_bpm"] != 120. || len(list) != 1 {
		t.Fatalf("the verdict is %v", v)
	}
	finding := list[0].(map[string]any)
	wantKeys(t, "a finding", finding, "kind", "channel", "step", "other_channel", "other_step", "lane", "gap_ms", "need_ms", "text")
	if finding["kind"] != "unready" || finding["channel"] != "bar-c5" || finding["step"] != 14. || finding["other_step"] != 15. || finding["lane"] != nil {
		t.Errorf("the finding is %v", finding)
	}
	near(t, "gap_ms", finding["gap_ms"], 125)
	near(t, "need_ms", finding["need_ms"], 140)
}

// What does not apply is null, and text stands as it is.
func TestCheckWritesNullWhereNothingApplies(t *testing.T) {
	f := newFolder(t)
	pinning := f.write("resting.json", `{"format": "pinwright-pinning/1", "title": "<Beat> & rest", "tempo_bpm": 60, "pins": [
		{"channel": "drum", "step": 0}, {"channel": "bar-c5", "step": 0}, {"channel": "bar-e5", "step": 0}]}`)
	r := call("check", "-machine", f.file("machine.json"), "-pinning", pinning, "-json")
	if r.status != findings || r.err != "" {
		t.Errorf("status %d, errors %q", r.status, r.err)
	}
	if !strings.Contains(r.out, `"<Beat> & rest"`) {
		t.Errorf("the title is escaped: %s", r.out)
	}
	v := object(t, r.out)
	if v["max_safe_bpm"] != nil {
		t.Errorf("max_safe_bpm is %v; no tempo is safe", v["max_safe_bpm"])
	}
	if list, ok := v["bands"].([]any); !ok || len(list) != 0 {
		t.Errorf("bands are %v, want an empty list", v["bands"])
	}
	list := v["findings"].([]any)
	if len(list) != 2 {
		t.Fatalf("findings are %v", list)
	}
	for _, one := range list {
		finding := one.(map[string]any)
		wantKeys(t, "a finding", finding, "kind", "channel", "step", "other_channel", "other_step", "lane", "gap_ms", "need_ms", "text")
		for _, key := range []string{"other_channel", "other_step", "lane", "gap_ms", "need_ms"} {
			if finding[key] != nil {
				t.Errorf("%s of %v is not null", key, finding["kind"])
			}
		}
	}
}

// The strikes of bar-c5 and bar-e5 are 25 ms apart at every tempo, 43 − 18 ms
// of latch; flam_ms is 20.
func TestCheckWritesTogetherAsNullWhereNoTempoHoldsChords(t *testing.T) {
	f := newFolder(t)
	pinning := f.write("chord.json", `{"format": "pinwright-pinning/1", "title": "Chord", "tempo_bpm": 60,
		"pins": [{"channel": "bar-c5", "step": 0}, {"channel": "bar-e5", "step": 0}]}`)
	r := call("check", "-machine", f.file("machine.json"), "-pinning", pinning, "-json")
	if r.status != done || r.err != "" {
		t.Errorf("status %d, errors %q", r.status, r.err)
	}
	v := object(t, r.out)
	if together, is := v["together"]; !is || together != nil {
		t.Errorf("together is %v, want null", together)
	}
	near(t, "flam_ms", v["flam_ms"], 25)
	band := v["bands"].([]any)[0].(map[string]any)
	if stopped, is := band["stopped_by"]; !is || stopped != nil {
		t.Errorf("stopped_by is %v at the machine's highest tempo, want null", stopped)
	}
	near(t, "max_safe_bpm", v["max_safe_bpm"], 180)

	r = call("check", "-machine", f.file("machine.json"), "-pinning", pinning)
	const want = `Chord on Hailstone, 2 pins

At 60 BPM: trusted

Keep below 180 BPM. If every figure were exact: 180 BPM.
At 60 BPM: practically no spoilt notes or jams.

Bare limit: 180 BPM (every note sounds up to 180, every lane runs free up to 180)

Nothing stops it up to 180 BPM, the machine's highest tempo.

No rule is broken, in BPM:
  30 to 180

Together: flam is 25 ms at 60 BPM, and within 20 ms at no tempo from 30 to 180 BPM
`
	if r.out != want {
		t.Errorf("it says\n%s\nwant\n%s", r.out, want)
	}
}

// The figures are those of the JSON, worked by hand above; a highest tempo is
// rounded down, so that what is said to be safe is. A reload of 90 ms is ready
// as soon as the plate is clear, and 15/180 s is 83.33 ms, of which 83 are set.
//
// Keep below: nothing is measured, so the reload has s = u = 7 ms, the latch s =
// 0.9 ms, pins stand 0.5 mm off. At 88.2 BPM a step takes 170 ms, and a pin's
// place 0.5/14.73 of it, 5.8 ms: σ² = 7² + 7² + 2·0.9² + 2·5.8², σ = 12.9 ms;
// the gap is 30 ms more than the reload, 2.33 σ, and Φ(−2.33) = 0.01.
func TestCheckReportsToPeople(t *testing.T) {
	f := newFolder(t)
	r := call("check", "-machine", f.file("machine.json"), "-pinning", f.file("pinning.json"), "-tempo", "120")
	const want = `Mill Race on Hailstone, 3 pins

At 120 BPM: not safe, 1 finding
  Bar C5, bar 1 beat 4 +1/2: the next pin comes after 125 ms; the gate needs 140 ms

Keep below 88.2 BPM. If every figure were exact: 107.1 BPM.
At 120 BPM: about one spoilt note a turn and practically no jams, most of them Bar C5.
Between 88.2 and 107.1 BPM: pins 39 %, spread 31 %, doubt 30 %.

Bare limit: 107.1 BPM (every note sounds up to 107.1, every lane runs free up to 180)

What stops it first, in BPM:
  107.1   Bar C5, bar 1 beat 4 +1/2: any faster, the next pin comes before the gate is ready, which takes 140 ms
          reload 140 ms → 90 ms lifts the limit from 107.1 to 166.6 BPM
            keep below 88.2 → 128.5 BPM; spoilt notes and jams 0.9 → 0.0013 a turn
  166.6   Bar C5, bar 1 beat 4 +1/2: any faster, the next strike comes before the plate is clear, which takes 90 ms
          time to clear 90 ms → 83 ms lifts this limit from 166.6 to 180 BPM
            wins nothing by itself: keep below stays at 88.2 BPM

No rule is broken, in BPM:
  30 to 107.1

Together: flam is 0 ms at 120 BPM, and within 20 ms from 30 to 180 BPM
`
	if r.status != findings || r.err != "" || r.out != want {
		t.Errorf("status %d, errors %q, it says\n%s\nwant\n%s", r.status, r.err, r.out, want)
	}
}

func TestCheckShowsPeopleTwentyFindingsAndCountsTheRest(t *testing.T) {
	f := newFolder(t)
	var pins []string
	for step := range 30 {
		pins = append(pins, fmt.Sprintf(`{"channel": "drum", "step": %d}`, step))
	}
	pinning := f.write("many.json", `{"format": "pinwright-pinning/1", "title": "Many", "tempo_bpm": 60, "pins": [`+strings.Join(pins, ",")+`]}`)
	r := call("check", "-machine", f.file("machine.json"), "-pinning", pinning)
	if n := strings.Count(r.out, "Drum, bar"); r.status != findings || n < 20 || n > 22 { // and of the limits
		t.Errorf("status %d, %d sentences on the drum:\n%s", r.status, n, r.out)
	}
	for _, want := range []string{
		"At 60 BPM: not safe, 30 findings\n", "  and 10 more; -json lists them all\n",
		"Bare limit: none; even the slowest tempo, 30 BPM, is not safe\n",
		"  30      Drum, bar 1 beat 1: a pin on a channel that is resting\n",
		"A rule is broken at every tempo from 30 to 180 BPM\n",
	} {
		if !strings.Contains(r.out, want) {
			t.Errorf("it does not say %q:\n%s", want, r.out)
		}
	}
	r = call("check", "-machine", f.file("machine.json"), "-pinning", pinning, "-json")
	if n := len(object(t, r.out)["findings"].([]any)); n != 30 {
		t.Errorf("%d findings in JSON", n)
	}
}

func TestCheckRemarksOnAnotherMachineAndATempoOutsideIt(t *testing.T) {
	f := newFolder(t)
	pinning := f.edited("pinning.json", `"machine": "Hailstone"`, `"machine": "Gale"`)
	for _, asJSON := range []string{"-json=false", "-json"} {
		r := call("check", "-machine", f.file("machine.json"), "-pinning", pinning, "-tempo", "200", asJSON)
		want := "note: " + pinning + " is for a machine called Gale; " + f.file("machine.json") + " is called Hailstone\n" +
			"note: 200 BPM is outside the tempos of Hailstone, 30 to 180 BPM\n"
		if r.status != findings || r.err != want {
			t.Errorf("status %d, errors\n%swant\n%s", r.status, r.err, want)
		}
		if !strings.Contains(r.out, "200") || !strings.Contains(r.out, "plate is clear after 90 ms") {
			t.Errorf("it was not checked at 200 BPM:\n%s", r.out)
		}
	}
}

// Two channels with a pin each, a turn apart from their next, break no rule
// at these tempos; the machine turns at 30 to 180 BPM. What is answered in JSON, and the exit status with it,
// is about what can be trusted: a tempo above the machine's range cannot.
func TestCheckCallsNoTempoSafeThatTheMachineDoesNotTurnAt(t *testing.T) {
	f := newFolder(t)
	pinning := f.write("chord.json", `{"format": "pinwright-pinning/1", "title": "Chord", "tempo_bpm": 60,
		"pins": [{"channel": "bar-c5", "step": 0}, {"channel": "bar-e5", "step": 0}]}`)
	for tempo, want := range map[string]string{
		"200": "At 200 BPM: no findings, but faster than the machine turns, 30 to 180 BPM\n",
		"20":  "At 20 BPM: no findings, but slower than the machine turns, 30 to 180 BPM\n",
		"180": "At 180 BPM: trusted\n",
		"30":  "At 30 BPM: trusted\n",
	} {
		status := done
		if tempo == "200" {
			status = findings
		}
		r := call("check", "-machine", f.file("machine.json"), "-pinning", pinning, "-tempo", tempo)
		if r.status != status || !strings.Contains(r.out, want) {
			t.Errorf("at %s BPM: status %d, it says\n%s", tempo, r.status, r.out)
		}
	}
}

func TestCheckNeedsATempo(t *testing.T) {
	f := newFolder(t)
	for _, pinning := range []string{
		f.edited("pinning.json", `"tempo_bpm": 84`, `"tempo_bpm": 0`),
		f.edited("pinning.json", `, "tempo_bpm": 84`, ``),
	} {
		call("check", "-machine", f.file("machine.json"), "-pinning", pinning, "-json").
			refuses(t, "pinwright check: "+pinning+" has no tempo_bpm; give a tempo with -tempo (see pinwright check -h)")
		if r := call("check", "-machine", f.file("machine.json"), "-pinning", pinning, "-tempo", "80"); r.status != done {
			t.Errorf("with -tempo: status %d, errors %q", r.status, r.err)
		}
	}
}

// Every line begins with the name of the file it is about.
func TestCheckRefusesBadFilesByNameAndPlace(t *testing.T) {
	f := newFolder(t)
	machine, pinning := f.file("machine.json"), f.file("pinning.json")
	on := func(machine, pinning string) told {
		return call("check", "-machine", machine, "-pinning", pinning, "-json")
	}

	bad := f.edited("machine.json", `"latch_ms": 18}, "gate": {"reload_ms": 140}`, `"latch": 18}, "gate": {"reload_ms": -5}`)
	on(bad, pinning).refuses(t,
		bad+": channels[0].trip.latch is not a key this file can have; did you mean latch_ms?",
		bad+": channels[0].gate.reload_ms is −5; a time cannot be negative")
	off := f.edited("pinning.json", `"step": 40`, `"step": 256`)
	on(machine, off).refuses(t, off+": pins[2].step is 256; the wheel of Hailstone has steps 0 to 255")
	twice := f.write("twice.json", `{"format": "pinwright-pinning/1", "title": "x", "pins": [{"channel": "bar-c5", "step": 0}, {"channel": "bar-c5"}]}`)
	on(bad, twice).refuses(t,
		bad+": channels[0].trip.latch is not a key this file can have; did you mean latch_ms?",
		bad+": channels[0].gate.reload_ms is −5; a time cannot be negative",
		twice+": pins[1] is at step 0 of bar-c5, where pins[0] is already; a hole takes one pin")
	on(pinning, machine).refuses(t,
		pinning+`: format is "pinwright-pinning/1"; a machine file has "pinwright-machine/1"`,
		machine+`: format is "pinwright-machine/1"; a pinning file has "pinwright-pinning/1"`)
	stalls := f.edited("machine.json", `"lanes": []`, `"lanes": [{"id": "flat", "kind": "ramp", "length_mm": 100, "slope_deg": 0}]`)
	stalls = f.write("stalls.json", strings.Replace(f.read(filepath.Base(stalls)), `"name": "Drum"`, `"name": "Drum", "path": ["flat"]`, 1))
	on(stalls, pinning).refuses(t, stalls+`: channels[2].path[0] sends the marble of Drum into lane "flat" at 0 mm/s, where it stalls; the lane has to be steeper or shorter, or the marble faster`)
}

func TestCheckRefusesWhatIsNoFile(t *testing.T) {
	f := newFolder(t)
	pinning := f.file("pinning.json")
	on := func(machine string) told { return call("check", "-machine", machine, "-pinning", pinning) }

	nowhere := f.file("nowhere.json")
	on(nowhere).refuses(t, nowhere+": no such file or directory")
	on(f.path).refuses(t, f.path+": it is a folder; name a file in it")
	on(f.write("empty.json", "")).refuses(t, f.file("empty.json")+": the file is empty")
	large := f.file("large.json")
	if err := os.WriteFile(large, nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(large, 1<<40); err != nil { // of nothing, and far more than memory
		t.Fatal(err)
	}
	on(large).refuses(t, large+": the file is larger than 8 MiB; a machine or pinning file is far smaller")
	if _, err := os.Stat("/dev/zero"); err == nil {
		on("/dev/zero").refuses(t, "/dev/zero: it is not a regular file")
	}
}

// The command says what measuring would win if it is asked to: of the bar whose gate stops
// it, the reload first.
func TestCheckTellsWhatMeasuringWouldWin(t *testing.T) {
	f := newFolder(t)
	args := []string{"check", "-machine", f.file("machine.json"), "-pinning", f.file("pinning.json")}
	if r := call(args...); strings.Contains(r.out, "Measure next") {
		t.Errorf("nobody asked:\n%s", r.out)
	}
	if r := call(append(args, "-costs")...); r.status != done || !strings.Contains(r.out, "\nMeasure next: reload of Bar C5 (+") {
		t.Errorf("status %d, it says\n%s", r.status, r.out)
	}
	v := object(t, call(append(args, "-costs", "-json")...).out)
	wantKeys(t, "the verdict", v, append(slices.Clone(verdictKeys), "costs", "divide")...)
	costs, divide := v["costs"].([]any), v["divide"].(map[string]any)
	if first := costs[0].(map[string]any); first["figure"] != "channels.bar-c5.gate.reload_ms" || first["bpm"].(float64) <= 0 {
		t.Errorf("costs are %v", costs)
	}
	wantKeys(t, "divide", divide, "spread_bpm", "doubt_bpm", "pins_bpm", "hand_bpm")
	sum := 0.0
	for _, bpm := range divide {
		sum += bpm.(float64)
	}
	near(t, "the whole distance", sum, v["max_safe_bpm"].(float64)-v["keep_below_bpm"].(float64))
}
