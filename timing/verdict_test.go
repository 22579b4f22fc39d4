package timing_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pinwright/timing"
	"pinwright/wheel"
)

// oneBar is a machine of one bar and one shared fall, whose figures can be
// followed by hand: an arc of 2π·600/256 = 14.726 mm a step, a gate that needs
// 140 ms, four steps to a beat.
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

func works(t testing.TB, file string) *timing.Works {
	t.Helper()
	w, err := timing.ReadMachine([]byte(file))
	if err != nil {
		t.Fatal(err)
	}
	return w
}

func pinned(pins ...wheel.Pin) *wheel.Pinning {
	return &wheel.Pinning{Format: wheel.PinningFormat, Title: "By hand", TempoBPM: 120, Pins: pins}
}

func at(channel string, step int) wheel.Pin { return wheel.Pin{Channel: channel, Step: step} }

// Two pins one step apart: p ≥ 0.140 s, so T ≤ 60/(4·0.140) = 107.142857 BPM.
// At 120 BPM a step takes 60/480 = 125 ms (worked by hand).
func TestTheGatesReloadGivesTheHighestSafeTempo(t *testing.T) {
	w := works(t, oneBar)
	v, err := w.Check(pinned(at("bar-c5", 36), at("bar-c5", 37)), 120)
	if err != nil {
		t.Fatal(err)
	}
	if v.Safe || v.MaxSafeBPM == nil || math.Abs(*v.MaxSafeBPM-107.14285714285714) > 1e-9 {
		t.Fatalf("safe %v, highest safe tempo %v", v.Safe, v.MaxSafeBPM)
	}
	want := "Bar C5, bar 3 beat 2: the next pin comes after 125 ms; the gate needs 140 ms"
	if len(v.Findings) != 1 || w.Sentence(v.Findings[0]) != want {
		t.Errorf("findings %+v, want %q", v.Findings, want)
	}
	if by := v.Bands[0].StoppedBy; by == nil || *by != (timing.Cause{Kind: timing.Unready, Channel: 0, Other: 0, Lane: -1}) {
		t.Errorf("stopped by %+v", by)
	}
	again, err := w.Check(pinned(at("bar-c5", 36), at("bar-c5", 37)), *v.MaxSafeBPM)
	if err != nil || !again.Safe {
		t.Errorf("the highest safe tempo itself is not safe: %v %+v", err, again.Findings)
	}
}

// Two marbles fall 240 mm from rest: T₁ = √(0.48/9.80665) = 221.24 ms. The
// first has to be 14 mm down when the second starts, √(0.028/9.80665) = 53.43
// ms, and the second 226 mm down or less when the first lands: T₁ − √(0.452/
// 9.80665) = 221.24 − 214.69 = 6.55 ms. So it needs 53.43 ms, and a step takes
// that at 60/(4·0.05343) = 280.7 BPM, above the machine's 180 (worked by hand).
// On one step they lead each other by nothing, at every tempo.
func TestTwoFallsOfOneLaneNeedTheTimeToFallOneSpacing(t *testing.T) {
	w := works(t, oneBar)
	v, err := w.Check(pinned(at("bar-c5", 0), at("bar-e5", 1)), 120)
	if err != nil || !v.Safe || *v.MaxSafeBPM != 180 || v.Bands[0].StoppedBy != nil {
		t.Fatalf("%v %+v", err, v)
	}
	first := w.Channels[0].Passages[0]
	if need := w.Need(first, w.Channels[1].Passages[0]); math.Abs(need-0.053434) > 1e-6 {
		t.Errorf("need %v s", need)
	}
	v, err = w.Check(pinned(at("bar-c5", 0), at("bar-e5", 0)), 60)
	if err != nil || v.Safe || v.MaxSafeBPM != nil || len(v.Bands) != 0 {
		t.Fatalf("%v %+v", err, v)
	}
	var texts []string
	for _, f := range v.Findings {
		texts = append(texts, w.Sentence(f))
	}
	want := "Bar C5, bar 1 beat 1: its marble enters lane drop 0.0 ms before that of Bar E5, bar 1 beat 1; they need 53.4 ms between them\n" +
		"bar 1 beat 1: 2 pins on this step; the wheel may trip 1 at once"
	if got := strings.Join(texts, "\n"); got != want {
		t.Errorf("said\n%s\nwant\n%s", got, want)
	}
}

func TestAPinOnAChannelOutOfServiceIsSilentAtEveryTempo(t *testing.T) {
	w := works(t, strings.Replace(oneBar, `"keys": [76],`, `"keys": [76], "service": "resting",`, 1))
	v, err := w.Check(pinned(at("bar-e5", 5)), 60)
	if err != nil || v.MaxSafeBPM != nil || len(v.Findings) != 1 || v.Findings[0].Kind != timing.Silent {
		t.Fatalf("%v %+v", err, v)
	}
	if want := "Bar E5, bar 1 beat 2 +1/4: a pin on a channel that is resting"; w.Sentence(v.Findings[0]) != want {
		t.Errorf("said %q, want %q", w.Sentence(v.Findings[0]), want)
	}
}

func TestATempoNoWheelTurnsAtIsRefused(t *testing.T) {
	for _, tempo := range []float64{0, -3, math.NaN(), math.Inf(1), 1001} {
		if _, err := works(t, oneBar).Check(pinned(at("bar-c5", 0)), tempo); err == nil {
			t.Errorf("%v BPM was taken", tempo)
		}
	}
}

func TestAMarbleThatStallsIsRefusedByChannelAndLane(t *testing.T) {
	file := strings.Replace(oneBar, `{"id": "drop", "kind": "fall", "length_mm": 240}`,
		`{"id": "drop", "kind": "fall", "length_mm": 240}, {"id": "flat", "kind": "ramp", "length_mm": 500, "slope_deg": 0.1, "rolling": 0.02}`, 1)
	file = strings.Replace(file, `"exit": []`, `"exit": ["flat"]`, 1)
	_, err := timing.ReadMachine([]byte(file))
	if err == nil || !strings.Contains(err.Error(), "channels[0].exit[0]") || !strings.Contains(err.Error(), "Bar C5") || !strings.Contains(err.Error(), `"flat"`) {
		t.Errorf("said %v", err)
	}
}

func ExampleWorks_Check() {
	w, err := timing.ReadMachine([]byte(oneBar))
	if err != nil {
		fmt.Println(err)
		return
	}
	v, err := w.Check(pinned(at("bar-c5", 36), at("bar-c5", 37)), 120)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("highest safe tempo %.1f BPM\n", *v.MaxSafeBPM)
	for _, f := range v.Findings {
		fmt.Println(w.Sentence(f))
	}
	// Output:
	// highest safe tempo 107.1 BPM
	// Bar C5, bar 3 beat 2: the next pin comes after 125 ms; the gate needs 140 ms
}
