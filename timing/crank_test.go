package timing

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pinwright/wheel"
)

var eightTurns = wheel.Wheel{RadiusMM: 600, Steps: 256, StepsPerBeat: 4, BeatsPerBar: 4, CrankTurns: 8}

// 256 steps at 4 to the beat are 64 beats a turn, 8 to a turn of the crank; at 60
// BPM the wheel takes 64 s, the crank 8 s and goes round 7.5 times a minute
// (worked by hand).
func TestCrankTurnsAsTheFileGearsIt(t *testing.T) {
	c := CrankAt(eightTurns, 60)
	if c.TurnS != 64 || c.Beats != 8 || c.Turns != 7.5 || c.EveryS != 8 {
		t.Errorf("at 60 BPM: %+v", c)
	}
	ungeared := eightTurns
	ungeared.CrankTurns = 0
	if c := CrankAt(ungeared, 60); c.TurnS != 64 || c.Turns != 0 || c.EveryS != 0 || c.Beats != 0 {
		t.Errorf("without crank_turns: %+v", c)
	}
}

func passingsEvery(n int, beats, seconds float64) (p []Passing) {
	for i := range n {
		p = append(p, Passing{float64(i) * beats, 100 + float64(i)*seconds})
	}
	return p
}

func TestCrankMeasuresAnEvenHand(t *testing.T) {
	m, err := MeasureCrank(passingsEvery(20, 8, 6)) // 8 beats in 6 s are 80 BPM
	if err != nil || math.Abs(m.BPM-80) > 1e-9 || math.Abs(m.LastBPM-80) > 1e-9 || !m.WanderOK || m.Wander > 1e-9 {
		t.Errorf("%+v, %v", m, err)
	}
	if m, err := MeasureCrank(passingsEvery(MinIntervals, 8, 6)); err != nil || m.WanderOK {
		t.Errorf("from %d spans a wander is told: %+v, %v", m.Spans, m, err)
	}
	for _, p := range [][]Passing{nil, passingsEvery(1, 8, 6), passingsEvery(4, 0, 6), passingsEvery(4, 8, 0), passingsEvery(4, 8, -1), passingsEvery(4, math.NaN(), 1)} {
		if _, err := MeasureCrank(p); err == nil {
			t.Errorf("%v is measured", p)
		}
	}
}

// For two beats the mean of x₁ and x₂ has the variance σ²(1 + ρ)/2 = 0.95 σ²; for
// one σ² (worked by hand).
func TestCrankMeanVarianceOfOneAndTwoBeats(t *testing.T) {
	for k, want := range map[float64]float64{0.25: 1, 1: 1, 2: 0.95} {
		if got := meanVariance(k); math.Abs(got-want) > 1e-12 {
			t.Errorf("%g beats: %g, want %g", k, got, want)
		}
	}
}

// A hand is simulated beat by beat, as DESIGN.md's chance has it: x a first-order
// autoregression, standard deviation 0.03, correlation 0.9. What is measured of it,
// a beat or a turn of the crank at a time, is its wander again.
func TestCrankMeasuresTheWanderOfASimulatedHand(t *testing.T) {
	const sd, beats, bpm = 0.03, 400_000, 60.0
	for _, every := range []int{1, 4, 8, 16} {
		r := rand.New(rand.NewPCG(7, uint64(every)))
		x, at := sd*r.NormFloat64(), 0.0
		passings := []Passing{{0, 0}}
		for beat := 1; beat <= beats; beat++ {
			at += 60 / (bpm * (1 + x))
			x = 0.9*x + sd*math.Sqrt(1-0.81)*r.NormFloat64()
			if beat%every == 0 {
				passings = append(passings, Passing{float64(beat), at})
			}
		}
		m, err := MeasureCrank(passings)
		if err != nil || math.Abs(m.Wander-sd) > 0.03*sd || math.Abs(m.BPM-bpm) > 0.5 {
			t.Errorf("looked at every %d beats: %+v, %v; want a wander of %g", every, m, err, sd)
		}
	}
}

func TestCrankWatchRefusesNonsenseAndKeepsWhatItKnew(t *testing.T) {
	var c CrankWatch
	for i := range 12 {
		if err := c.Turned(eightTurns, float64(i), float64(i)*6); err != nil {
			t.Fatal(err)
		}
	}
	before, ok := c.Measured()
	if !ok || math.Abs(before.BPM-80) > 1e-9 || !before.WanderOK {
		t.Fatalf("measured %+v, %v", before, ok)
	}
	for _, bad := range []struct {
		turn, at float64
		says     string
	}{
		{math.NaN(), 70, "turn is NaN"}, {-1, 70, "turn is −1"}, {math.Inf(1), 70, "turn is"}, {2e9, 70, "turn is"},
		{12, math.NaN(), "at_s is NaN"}, {12, math.Inf(-1), "at_s is"},
		{12, 66, "no wheel turns faster than 1000"},     // two turns at one time
		{500, 67, "no wheel turns faster than 1000"},    // 489 turns in a second
		{12, 66.1, "4800 beats a minute, and no wheel"}, // 8 beats in 0.1 s
	} {
		if err := c.Turned(eightTurns, bad.turn, bad.at); err == nil || !strings.Contains(err.Error(), bad.says) {
			t.Errorf("turn %g at %g s: %v, want %q", bad.turn, bad.at, err, bad.says)
		}
		if after, _ := c.Measured(); after != before {
			t.Errorf("turn %g at %g s changed what was measured", bad.turn, bad.at)
		}
	}
	if err := c.Turned(eightTurns, 12, 72); err != nil {
		t.Errorf("after nonsense the next turn is refused: %v", err)
	}
	if after, _ := c.Measured(); math.Abs(after.BPM-80) > 1e-9 {
		t.Errorf("after nonsense it measures %g BPM, want 80", after.BPM)
	}
	ungeared := eightTurns
	ungeared.CrankTurns = 0
	if err := c.Turned(ungeared, 13, 78); err == nil || !strings.Contains(err.Error(), "crank_turns") {
		t.Errorf("without crank_turns: %v", err)
	}
}

func TestCrankWatchBeginsAnewAfterARestOrARestart(t *testing.T) {
	for name, next := range map[string]Passing{
		"a rest":         {12, 66 + 13},
		"a restart":      {0, 67},
		"another clock":  {12, 0.5},
		"a long silence": {12, 1e6},
	} {
		var c CrankWatch
		for i := range 12 {
			if err := c.Turned(eightTurns, float64(i), float64(i)*6); err != nil {
				t.Fatal(err)
			}
		}
		if err := c.Turned(eightTurns, next.Beats, next.AtS); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if m, ok := c.Measured(); !ok || math.Abs(m.BPM-80) > 1e-9 {
			t.Errorf("%s: the last good figure is gone: %+v", name, m)
		}
		if err := c.Turned(eightTurns, next.Beats+1, next.AtS+8); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if m, _ := c.Measured(); math.Abs(m.BPM-60) > 1e-9 || m.Spans != 1 {
			t.Errorf("%s: then %+v, want 60 BPM from one span", name, m)
		}
	}
}

func TestCrankWatchTakesNoMoreMemoryForLonger(t *testing.T) {
	var c CrankWatch
	for i := range 5000 {
		if err := c.Turned(eightTurns, float64(i), float64(i)*6); err != nil {
			t.Fatal(err)
		}
	}
	if len(c.passings) > maxPassings {
		t.Errorf("%d passings are kept", len(c.passings))
	}
}
