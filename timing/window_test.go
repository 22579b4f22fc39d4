package timing

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
)

// TestWindowEndsAreWhereTheWholeCheckTurns runs the whole check just inside and
// just outside both ends of a window: inside no chord spreads too far and, the
// margin added again, nothing is broken; outside one does, or something is.
func TestWindowEndsAreWhereTheWholeCheckTurns(t *testing.T) {
	checked, skipped, open, spread, safety := 0, 0, 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		works, pinning := anyMachine(t)
		for i, pin := range pinning.Pins { // chords of pins that stand near one another
			pinning.Pins[i].Aim = wheel.AimAt(float64(pin.Step / 4 * 4))
		}
		limits := &works.Machine.Limits
		somewhere := rapid.Float64Range(limits.TempoMinBPM, limits.TempoMaxBPM).Draw(t, "tempo at which a chord spreads enough")
		limits.FlamMS = plain{works.Machine, pinning}.flam(somewhere) * 1000
		if turnMS := works.Machine.Wheel.CrankAt(limits.TempoMaxBPM).TurnS * 1000; limits.FlamMS > turnMS/4 {
			skipped++
			t.Skip("half a turn early may be half a turn late")
		}
		checked++
		limits.Wander = wheel.Known(rapid.Float64Range(0, 0.05).Draw(t, "wander"))
		turn, err := works.Turn(pinning)
		if err != nil {
			t.Fatal(err)
		}
		w := turn.Window(rapid.Float64Range(0, 0.4).Draw(t, "margin"))
		flam := func(bpm float64) float64 { return plain{works.Machine, pinning}.flam(bpm) * 1000 }
		if !w.Open {
			if w.Holds(limits.TempoMinBPM) {
				t.Fatal("a window that is not open holds a tempo")
			}
			return
		}
		open++
		const inside, outside = 1e-7, 1e-5
		narrow := w.ToBPM-w.FromBPM < 4*inside*w.ToBPM
		for _, bpm := range []float64{w.FromBPM * (1 + inside), w.ToBPM * (1 - inside), (w.FromBPM + w.ToBPM) / 2} {
			if narrow {
				break
			}
			if f := flam(bpm); f > limits.FlamMS+1e-3 {
				t.Fatalf("%g BPM is inside %g to %g and a chord spreads by %g ms of %g", bpm, w.FromBPM, w.ToBPM, f, limits.FlamMS)
			}
			v, err := turn.Verdict(min(bpm/(1-w.Margin()), w.MaxSafeBPM))
			if err != nil || !v.Safe {
				t.Fatalf("%g BPM is inside and with its margin not safe: %v %v", bpm, v.Findings, err)
			}
		}
		if w.Low == SpreadBelow {
			spread++
			if f := flam(w.FromBPM * (1 - outside)); f < limits.FlamMS-1e-3 {
				t.Fatalf("below %g BPM no chord spreads by more than %g ms of %g", w.FromBPM, f, limits.FlamMS)
			}
			if got := w.LowChord.SpreadS * 1000; math.Abs(got-limits.FlamMS) > 1e-3 {
				t.Fatalf("the chord that ends it spreads by %g ms there, not %g", got, limits.FlamMS)
			}
		} else if w.FromBPM != limits.TempoMinBPM {
			t.Fatalf("it begins at %g BPM and nothing says why", w.FromBPM)
		}
		switch {
		case w.High == SpreadAbove:
			if f := flam(w.ToBPM * (1 + outside)); f < limits.FlamMS-1e-3 {
				t.Fatalf("above %g BPM no chord spreads by more than %g ms of %g", w.ToBPM, f, limits.FlamMS)
			}
		case w.MaxSafeBPM < limits.TempoMaxBPM:
			safety++
			above := w.ToBPM / (1 - w.Margin()) * (1 + outside)
			if v, err := turn.Verdict(above); err != nil || v.Safe && !tooNarrow(turn, above) {
				t.Fatalf("with its margin %g BPM is just above the highest safe tempo, and safe", above)
			}
		}
	})
	t.Logf("%d windows were checked, %d skipped; %d were open, %d ended by a chord below, %d by safety above", checked, skipped, open, spread, safety)
	if checked < floor(1000) || skipped > checked {
		t.Errorf("%d windows were checked and %d skipped: too few to tell", checked, skipped)
	}
	if open < floor(50) || spread < floor(10) || safety < floor(10) {
		t.Errorf("%d windows were open, %d ended by a chord, %d by safety: too few to tell", open, spread, safety)
	}
}

// Hailstone's arc and gates, as in the tests of verdicts: the reload of 140 ms
// holds two pins one step apart to 60/(4·0.140) = 107.14 BPM; a tenth and three
// times 2 % less are 0.84 of that, 90 BPM (worked by hand).
func TestWindowKeepsTheMarginAndThreeTimesTheWander(t *testing.T) {
	w := Window{TempoWindow: wheel.TempoWindow{MaxSafeBPM: 60 / (4 * 0.140)}, Own: DefaultMargin, Wander: 0.02}
	if got := w.MaxSafeBPM * (1 - w.Margin()); math.Abs(got-90) > 1e-9 {
		t.Errorf("the window ends at %g BPM, want 90", got)
	}
	if got := (Window{Own: 0.9, Wander: 0.05}).Margin(); got != 1 {
		t.Errorf("a margin of more than all is %g, want 1", got)
	}
}

// A window says what ends it: the sentences name the chord or the rule and its
// place.
func TestWindowSaysWhatEndsIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		works, pinning := anyMachine(t)
		works.Machine.Limits.FlamMS = rapid.Float64Range(0, 300).Draw(t, "flam")
		turn, err := works.Turn(pinning)
		if err != nil {
			t.Fatal(err)
		}
		w := turn.Window(rapid.Float64Range(0, 1).Draw(t, "margin"))
		low, high, closed := w.Slowest, w.Fastest, w.Closed
		for _, s := range []string{low, high} {
			if !strings.HasSuffix(s, ".") || strings.Contains(s, "NaN") || strings.Contains(s, "Inf") {
				t.Fatalf("it says %q", s)
			}
		}
		if (closed == "") != w.Open {
			t.Fatalf("open is %v and it says %q", w.Open, closed)
		}
		if w.Low == SpreadBelow && !strings.Contains(low, "bar ") {
			t.Fatalf("a chord ends it below and its place is not told: %q", low)
		}
	})
}
