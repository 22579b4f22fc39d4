package main

import (
	"strings"
	"testing"
)

// oneBar is a machine of two bars over one fall, whose figures can be followed
// by hand.
const oneBar = `{
 "format": "pinwright-machine/1", "name": "One bar",
 "marble": {"diameter_mm": 12, "clearance_mm": 2},
 "wheel": {"radius_mm": 600, "steps": 256, "steps_per_beat": 4, "beats_per_bar": 4},
 "lanes": [{"id": "drop", "kind": "fall", "length_mm": 240}],
 "channels": [
  {"id": "bar-c5", "name": "Bar C5", "row": 0, "kind": "bar", "keys": [72],
   "trip": {"reach_mm": 3.5, "hold_mm": 6, "return_ms": 60, "latch_ms": 18},
   "gate": {"reload_ms": 140}, "path": ["drop"], "strike": {"clear_ms": 90}, "exit_mm_s": 250, "exit": []},
  {"id": "bar-e5", "name": "Bar E5", "row": 1, "kind": "bar", "keys": [76],
   "trip": {"reach_mm": 3.5, "hold_mm": 6, "return_ms": 60, "latch_ms": 18},
   "gate": {"reload_ms": 140}, "path": ["drop"], "strike": {"clear_ms": 90}, "exit_mm_s": 250, "exit": []}
 ],
 "limits": {"tempo_min_bpm": 30, "tempo_max_bpm": 180, "trips_at_once": 1}
}`

// Programs read this JSON: its keys, their order and its numbers stay as they
// are. The texts are what the program printed when this was written. What can be
// followed by hand: a step takes 15/150 s = 100 ms, the gate's 140 ms hold up to
// 15/0.140 = 107.14 BPM, the plate's 90 ms up to 15/0.090 = 166.67, and two
// marbles let go at once are 0 ms apart in a fall that asks for
// √(0.028/9.80665) = 53.434 ms.
func TestTheVerdictsJSONStaysAsItIsToTheByte(t *testing.T) {
	f := newFolder(t)
	machine := f.write("one-bar.json", oneBar)
	for _, c := range []struct {
		tempo, pins string
		status      int
		want        string
	}{
		{"150", `{"channel": "bar-c5", "step": 0}, {"channel": "bar-c5", "step": 1}, {"channel": "bar-e5", "step": 1}`, findings,
			`{"machine":"One bar","pinning":"By <hand>","pins":3,"tempo_bpm":150,"safe":false,"findings":[` +
				`{"kind":"crowded","channel":"bar-c5","step":0,"other_channel":"bar-c5","other_step":1,"lane":null,"gap_ms":59.25633456847479,"need_ms":60,"text":"Bar C5, bar 1 beat 1: the lever has 59 ms to fall back before the next pin; it needs 60 ms"},` +
				`{"kind":"unready","channel":"bar-c5","step":0,"other_channel":"bar-c5","other_step":1,"lane":null,"gap_ms":100,"need_ms":140,"text":"Bar C5, bar 1 beat 1: the next pin comes after 100 ms; the gate needs 140 ms"},` +
				`{"kind":"meeting","channel":"bar-c5","step":1,"other_channel":"bar-e5","other_step":1,"lane":"drop","gap_ms":0,"need_ms":53.43412202271316,"text":"Bar C5, bar 1 beat 1 +1/4: its marble enters lane drop 0.0 ms before that of Bar E5, bar 1 beat 1 +1/4; they need 53.4 ms between them"},` +
				`{"kind":"overload","channel":"bar-c5","step":1,"other_channel":null,"other_step":null,"lane":null,"gap_ms":null,"need_ms":null,"text":"bar 1 beat 1 +1/4: 2 pins on this step; the wheel may trip 1 at once"}],` +
				`"bands":[],"max_safe_bpm":null,"limits":[` +
				`{"kind":"meeting","channel":"bar-c5","other_channel":"bar-e5","lane":"drop","bpm":30},` +
				`{"kind":"overload","channel":null,"other_channel":null,"lane":null,"bpm":30},` +
				`{"kind":"unready","channel":"bar-c5","other_channel":"bar-c5","lane":null,"bpm":107.14285714285714},` +
				`{"kind":"crowded","channel":"bar-c5","other_channel":"bar-c5","lane":null,"bpm":148.14083642118698},` +
				`{"kind":"unclear","channel":"bar-c5","other_channel":"bar-c5","lane":null,"bpm":166.66666666666669}],` +
				`"flam_ms":0,"together":{"from_bpm":30,"to_bpm":180}}`},
		{"60", `{"channel": "bar-c5", "step": 0}, {"channel": "bar-c5", "step": 1}`, done,
			`{"machine":"One bar","pinning":"By <hand>","pins":2,"tempo_bpm":60,"safe":true,"findings":[],` +
				`"bands":[{"from_bpm":30,"to_bpm":107.14285714285714,"stopped_by":` +
				`{"kind":"unready","channel":"bar-c5","other_channel":"bar-c5","lane":null}}],"max_safe_bpm":107.14285714285714,"limits":[` +
				`{"kind":"unready","channel":"bar-c5","other_channel":"bar-c5","lane":null,"bpm":107.14285714285714},` +
				`{"kind":"crowded","channel":"bar-c5","other_channel":"bar-c5","lane":null,"bpm":148.14083642118698},` +
				`{"kind":"unclear","channel":"bar-c5","other_channel":"bar-c5","lane":null,"bpm":166.66666666666669}],` +
				`"flam_ms":0,"together":{"from_bpm":30,"to_bpm":180}}`},
	} {
		pinning := f.write("by-hand.json", `{"format": "pinwright-pinning/1", "title": "By <hand>", "tempo_bpm": 90, "pins": [`+c.pins+`]}`)
		r := call("check", "-machine", machine, "-pinning", pinning, "-tempo", c.tempo, "-json")
		// What has come since stands between the bare limit and the limits.
		before, rest, _ := strings.Cut(r.out, `"verdict":`)
		_, after, _ := strings.Cut(rest, `"limits":`)
		if got := before + `"limits":` + after; r.status != c.status || r.err != "" || got != c.want+"\n" {
			t.Errorf("at %s BPM, status %d, errors %q:\n%s\nwant\n%s", c.tempo, r.status, r.err, got, c.want)
		}
	}
}
