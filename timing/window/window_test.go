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
	"pinwright/wheel/say"
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

// exact is Hailstone with nothing that varies or is in doubt, and lanes in which
// marbles pass one another: its red line is its bare limit, unless a test changes
// that.
func exact(t testing.TB, changes ...func(m *wheel.Machine)) *timing.Works {
	t.Helper()
	m := demo.Machine()
	m.Measured = nil
	m.Limits.Wander, m.Limits.Ripple = wheel.Known(0), wheel.Known(0)
	m.Limits.UnmeasuredU, m.Wheel.PinSDMM = wheel.Known(0), wheel.Known(0)
	for i := range m.Lanes {
		m.Lanes[i].File = wheel.OpenFile
	}
	for i := range m.Channels {
		c := &m.Channels[i]
		c.Trip.JitterMS, c.Gate.ReloadSDMS = wheel.Known(0), wheel.Known(0)
	}
	for _, change := range changes {
		change(m)
	}
	works, err := timing.Compile(m)
	if err != nil {
		t.Fatal(err)
	}
	return works
}

func houseLimit(bpm float64) func(m *wheel.Machine) {
	return func(m *wheel.Machine) { m.Limits.HouseBPM = wheel.Known(bpm) }
}

// Where nothing can be held the range goes from two thirds of the tempo up to it,
// or up to the fastest for visitors: a red line at 107 BPM less a tenth is 96.3, two
// thirds of 90 are 60 and of 96.3 are 64.2, which is 65 in whole BPM (worked by
// hand). Where the margin leaves nothing, none is proposed.
func TestProposedRange(t *testing.T) {
	two := pinned(wheel.Pin{Channel: "bar-c5", Step: 36}, wheel.Pin{Channel: "tube-c3", Step: 100})
	for _, c := range []struct {
		red    float64
		margin float64
		held   []arrange.TempoRange
		bpm    float64
		want   arrange.TempoRange
	}{
		{107, 0.1, []arrange.TempoRange{{FromBPM: 50, ToBPM: 60}, {FromBPM: 70, ToBPM: 90}}, 90, arrange.TempoRange{FromBPM: 50, ToBPM: 60}},
		{107, 0.1, nil, 90, arrange.TempoRange{FromBPM: 60, ToBPM: 90}},
		{107, 0.1, nil, 150, arrange.TempoRange{FromBPM: 65, ToBPM: 96.3}},
		{107, 0.1, nil, 20, arrange.TempoRange{FromBPM: 30, ToBPM: 30}},
		{31, 0.1, nil, 90, arrange.TempoRange{}},
	} {
		works := exact(t, houseLimit(c.red))
		turn, err := works.Turn(two)
		if err != nil {
			t.Fatal(err)
		}
		got, ok, err := ProposedRange(works, two, c.held, turn.Window(c.margin), c.bpm)
		if err != nil || ok != (c.want.FromBPM > 0) || ok && got != c.want {
			t.Errorf("below %g BPM, at %g, held %v: %v %v %v, want %v", c.red, c.bpm, c.held, got, ok, err, c.want)
		}
	}
}

// Every range that is offered can be turned by visitors when the pinning is set for
// it: at its top the verdict is trusted with the margin added again, though bare
// limits reach further. One that is asked for and goes above the red line is said
// not to be trusted.
func TestNoRangeIsOfferedThatIsNotToBeTrusted(t *testing.T) {
	works := hailstone(t)
	p := pinned(
		wheel.Pin{Channel: "bar-c5", Step: 14, Aim: wheel.AimAt(14)}, wheel.Pin{Channel: "bar-c5", Step: 15, Aim: wheel.AimAt(15)},
		wheel.Pin{Channel: "tube-c3", Step: 14, Aim: wheel.AimAt(14)})
	bare := 60 / (4 * 0.140) // the reload of 140 ms (worked by hand)
	all := arrange.HeldTempos(works, p)
	if last := all[len(all)-1]; last.ToBPM < bare {
		t.Fatalf("nothing beyond the bare limit can be held: %v", all)
	}
	held, err := Held(works, p, timing.DefaultMargin)
	if err != nil || len(held) == 0 {
		t.Fatal(held, err)
	}
	for _, h := range held {
		slow, err := SetForSlow(works, p, h, timing.DefaultMargin)
		if err != nil {
			t.Fatal(err)
		}
		turn, err := works.Turn(slow.Pinning)
		if err != nil {
			t.Fatal(err)
		}
		if top := h.ToBPM / (1 - timing.DefaultMargin) * (1 - 1e-9); turn.Trust(top) != timing.Trusted || slow.Distrust != "" || !slow.Window.Holds(h.ToBPM) {
			t.Errorf("%v: at %g BPM it is %v, the window is %+v, %q", h, top, turn.Trust(top), slow.Window.TempoWindow, slow.Distrust)
		}
	}
	slow, err := SetForSlow(works, p, arrange.TempoRange{FromBPM: 60, ToBPM: bare - 0.1}, timing.DefaultMargin)
	if err != nil || !strings.HasPrefix(slow.Distrust, "The range goes up to 107.1 BPM, but set for it the pinning has its red line at ") {
		t.Errorf("up to the bare limit: %q, %v", slow.Distrust, err)
	}
}

// While a figure is unknown nothing is offered, and what has to be measured is said.
func TestNothingIsSetForSlowWhileAFigureIsUnknown(t *testing.T) {
	works := exact(t, func(m *wheel.Machine) { m.Channels[m.Channel("bar-c5")].Gate = wheel.Gate{} })
	p := pinned(wheel.Pin{Channel: "bar-c5", Step: 36}, wheel.Pin{Channel: "tube-c3", Step: 100})
	if held, err := Held(works, p, 0.1); held != nil || err != nil {
		t.Errorf("%v is held, %v", held, err)
	}
	if _, err := SetForSlow(works, p, arrange.TempoRange{FromBPM: 50, ToBPM: 60}, 0.1); err == nil || !strings.HasPrefix(err.Error(), "Measure first: the ") {
		t.Errorf("it says %v", err)
	}
	turn, err := works.Turn(p)
	if err != nil {
		t.Fatal(err)
	}
	if _, ok, err := ProposedRange(works, p, nil, turn.Window(0.1), 80); ok || err != nil {
		t.Errorf("a range is proposed, %v", err)
	}
	if says := Remedy(works, turn, 0.1, "Sunday"); len(says) != 1 || !strings.HasPrefix(says[0], "Measure what is unknown") {
		t.Errorf("the remedy is %q", says)
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

// The house's window is the one that mechanics works out, with its margin taken off
// the red line once, whatever the wander.
func TestHouseKeepsItsMargin(t *testing.T) {
	works := hailstone(t)
	p := pinned(wheel.Pin{Channel: "bar-c5", Step: 36}, wheel.Pin{Channel: "bar-c5", Step: 37})
	turn, err := works.Turn(p)
	if err != nil {
		t.Fatal(err)
	}
	red, ok := turn.RedLine()
	// The reload of 140 ms holds it to 60/(4·0.140) BPM if exact (worked by hand).
	if bare := 60 / (4 * 0.140); !ok || red >= bare-1 || works.Machine.Limits.Wander.Or(0) == 0 {
		t.Fatalf("the red line is at %g BPM", red)
	}
	for _, margin := range []float64{0, 0.1, 0.25} {
		w, err := House{works, margin}.Window(p)
		if err != nil {
			t.Fatal(err)
		}
		if want := red * (1 - margin); !w.Open || w.RedLineBPM != red || math.Abs(w.ToBPM-want) > 1e-9 || math.Abs(w.TopBPM-want) > 1e-9 {
			t.Errorf("a margin of %g: %+v, want an end at %g", margin, w, want)
		}
		if w.Slowest == "" || !strings.Contains(w.Fastest, "the red line at "+say.TempoDown(red)+" BPM") || !strings.Contains(w.Fastest, "Bar C5") || w.Closed != "" {
			t.Errorf("a margin of %g: %q, %q, %q", margin, w.Slowest, w.Fastest, w.Closed)
		}
	}
}

// Set for slow, chords hold together where they did not, and what is told of the
// spread at the slower end is what the mechanics says of either pinning.
func TestSetForSlowTellsBothPinnings(t *testing.T) {
	works := hailstone(t)
	p := pinned(wheel.Pin{Channel: "bar-c5", Step: 14, Aim: wheel.AimAt(14)}, wheel.Pin{Channel: "tube-c3", Step: 14, Aim: wheel.AimAt(14)})
	held, err := Held(works, p, timing.DefaultMargin)
	if err != nil || len(held) == 0 {
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
	if held, err := Held(works, pinned(), 0.1); held != nil || err != nil {
		t.Errorf("without pins %v is held, %v", held, err)
	}
}

// Held to 107.14 BPM a song is given that less a tenth, which is 96.42 BPM, or less
// (worked by hand). Two pins of one step are more than a machine may trip that trips
// one at once, at any tempo.
func TestRemedyNamesATempoOrWhatStopsTheSong(t *testing.T) {
	pins := []wheel.Pin{{Channel: "bar-c5", Step: 36}, {Channel: "bar-c5", Step: 37}, {Channel: "bar-e5", Step: 36}}
	for most, want := range map[int][]string{
		0: {"Give it 96.4 BPM or less in the programme Sunday, and keep the programme."},
		1: {"Not even 30 BPM is safe: ", "Mend what stops it, or put another song in its place in the programme Sunday."},
	} {
		works := exact(t, func(m *wheel.Machine) { m.Limits.TripsAtOnce = most })
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

// Two pins of one bar a step apart could be played at 107.14 BPM if every figure
// were exact. The house keeps off a tenth of the red line, which is lower.
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
	fmt.Printf("%.0f to %.1f BPM, below a red line at %.1f and a bare limit at %.1f\n", w.FromBPM, w.ToBPM, w.RedLineBPM, w.MaxSafeBPM)
	// Output:
	// 30 to 77.6 BPM, below a red line at 86.2 and a bare limit at 107.1
}
