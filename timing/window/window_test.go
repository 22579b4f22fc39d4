package window

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/arrange"
	"pinwright/wheel/demo"
)

func hailstone(t testing.TB) *timing.Works {
	t.Helper()
	works, err := timing.Compile(demo.Machine())
	if err != nil {
		t.Fatal(err)
	}
	return works
}

func pinned(pins ...wheel.Pin) *wheel.Pinning {
	return &wheel.Pinning{Format: wheel.PinningFormat, Title: "Two", Machine: "Hailstone", TempoBPM: 80, Pins: pins}
}

// The tempo proposed lies in the window as far as the window and the range meet,
// and is a tenth where one lies there.
func TestProposedTempoLiesInTheWindow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		from := rapid.Float64Range(10, 999).Draw(t, "from")
		to := from + rapid.Float64Range(0, 1).Draw(t, "wide")*rapid.SampledFrom([]float64{1e-7, 1e-3, 0.1, 100}).Draw(t, "scale")
		w := wheel.TempoWindow{Open: true, FromBPM: from, ToBPM: to}
		bpm := proposedTempo(arrange.TempoRange{FromBPM: from - 9, ToBPM: to + rapid.Float64Range(0, 500).Draw(t, "beyond")}, w)
		if bpm < from-1e-9 || bpm > to+1e-9 {
			t.Fatalf("%v to %v BPM: %v is proposed", from, to, bpm)
		}
		if tenth := math.Round(bpm*10) / 10; to-from > 0.2 && math.Abs(bpm-tenth) > 1e-9 {
			t.Fatalf("%v to %v BPM: %v is proposed, which is no tenth", from, to, bpm)
		}
	})
	// Without a window it is the middle of the range.
	if bpm := proposedTempo(arrange.TempoRange{FromBPM: 60, ToBPM: 81}, wheel.TempoWindow{}); bpm != 70.5 {
		t.Errorf("%v is proposed, want 70.5", bpm)
	}
}

// Where nothing can be held the range goes from two thirds of the tempo up to it,
// or up to the fastest for visitors: 107 BPM less a tenth are 96.3, two thirds of
// 90 are 60 and of 96.3 are 64.2, which is 65 in whole BPM (worked by hand).
func TestProposedRange(t *testing.T) {
	limits := wheel.Limits{TempoMinBPM: 30, TempoMaxBPM: 180}
	win := timing.Window{TempoWindow: wheel.TempoWindow{MaxSafeBPM: 107, TopBPM: 96.3}, Own: 0.1}
	for _, c := range []struct {
		held []arrange.TempoRange
		bpm  float64
		want arrange.TempoRange
	}{
		{[]arrange.TempoRange{{FromBPM: 50, ToBPM: 60}, {FromBPM: 70, ToBPM: 90}}, 90, arrange.TempoRange{FromBPM: 50, ToBPM: 60}},
		{nil, 90, arrange.TempoRange{FromBPM: 60, ToBPM: 90}},
		{nil, 150, arrange.TempoRange{FromBPM: 65, ToBPM: 96.3}},
		{nil, 20, arrange.TempoRange{FromBPM: 30, ToBPM: 30}},
	} {
		if got := ProposedRange(limits, c.held, win, c.bpm); got != c.want {
			t.Errorf("at %g BPM, held %v: %v, want %v", c.bpm, c.held, got, c.want)
		}
	}
}

// Of two pins a step apart the gate, which needs 140 ms, serves the second at
// 100 BPM, 150 ms a step, and not at 120, 125 ms (worked by hand).
func TestHouseCountsTheDropsThatFail(t *testing.T) {
	h := House{hailstone(t), 0.1}
	p := pinned(wheel.Pin{Channel: "bar-c5", Step: 36}, wheel.Pin{Channel: "bar-c5", Step: 37}, wheel.Pin{Channel: "bar-e5", Step: 100})
	for bpm, want := range map[float64]int{100: 0, 120: 1} {
		missed, err := h.Missed(p, bpm)
		if err != nil {
			t.Fatal(err)
		}
		for i, n := range missed {
			if id := h.Machine.Channels[i].ID; id == "bar-c5" && n != want || id != "bar-c5" && n != 0 {
				t.Errorf("at %g BPM %d drops of %s fail", bpm, n, id)
			}
		}
	}
	lost := pinned(wheel.Pin{Channel: "nowhere", Step: 1})
	if _, err := h.Missed(lost, 100); err == nil {
		t.Error("a pin on a channel that is not there is counted")
	}
	if _, err := h.Window(lost); err == nil {
		t.Error("a pin on a channel that is not there has a window")
	}
}

// The house's window is the one that mechanics works out, with its margin.
func TestHouseKeepsItsMargin(t *testing.T) {
	works := hailstone(t)
	p := pinned(wheel.Pin{Channel: "bar-c5", Step: 36}, wheel.Pin{Channel: "bar-c5", Step: 37})
	// The reload of 140 ms holds it to 60/(4·0.140) BPM (worked by hand).
	top := 60 / (4 * 0.140)
	wander := works.Machine.Limits.Wander.Or(0)
	for _, margin := range []float64{0, 0.1, 0.25} {
		w, err := House{works, margin}.Window(p)
		if err != nil {
			t.Fatal(err)
		}
		if want := top * (1 - margin - 3*wander); !w.Open || math.Abs(w.MaxSafeBPM-top) > 1e-9 || math.Abs(w.ToBPM-want) > 1e-9 || math.Abs(w.TopBPM-want) > 1e-9 {
			t.Errorf("a margin of %g: %+v, want an end at %g", margin, w, want)
		}
		if w.Slowest == "" || !strings.Contains(w.Fastest, "107.1 BPM") || w.Closed != "" {
			t.Errorf("a margin of %g: %q, %q, %q", margin, w.Slowest, w.Fastest, w.Closed)
		}
	}
}

// Set for slow, chords hold together where they did not, and what is told of the
// spread at the slower end is what the mechanics says of either pinning.
func TestSetForSlowTellsBothPinnings(t *testing.T) {
	works := hailstone(t)
	p := pinned(wheel.Pin{Channel: "bar-c5", Step: 14, Aim: wheel.AimAt(14)}, wheel.Pin{Channel: "tube-c3", Step: 14, Aim: wheel.AimAt(14)})
	held := Held(works, p)
	if len(held) == 0 {
		t.Fatal("two channels can be held together at no tempo")
	}
	slow, err := SetForSlow(works, p, held[0], timing.DefaultMargin)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		p *wheel.Pinning
		s float64
	}{{p, slow.WasChordS}, {slow.Pinning, slow.ChordS}} {
		turn, err := works.Turn(c.p)
		if err != nil {
			t.Fatal(err)
		}
		if want := turn.Flam(held[0].FromBPM); c.s != want {
			t.Errorf("the widest chord is spread by %g s, want %g", c.s, want)
		}
	}
	if flam := works.Machine.Limits.FlamMS / 1000; slow.ChordS > flam || slow.WasChordS <= flam {
		t.Errorf("at the slower end it is spread by %g s and was by %g", slow.ChordS, slow.WasChordS)
	}
	if slow.Moved == 0 || slow.TempoBPM < held[0].FromBPM || slow.TempoBPM > held[0].ToBPM {
		t.Errorf("%d pins move, and %g BPM are proposed in %v", slow.Moved, slow.TempoBPM, held[0])
	}
	if _, err := SetForSlow(works, p, arrange.TempoRange{FromBPM: 80, ToBPM: 60}, 0.1); err == nil {
		t.Error("a range that goes down is taken")
	}
	if held := Held(works, pinned()); held != nil {
		t.Errorf("without pins %v is held", held)
	}
}

// Held to 107.14 BPM a song is given that less a tenth and three times the wander of
// 2 %, which is 90 BPM, or less (worked by hand). Two pins of one step are more than
// a machine may trip that trips one at once, at any tempo.
func TestRemedyNamesATempoOrWhatStopsTheSong(t *testing.T) {
	m := demo.Machine()
	pins := []wheel.Pin{{Channel: "bar-c5", Step: 36}, {Channel: "bar-c5", Step: 37}, {Channel: "bar-e5", Step: 36}}
	for most, want := range map[int][]string{
		0: {"Give it 90 BPM or less in the programme Sunday, and keep the programme."},
		1: {"Not even 30 BPM is safe: ", "Mend what stops it, or put another song in its place in the programme Sunday."},
	} {
		m.Limits.TripsAtOnce = most
		works, err := timing.Compile(m)
		if err != nil {
			t.Fatal(err)
		}
		turn, err := works.Turn(pinned(pins...))
		if err != nil {
			t.Fatal(err)
		}
		says := Remedy(works, turn, timing.DefaultMargin, "Sunday")
		if len(says) != len(want) {
			t.Errorf("trips at once %d: %q", most, says)
			continue
		}
		for i := range want {
			if !strings.HasPrefix(says[i], want[i]) {
				t.Errorf("trips at once %d: %q, want %q", most, says[i], want[i])
			}
		}
	}
}

// At 60 BPM eight turns of the crank to a turn of 64 beats are 7.5 a minute.
func TestWindowInTurnsOfTheCrank(t *testing.T) {
	w := demo.Machine().Wheel
	win := wheel.TempoWindow{FromBPM: 60, ToBPM: 80, Open: true}
	if got, want := CrankText(w, win), "7.5 to 10 turns of the crank a minute, one turn every 6 to 8 s"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	w.CrankTurns = 0
	if got := CrankText(w, win); got != "" {
		t.Errorf("a crank that is not geared: %q", got)
	}
	win.Open = false
	if got := CrankText(demo.Machine().Wheel, win); got != "" {
		t.Errorf("a window that is not open: %q", got)
	}
}

// Two pins of one bar a step apart hold the wheel to 107.14 BPM. The house keeps
// off a tenth, and three times the crank's wander of 2 % besides.
func ExampleHouse() {
	works, err := timing.Compile(demo.Machine())
	if err != nil {
		panic(err)
	}
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Two", Pins: []wheel.Pin{{Channel: "bar-c5", Step: 36}, {Channel: "bar-c5", Step: 37}}}
	w, err := House{works, 0.1}.Window(p)
	if err != nil {
		panic(err)
	}
	fmt.Printf("%.0f to %.2f BPM\n", w.FromBPM, w.ToBPM)
	// Output:
	// 30 to 90.00 BPM
}
