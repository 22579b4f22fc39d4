package programme_test

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/arrange"
	"pinwright/wheel/file/filetest"
	"pinwright/wheel/programme"
)

// twoBars is a machine of 64 steps, 1 mm each, with two channels, the second
// behind a latch of so many milliseconds.
func twoBars(latchMS float64) *wheel.Machine {
	bar := func(id string, row int, latchMS float64) wheel.Channel {
		return wheel.Channel{ID: id, Name: "Bar " + id, Row: row, Kind: "bar", Service: wheel.Playing, Trip: wheel.Trip{LatchMS: wheel.Known(latchMS)}}
	}
	return filetest.Complete(&wheel.Machine{
		Format: wheel.MachineFormat, Name: "Two Bars", Marble: wheel.Marble{DiameterMM: 12, ClearanceMM: 2},
		Wheel:    wheel.Wheel{RadiusMM: 64 / (2 * math.Pi), Steps: 64, StepsPerBeat: 4, BeatsPerBar: 4},
		Channels: []wheel.Channel{bar("a", 0, 0), bar("b", 1, latchMS)},
		Limits:   wheel.Limits{TempoMinBPM: 30, TempoMaxBPM: 180, FlamMS: 20},
	})
}

// TestUsedArcIsTheShortestThatHasEveryPin holds it against every arc there is.
func TestUsedArcIsTheShortestThatHasEveryPin(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 24).Draw(t, "steps")
		p := &wheel.Pinning{}
		for _, s := range rapid.SliceOfN(rapid.IntRange(0, n-1), 1, 6).Draw(t, "pins") {
			p.Pins = append(p.Pins, wheel.Pin{Channel: "a", Step: s})
		}
		holds := func(a programme.Arc) bool {
			return !slices.ContainsFunc(p.Pins, func(pin wheel.Pin) bool { return (pin.Step-a.From+n)%n >= a.Steps })
		}
		got := programme.UsedArc(n, p)
		if !holds(got) {
			t.Fatalf("%v leaves pins out", got)
		}
		for from := range n {
			for steps := 1; steps < got.Steps; steps++ {
				if holds(programme.Arc{from, steps}) {
					t.Fatalf("%v has every pin and is shorter than %v", programme.Arc{from, steps}, got)
				}
			}
		}
	})
	if got := programme.UsedArc(24, &wheel.Pinning{}); got != (programme.Arc{}) {
		t.Errorf("without pins %v is used", got)
	}
}

func stretchOf(title string, steps ...int) *wheel.Pinning {
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: title, TempoBPM: 80}
	for _, s := range steps {
		p.Pins = append(p.Pins, wheel.Pin{Channel: "a", Step: s})
	}
	return p
}

// 20, 30 and 16 steps of 64: the first two and the last two fit, all three do
// not, 66; of two the shortest are the first and the last (worked by hand).
func TestShareByHand(t *testing.T) {
	s := programme.Share(64, []*wheel.Pinning{stretchOf("A", 0, 19), stretchOf("B", 50, 63, 15), stretchOf("C", 8, 23)})
	if !slices.Equal(s.Used, []int{20, 30, 16}) || !slices.Equal(s.Pairs, [][2]int{{0, 1}, {0, 2}, {1, 2}}) || !slices.Equal(s.Most, []int{0, 2}) {
		t.Errorf("%+v", s)
	}
}

// Joined, each stretch sounds as it did: the distances from pin to pin and from
// pin to aim stay, and stretches keep out of one another.
func TestJoinedStretchesStayAsTheyAre(t *testing.T) {
	m := twoBars(0)
	first, second := stretchOf("A", 60, 2, 10), stretchOf("B", 5, 20)
	second.Advance = map[string]int{"a": 2}
	p, err := programme.Join(m, "Both", []*wheel.Pinning{first, second})
	if err != nil {
		t.Fatal(err)
	}
	if err := p.CheckOn(m).Err(); err != nil {
		t.Fatal(err)
	}
	// A's first pin stands 12 steps into its bar and goes there in bar 1: 12, 18,
	// 26. Bar 3 is the next free: B's stand 5 and 20 from its line, 37 and 52, and
	// their aims two later.
	want := []wheel.Pin{
		{Channel: "a", Step: 12, Aim: wheel.AimAt(12)}, {Channel: "a", Step: 18, Aim: wheel.AimAt(18)}, {Channel: "a", Step: 26, Aim: wheel.AimAt(26)},
		{Channel: "a", Step: 37, Aim: wheel.AimAt(39)}, {Channel: "a", Step: 52, Aim: wheel.AimAt(54)},
	}
	if !slices.Equal(p.Pins, want) {
		t.Errorf("pins %v, want %v", p.Pins, want)
	}
	if _, err := programme.Join(m, "Too long", []*wheel.Pinning{stretchOf("A", 0, 20, 40), stretchOf("B", 0, 30)}); err == nil ||
		!strings.Contains(err.Error(), "they take 72 steps of the turn; the wheel has 64") {
		t.Errorf("72 steps on a wheel of 64: %v", err)
	}
	// 41 and 23 steps fill 64 to the last; on bar lines they would not fit.
	if p, err := programme.Join(m, "Full", []*wheel.Pinning{stretchOf("A", 0, 20, 40), stretchOf("B", 0, 22)}); err != nil || p.Pins[3].Step != 41 || p.Pins[4].Step != 63 {
		t.Errorf("64 steps on a wheel of 64: %+v, %v", p, err)
	}
}

// A joined pinning tells the advances of its stretches by their aims. Its strikes
// are spread over a range of tempos as those of the stretches are, all that they
// share being the error of a channel without advance, a's.
func TestJoinedStretchesAreSpreadAsTheyWere(t *testing.T) {
	m := twoBars(500)
	w, err := timing.Compile(m)
	if err != nil {
		t.Fatal(err)
	}
	var stretches []*wheel.Pinning
	worst := 0.0
	for _, advance := range []int{3, 5} {
		p := stretchOf("One", 0, 16)
		p.Advance = map[string]int{"b": advance}
		p.Pins = append(p.Pins, wheel.Pin{Channel: "b", Step: 8 - advance})
		stretches = append(stretches, p)
		r, err := arrange.Readvance(w, p, 60, 80)
		if err != nil {
			t.Fatal(err)
		}
		// At 60 BPM a step takes 1/4 s: 0.5 − 3/4 and 0.5 − 5/4 s, more than at 80
		// (worked by hand).
		if want := float64(advance)/4 - 0.5; math.Abs(r.WasS-want) > 1e-9 {
			t.Errorf("advance %d: spread by %g s as it is, want %g", advance, r.WasS, want)
		}
		worst = max(worst, r.WasS)
	}
	joined, err := programme.Join(m, "Both", stretches)
	if err != nil {
		t.Fatal(err)
	}
	r, err := arrange.Readvance(w, joined, 60, 80)
	if err != nil || math.Abs(r.WasS-worst) > 1e-9 {
		t.Errorf("joined they are spread by %g s as they are, want %g; %v", r.WasS, worst, err)
	}
}
