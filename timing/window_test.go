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
// margin added again, the verdict is trusted; outside a chord does, or the
// verdict is close, or not safe where the red line is the bare limit. Expected
// faults are asked for at single tempos there.
func TestWindowEndsAreWhereTheWholeCheckTurns(t *testing.T) {
	checked, skipped, open, spread := 0, 0, 0, 0
	ended := map[string]int{}
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
		limits.SpoiltPerTurn = wheel.Known(rapid.SampledFrom([]float64{0.01, 0.3}).Draw(t, "spoilt"))
		limits.JamsPerTurn = limits.SpoiltPerTurn
		if rapid.IntRange(0, 3).Draw(t, "house") == 0 {
			limits.HouseBPM = wheel.Known(rapid.Float64Range(limits.TempoMinBPM, limits.TempoMaxBPM).Draw(t, "house's limit"))
		}
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
			v, err := turn.Verdict(min(bpm/(1-w.Own), w.RedLineBPM))
			if err != nil || v.Trust != Trusted {
				t.Fatalf("%g BPM is inside and with its margin %v: %v %v", bpm, v.Trust, v.Findings, err)
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
		default:
			ended[redLineTurns(t, turn, w)]++
		}
	})
	t.Logf("%d windows were checked, %d skipped; %d were open, %d ended by a chord below, by a red line above: %v", checked, skipped, open, spread, ended)
	if checked < floor(1000) || skipped > checked {
		t.Errorf("%d windows were checked and %d skipped: too few to tell", checked, skipped)
	}
	if open < floor(50) || spread < floor(10) || ended["faults"] < floor(10) || ended["house"] < floor(5) {
		t.Errorf("%d windows were open, %d ended by a chord, by a red line %v: too few to tell", open, spread, ended)
	}
}

// redLineTurns checks a window that ends by its red line: the margin is taken off
// it once, the verdict turns there, and so does what it comes from.
func redLineTurns(t *rapid.T, turn *Turn, w Window) (by string) {
	const outside = 1e-6
	limits := turn.works.Machine.Limits
	red := w.ToBPM / (1 - w.Own)
	if math.Abs(red-w.RedLineBPM) > 1e-9*red || w.TopBPM != w.ToBPM {
		t.Fatalf("the window ends at %g BPM, its top is %g and the red line less %g, %g", w.ToBPM, w.TopBPM, w.Own, w.RedLineBPM*(1-w.Own))
	}
	above := w.RedLineBPM * (1 + outside)
	v, err := turn.Verdict(above)
	if err != nil {
		t.Fatal(err)
	}
	most := Faults{limits.MostSpoilt(), limits.MostJams()}
	below := turn.Faults(w.RedLineBPM * (1 - outside))
	if below.SpoiltPerTurn > most.SpoiltPerTurn || below.JamsPerTurn > most.JamsPerTurn {
		t.Fatalf("below the red line %v are expected", below)
	}
	switch house, set := limits.HouseBPM.Get(); {
	case set && house == w.RedLineBPM:
		by = "house"
	case w.RedLineBPM < w.MaxSafeBPM*(1-2*outside):
		by = "faults"
		if more := turn.Faults(above); more.SpoiltPerTurn <= most.SpoiltPerTurn && more.JamsPerTurn <= most.JamsPerTurn {
			t.Fatalf("above a red line at %g BPM %v are expected, which are put up with", w.RedLineBPM, more)
		}
	case w.MaxSafeBPM < limits.TempoMaxBPM:
		if v.Trust != NotSafe && !tooNarrow(turn, above) {
			t.Fatalf("just above the bare limit the verdict is %v", v.Trust)
		}
		return "bare limit"
	default:
		by = "machine's highest"
	}
	if above < w.MaxSafeBPM && v.Trust != Close {
		t.Fatalf("just above the red line, %s, the verdict is %v", by, v.Trust)
	}
	return by
}

// Worked by hand: reload 140 ± 8 ms and latch spread 3 ms deviate by √82 ms;
// where one spoilt note in 1,000 turns is put up with, z = −3.0902. With the crank
// even that is a step of 167.983 ms, 89.295 BPM. With a wander of 2 % the step p
// solves p − 140 = 3.0902 √(82 + (0.02 p)²): 169.89 ms, 88.29 BPM. The window ends
// a tenth below either: at 80.365 and 79.46 BPM, the wander counted once. A house
// that goes no faster than 70 BPM has its window end at 63.
func TestTheMarginIsTakenOffTheRedLineOnce(t *testing.T) {
	for _, c := range []struct {
		wander, house, red, to float64
		says                   string
	}{
		{0, 0, 89.295, 80.365, "The window ends 10 % below the red line at 89.2 BPM. Above it more faults are expected than the machine's limits allow. Most of them: "},
		{0.02, 0, 88.29, 79.46, "The window ends 10 % below the red line at 88.2 BPM. "},
		{0.02, 70, 70, 63, "The window ends 10 % below the red line at 70 BPM. That is the limit that the house has set: the frame shakes."},
	} {
		r := oneChannel(func(c *rigChannel) { c.reload, c.latch = rigFigure{140, 8, 0}, rigFigure{18, 3, 0} })
		r.wander = c.wander
		turn := r.turn(t)
		if limits := &turn.works.Machine.Limits; c.house > 0 {
			limits.HouseBPM, limits.HouseWhy = wheel.Known(c.house), "the frame shakes"
		}
		w := turn.Window(DefaultMargin)
		if math.Abs(w.RedLineBPM-c.red) > 0.005 || math.Abs(w.ToBPM-c.to) > 0.005 || !w.Open {
			t.Errorf("a wander of %g: the red line is at %g BPM, by hand %g; the window ends at %g, by hand %g", c.wander, w.RedLineBPM, c.red, w.ToBPM, c.to)
		}
		if !strings.HasPrefix(w.Fastest, c.says) {
			t.Errorf("it says %q, want %q", w.Fastest, c.says)
		}
	}
}

// A red line that nothing is taken off for chance is the bare limit, and the
// window says which rule that is.
func TestWindowNamesTheRuleWhereTheRedLineIsTheBareLimit(t *testing.T) {
	turn := oneChannel(func(c *rigChannel) { c.reload = rigFigure{v: 140} }).turn(t)
	w := turn.Window(DefaultMargin)
	if math.Abs(w.RedLineBPM-15/0.140) > 1e-9 || math.Abs(w.ToBPM-0.9*15/0.140) > 1e-9 || !strings.Contains(w.Fastest, "That is the bare limit. What limits it: ") {
		t.Errorf("the red line is at %g BPM, the window ends at %g: %s", w.RedLineBPM, w.ToBPM, w.Fastest)
	}
}

// While a figure is unknown there is no window, and it says what to measure.
func TestNoWindowWhileAFigureIsUnknown(t *testing.T) {
	m := oneChannel(func(c *rigChannel) { c.reload = rigFigure{v: 140} }).file(t)
	m.Channels[0].Gate.ReloadMS, m.Measured = wheel.Maybe{}, nil
	works, err := Compile(m)
	if err != nil {
		t.Fatal(err)
	}
	turn, err := works.Turn(&wheel.Pinning{Format: wheel.PinningFormat, Title: "Two", Pins: []wheel.Pin{{Channel: m.Channels[0].ID, Step: 3}}})
	if err != nil {
		t.Fatal(err)
	}
	w := turn.Window(DefaultMargin)
	if !w.Unknown || w.Open || w.RedLineBPM != 0 || w.TopBPM != 0 || w.MaxSafeBPM != 0 || w.Holds(30) || w.Closed == "" || !strings.HasPrefix(w.Fastest, "Measure first: the ") {
		t.Errorf("%+v", w.TempoWindow)
	}
}

// Where even the lowest tempo has more faults than are put up with none can be
// trusted, though rules allow it.
func TestNoWindowWhereNoTempoCanBeTrusted(t *testing.T) {
	turn := oneChannel(func(c *rigChannel) { c.reload = rigFigure{140, 200, 0} }).turn(t)
	w := turn.Window(DefaultMargin)
	if w.Open || w.Unknown || w.RedLineBPM != 0 || w.TopBPM != 0 || w.MaxSafeBPM == 0 || w.Closed != "There is no window: no tempo can be trusted." ||
		!strings.HasPrefix(w.Fastest, "No tempo can be trusted: even at 30 BPM more faults are expected than the machine's limits allow. Most of them: ") {
		t.Errorf("%+v", w.TempoWindow)
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
			if !strings.HasSuffix(s, ".") || strings.Contains(s, "..") || strings.Contains(s, "NaN") || strings.Contains(s, "Inf") {
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
