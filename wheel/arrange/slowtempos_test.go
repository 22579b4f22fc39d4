package arrange

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
)

// Two channels half a second apart, 20 ms allowed: A steps of advance hold where
// 0.48 ≤ A p ≤ 0.52, and p = 15/T, so at 15 A/0.52 to 15 A/0.48 BPM: 28.85 A to
// 31.25 A (worked by hand). From 30 BPM on: up to 31.25, 57.69 to 62.5, 86.54 to
// 93.75, 115.38 to 125, 144.23 to 156.25, 173.08 to the machine's 180.
func TestHeldTemposByHand(t *testing.T) {
	m := machine(64, 4, row{id: "a"}, row{id: "b", latchMS: 500})
	p := &wheel.Pinning{Pins: []wheel.Pin{{Channel: "a"}, {Channel: "b"}}}
	got := HeldTempos(compile(t, m), p)
	if len(got) != 6 {
		t.Fatalf("%v", got)
	}
	for i, r := range got {
		a := float64(i + 1)
		want := TempoRange{max(30, 15*a/0.52), min(180, 15*a/0.48)}
		if math.Abs(r.FromBPM-want.FromBPM) > 1e-9 || math.Abs(r.ToBPM-want.ToBPM) > 1e-9 {
			t.Errorf("range %d is %v, want %v", i+1, r, want)
		}
	}
}

// Without pins there is nothing to hold together, and with one channel nothing to
// choose: it holds over the machine's whole range, said once.
func TestHeldTemposOfAnEmptyPinningAreTheWholeRangeOnce(t *testing.T) {
	w := compile(t, machine(64, 4, row{id: "a"}, row{id: "b", latchMS: 500}))
	for _, pins := range [][]wheel.Pin{nil, {{Channel: "b", Step: 3}}} {
		if got := HeldTempos(w, &wheel.Pinning{Pins: pins}); !slices.Equal(got, []TempoRange{{30, 180}}) {
			t.Errorf("%d pins: %d ranges, the first %v", len(pins), len(got), got[:min(1, len(got))])
		}
	}
}

// Over a whole range the least spread is within the bound.
func TestHeldTemposHoldOverTheirWholeRange(t *testing.T) {
	found := 0
	rapid.Check(t, func(t *rapid.T) {
		var rows []row
		for i := range rapid.IntRange(2, 4).Draw(t, "channels") {
			rows = append(rows, row{id: fmt.Sprint(i), reachMM: rapid.Float64Range(0, 3).Draw(t, "reach"), latchMS: rapid.Float64Range(0, 500).Draw(t, "latch")})
		}
		w := compileRapid(t, machine(64, 4, rows...))
		p := &wheel.Pinning{}
		for _, r := range rows {
			p.Pins = append(p.Pins, wheel.Pin{Channel: r.id})
		}
		channels := pinnedChannels(w.Machine, p)
		all := HeldTempos(w, p)
		for i, r := range all {
			found++
			if r.FromBPM > r.ToBPM {
				t.Fatalf("%v is turned round", r)
			}
			if i > 0 && (r.FromBPM < all[i-1].FromBPM || r.ToBPM <= all[i-1].ToBPM) {
				t.Fatalf("%v comes after %v", r, all[i-1])
			}
			if _, spread := AdvancesOver(w, channels, r.FromBPM, r.ToBPM); spread > 0.020+1e-9 {
				t.Fatalf("over %v the least spread is %g s", r, spread)
			}
		}
	})
	if found == 0 {
		t.Error("no range was ever found")
	}
}
