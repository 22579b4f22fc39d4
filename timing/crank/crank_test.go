package crank

import (
	"bytes"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"pinwright/wheel"
)

var eightTurns = wheel.Wheel{RadiusMM: 600, Steps: 256, StepsPerBeat: 4, BeatsPerBar: 4, CrankTurns: 8}

func passingsEvery(n int, beats, seconds float64) (p []Passing) {
	for i := range n {
		p = append(p, Passing{float64(i) * beats, 100 + float64(i)*seconds})
	}
	return p
}

func TestCrankMeasuresAnEvenHand(t *testing.T) {
	m, err := Measure(passingsEvery(20, 8, 6), 8) // 8 beats in 6 s are 80 BPM
	if err != nil || math.Abs(m.BPM-80) > 1e-9 || math.Abs(m.LastBPM-80) > 1e-9 || !m.WanderOK || m.Wander > 1e-9 {
		t.Errorf("%+v, %v", m, err)
	}
	// 96 beats are 12 spans of 8, and 97 passings of a beat; five spans of 40 beats
	// are beats enough and too few spans.
	for _, c := range []struct {
		passings int
		beats    float64
		told     bool
	}{{12, 8, false}, {13, 8, true}, {96, 1, false}, {97, 1, true}, {6, 40, false}, {7, 40, true}, {14, 7, false}, {15, 7, true}} {
		if m, err := Measure(passingsEvery(c.passings, c.beats, c.beats*0.75), 0); err != nil || m.WanderOK != c.told {
			t.Errorf("%d passings %g beats apart: %+v, %v; want a wander: %v", c.passings, c.beats, m, err, c.told)
		}
	}
	for _, p := range [][]Passing{nil, passingsEvery(1, 8, 6), passingsEvery(4, 0, 6), passingsEvery(4, 8, 0), passingsEvery(4, 8, -1), passingsEvery(4, math.NaN(), 1)} {
		if _, err := Measure(p, 0); err == nil {
			t.Errorf("%v is measured", p)
		}
	}
}

// For two beats the mean of x₁ and x₂ has the variance σ²(1 + ρ)/2 = 0.95 σ²; for
// one σ² (worked by hand).
func TestCrankMeanVarianceOfOneAndTwoBeats(t *testing.T) {
	for k, want := range map[float64]float64{1: 1, 2: 0.95} {
		if got := meanVariance(k); math.Abs(got-want) > 1e-12 {
			t.Errorf("%g beats: %g, want %g", k, got, want)
		}
	}
}

// simulatedHand turns so many beats at a tempo, beat by beat as DESIGN.md's chance
// has it: x a first-order autoregression of standard deviation sd and correlation
// 0.9.
func simulatedHand(r *rand.Rand, beats int, bpm, sd float64) []Passing {
	x, at := sd*r.NormFloat64(), 0.0
	passings := []Passing{{0, 0}}
	for beat := 1; beat <= beats; beat++ {
		at += 60 / (bpm * (1 + x))
		x = 0.9*x + sd*math.Sqrt(1-0.81)*r.NormFloat64()
		passings = append(passings, Passing{float64(beat), at})
	}
	return passings
}

func everyNth(all []Passing, n int) (some []Passing) {
	for i := 0; i < len(all); i += n {
		some = append(some, all[i])
	}
	return some
}

// What is measured of a simulated hand, a beat or a turn of the crank at a time, is
// its wander again.
func TestCrankMeasuresTheWanderOfASimulatedHand(t *testing.T) {
	const sd, beats, bpm = 0.03, 400_000, 60.0
	for _, every := range []int{1, 4, 8, 16} {
		m, err := Measure(everyNth(simulatedHand(rand.New(rand.NewPCG(7, uint64(every))), beats, bpm, sd), every), 0)
		if err != nil || math.Abs(m.Wander-sd) > 0.03*sd || math.Abs(m.BPM-bpm) > 0.5 {
			t.Errorf("looked at every %d beats: %+v, %v; want a wander of %g", every, m, err, sd)
		}
	}
}

// The mean tempo follows the wander, so that a short stretch shows less of it about
// its own mean: that must not make the wander told smaller. Over many short
// stretches of a simulated hand the variance told is the hand's, and the figures
// spread as the standard error says. With 3000 stretches the mean of the variance
// is good to half of it (two standard errors of a quarter) over √3000, 0.9 %.
func TestCrankWanderOfAShortStretchIsNotTooSmall(t *testing.T) {
	const sd, stretches = 0.02, 3000
	r := rand.New(rand.NewPCG(20, 26))
	for _, beats := range []int{MinWanderBeats, 200} {
		for _, every := range []int{1, 8} {
			squares, told, errors := 0.0, make([]float64, stretches), 0.0
			for i := range told {
				m, err := Measure(everyNth(simulatedHand(r, beats, 80, sd), every), 0)
				if err != nil || !m.WanderOK {
					t.Fatal(m, err)
				}
				told[i] = m.Wander
				squares += m.Wander * m.Wander / stretches
				errors += m.WanderSE / stretches
			}
			if got := math.Sqrt(squares); math.Abs(got-sd) > 0.02*sd {
				t.Errorf("%d beats, looked at every %d: root mean square %.5f, want %g", beats, every, got, sd)
			}
			if spread := stat.StdDev(told, nil); math.Abs(errors-spread) > 0.1*spread {
				t.Errorf("%d beats, looked at every %d: the standard error is told as %.5f, the figures spread by %.5f", beats, every, errors, spread)
			}
		}
	}
}

// The divisor and the standard error against their definition: the covariance
// matrix of single beats written down, ρ to the power of their distance; means of
// spans and deviations from the mean of all as a matrix D on top of it; then for
// normal beats E yᵀy = tr DRDᵀ and Var yᵀy = 2 tr (DRDᵀ)² (moments of a quadratic
// form; textbook formulas, from memory).
func TestCrankWanderDividesByWhatTheModelExpects(t *testing.T) {
	for _, beats := range [][]int{{4, 4, 4, 4, 4, 4, 4, 4}, {8, 8, 8, 8, 8, 8, 8, 8, 8, 8, 8, 8}, {4, 16, 5, 9, 4, 4, 31, 6, 12}} {
		var spans []passed
		total := 0
		for i, k := range beats {
			spans = append(spans, passed{float64(k), float64(k) * (0.75 + 0.01*float64(i*i%7))})
			total += k
		}
		r, d := mat.NewDense(total, total, nil), mat.NewDense(len(beats), total, nil)
		for i := range total {
			for j := range total {
				r.Set(i, j, math.Pow(0.9, math.Abs(float64(i-j))))
			}
		}
		from, mean := 0, 0.0
		for i, k := range beats {
			weight := math.Sqrt(float64(k) / float64(total))
			for b := range total {
				deviation := -1 / float64(total)
				if b >= from && b < from+k {
					deviation += 1 / float64(k)
				}
				d.Set(i, b, weight*deviation)
			}
			from += k
			mean += float64(k) * 60 * spans[i].beats / spans[i].seconds / float64(total)
		}
		var dr, c, cc mat.Dense
		dr.Mul(d, r)
		c.Mul(&dr, d.T())
		cc.Mul(&c, &c)
		seen := 0.0
		for i, k := range beats {
			seen += float64(k) / float64(total) * math.Pow(60*spans[i].beats/spans[i].seconds/mean-1, 2)
		}
		want := math.Sqrt(seen / mat.Trace(&c))
		wantSE := want * math.Sqrt(2*mat.Trace(&cc)) / (2 * mat.Trace(&c))
		if sd, se := wander(spans); math.Abs(sd/want-1) > 1e-9 || math.Abs(se/wantSE-1) > 1e-9 {
			t.Errorf("spans of %v beats: %g ± %g, want %g ± %g", beats, sd, se, want, wantSE)
		}
	}
}

// From so many beats as are asked for, the standard error is within a third of the
// wander, seen a beat or a turn of the crank at a time; four times the beats halve
// it, to a tenth.
func TestCrankWanderIsToldOnceItIsBearablySure(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 4))
	for _, every := range []int{1, 8, 12} {
		few, err := Measure(everyNth(simulatedHand(r, MinWanderBeats, 80, 0.02), every), 0)
		many, _ := Measure(everyNth(simulatedHand(r, 4*MinWanderBeats, 80, 0.02), every), 0)
		if err != nil || !few.WanderOK || few.WanderSE > few.Wander/3 || math.Abs(few.WanderSE/few.Wander/(many.WanderSE/many.Wander)-2) > 0.2 {
			t.Errorf("looked at every %d beats: %+v, then %+v", every, few, many)
		}
	}
}

// A hand that taps, and a sensor that is looked at 50 times a second, tell times
// some 20 ms wrong: over a beat of 0.75 s that alone is √2 × 20/750 = 3.8 %. Over
// eight beats it is 0.47 %, which adds to 2 % as √(2² + 0.47²/V(8)) = 2.07 % (worked
// by hand; V(8) = 0.773).
func TestCrankWanderOutlivesTapsOutOfPlace(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	squares := 0.0
	for range 500 {
		taps := simulatedHand(r, 96, 80, 0.02)
		for i := range taps {
			taps[i].AtS += 0.020 * r.NormFloat64()
		}
		m, err := Measure(taps, 0)
		if err != nil {
			t.Fatal(err)
		}
		squares += m.Wander * m.Wander / 500
	}
	if got := math.Sqrt(squares); math.Abs(got-0.0207) > 0.0006 {
		t.Errorf("taps 20 ms out of place make 2 %% of wander %.2f %%", got*100)
	}
}

func TestCrankWatchRefusesNonsenseAndKeepsWhatItKnew(t *testing.T) {
	var c Watch
	for i := range 13 {
		if _, err := c.Turned(eightTurns, float64(i), float64(i)*6); err != nil {
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
		{13, 72.5, "turn 13 comes 0.5 s after turn 12: that would be 960 beats a minute where it was 80 before"},
		{math.NaN(), 76, "turn is NaN"}, {-1, 76, "turn is −1"}, {math.Inf(1), 76, "turn is"}, {2e9, 76, "turn is"},
		{13, math.NaN(), "at_s is NaN"}, {13, math.Inf(-1), "at_s is"},
		{13, 72, "no wheel turns faster than 1000"},     // two turns at one time
		{500, 73, "no wheel turns faster than 1000"},    // 488 turns in a second
		{13, 72.1, "4800 beats a minute, and no wheel"}, // 8 beats in 0.1 s
	} {
		if turned, err := c.Turned(eightTurns, bad.turn, bad.at); turned || err == nil || !strings.Contains(err.Error(), bad.says) {
			t.Errorf("turn %g at %g s: %v, want %q", bad.turn, bad.at, err, bad.says)
		}
		if after, _ := c.Measured(); after != before {
			t.Errorf("turn %g at %g s changed what was measured", bad.turn, bad.at)
		}
	}
	if _, err := c.Turned(eightTurns, 13, 78); err != nil {
		t.Errorf("after nonsense the next turn is refused: %v", err)
	}
	if after, _ := c.Measured(); math.Abs(after.BPM-80) > 1e-9 {
		t.Errorf("after nonsense it measures %g BPM, want 80", after.BPM)
	}
	ungeared := eightTurns
	ungeared.CrankTurns = 0
	if _, err := c.Turned(ungeared, 14, 84); err == nil || !strings.Contains(err.Error(), "crank_turns") {
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
		var c Watch
		for i := range 12 {
			if _, err := c.Turned(eightTurns, float64(i), float64(i)*6); err != nil {
				t.Fatal(err)
			}
		}
		if _, err := c.Turned(eightTurns, next.Beats, next.AtS); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if m, ok := c.Measured(); !ok || math.Abs(m.BPM-80) > 1e-9 {
			t.Errorf("%s: the last good figure is gone: %+v", name, m)
		}
		if _, err := c.Turned(eightTurns, next.Beats+1, next.AtS+8); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if m, _ := c.Measured(); math.Abs(m.BPM-60) > 1e-9 || m.Spans != 1 {
			t.Errorf("%s: then %+v, want 60 BPM from one span", name, m)
		}
	}
}

func TestCrankWatchTakesNoMoreMemoryForLonger(t *testing.T) {
	var c Watch
	for i := range 5000 {
		if _, err := c.Turned(eightTurns, float64(i), float64(i)*6); err != nil {
			t.Fatal(err)
		}
	}
	if len(c.passings) > maxPassings {
		t.Errorf("%d passings are kept", len(c.passings))
	}
}

// turnEach turns a watched crank by turns of so many seconds each, and says what came
// last.
func turnEach(t *testing.T, c *Watch, turn, atS float64, eachS ...float64) (float64, float64) {
	t.Helper()
	for _, s := range eachS {
		turn, atS = turn+1, atS+s
		if _, err := c.Turned(eightTurns, turn, atS); err != nil {
			t.Fatalf("turn %g: %v", turn, err)
		}
	}
	return turn, atS
}

func evenTurns(n int) []float64 {
	s := make([]float64, n)
	for i := range s {
		s[i] = 6
	}
	return s
}

// 8 beats in 6 s are 80 BPM. A contact that bounces half a second after a turn
// counts one too many; the turns that come after it are again 6 s apart.
func TestCrankWatchBelievesNoBounce(t *testing.T) {
	for _, lateS := range []float64{0.02, 0.5, 2, 2.2} {
		var c Watch
		turn, at := turnEach(t, &c, 0, 0, evenTurns(14)...)
		turn++
		if turned, err := c.Turned(eightTurns, turn, at+lateS); turned || err == nil {
			t.Errorf("a bounce after %g s is taken for a turn", lateS)
		}
		turn, at = turnEach(t, &c, turn, at, 6)
		if m, ok := c.Measured(); !ok || math.Abs(m.LastBPM-80) > 1e-9 || !m.WanderOK || m.Wander > 1e-9 {
			t.Errorf("a turn after a bounce: %+v", m)
		}
		turnEach(t, &c, turn, at, evenTurns(13)...)
		if m, ok := c.Measured(); !ok || math.Abs(m.BPM-80) > 1e-9 || !m.WanderOK || m.Wander > 1e-9 || !c.Current() {
			t.Errorf("13 turns after a bounce after %g s: %+v", lateS, m)
		}
	}
}

// A sensor that is asked once a second says the count of a bounce again and again;
// that does not make it true, neither at once nor when it comes to look slow enough.
func TestCrankWatchBelievesNoBounceThatIsSaidAgain(t *testing.T) {
	var c Watch
	turn, at := turnEach(t, &c, 0, 0, evenTurns(14)...)
	for late := 0.5; late < 6; late++ {
		if turned, err := c.Turned(eightTurns, turn+1, at+late); turned || err == nil {
			t.Errorf("%g s after a turn a bounce is taken for another", late)
		}
	}
	turnEach(t, &c, turn+1, at, 6, 6, 6)
	if m, _ := c.Measured(); math.Abs(m.LastBPM-80) > 1e-9 {
		t.Errorf("after it: %+v", m)
	}
}

// A count that jumps and then counts evenly costs two turns, not one for each that
// it jumped by.
func TestCrankWatchFollowsACountThatJumped(t *testing.T) {
	for _, jump := range []float64{2, 1000} {
		for before, first := range map[string]int{"a while": 14, "one report": 0} {
			var c Watch
			if _, err := c.Turned(eightTurns, 0, 0); err != nil {
				t.Fatal(err)
			}
			turn, at := turnEach(t, &c, 0, 0, evenTurns(first)...)
			turn, at = turn+jump, at+6
			turned, err := c.Turned(eightTurns, turn, at)
			if first > 0 && jump > 2 && (turned || err == nil || !strings.Contains(err.Error(), "1000")) {
				t.Errorf("a jump by %g after %s: %v", jump, before, err)
			}
			turnEach(t, &c, turn, at, 6, 6)
			if m, ok := c.Measured(); !ok || !c.Current() || math.Abs(m.LastBPM-80) > 1e-9 {
				t.Errorf("after a jump by %g after %s: %+v", jump, before, m)
			}
		}
	}
}

// One number misread leaves nothing behind: the next is judged as if it had not
// come.
func TestCrankWatchForgetsOneMisreadCount(t *testing.T) {
	var c Watch
	turn, at := turnEach(t, &c, 0, 0, evenTurns(14)...)
	if _, err := c.Turned(eightTurns, 1015, at+3); err == nil {
		t.Error("a count misread is believed")
	}
	turnEach(t, &c, turn, at, 6)
	if m, _ := c.Measured(); m.Spans != 15-1 || math.Abs(m.BPM-80) > 1e-9 {
		t.Errorf("%+v", m)
	}
}

// From a turn in 6 s, 80 BPM, to one in 2 s, 240 BPM: two such turns are believed.
func TestCrankWatchBelievesAFastHandAtItsSecondTurn(t *testing.T) {
	for _, c := range []struct {
		eachS [2]float64
		bpm   float64
	}{{[2]float64{2, 2}, 240}, {[2]float64{2, 1.6}, 300}, {[2]float64{3, 2}, 240}, {[2]float64{3, 4}, 120}} {
		var w Watch
		turn, at := turnEach(t, &w, 0, 0, evenTurns(14)...)
		if turned, err := w.Turned(eightTurns, turn+1, at+c.eachS[0]); turned || err == nil {
			t.Errorf("one turn in %g s is believed", c.eachS[0])
		}
		turnEach(t, &w, turn+1, at+c.eachS[0], c.eachS[1])
		if m, _ := w.Measured(); math.Abs(m.LastBPM-c.bpm) > 1e-9 || !w.Current() {
			t.Errorf("turns of %v s: %+v, want %g BPM", c.eachS, m, c.bpm)
		}
	}
	// A hand that goes faster by less is believed at once: 8 beats in 3.75 s are 128 BPM.
	var w Watch
	turn, at := turnEach(t, &w, 0, 0, evenTurns(14)...)
	turnEach(t, &w, turn, at, 3.75)
	if m, _ := w.Measured(); math.Abs(m.LastBPM-128) > 1e-9 {
		t.Errorf("%+v, want 128 BPM", m)
	}
}

// A sensor of 100 pulses a turn that is looked at 20 times a second tells parts of a
// turn, each up to a pulse short. The hand is even; then it wanders by 2 %. Up to
// 8/100 of a beat may be missing at either end of the last two beats: 4 %. The ends
// of eight beats are wrong by a tenth of that in the mean (worked by hand).
func TestCrankWatchIsNotMisledByParts(t *testing.T) {
	r := rand.New(rand.NewPCG(8, 9))
	for _, bpm := range []float64{80, 83.7, 61.1, 117} {
		for _, sd := range []float64{0, 0.02} {
			var c Watch
			hand := simulatedHand(r, 600, bpm, sd)
			beat := 0
			for look := 0; ; look++ {
				at := float64(look) / 20
				for beat+1 < len(hand) && hand[beat+1].AtS <= at {
					beat++
				}
				if beat+1 == len(hand) {
					break
				}
				turned := (float64(beat) + (at-hand[beat].AtS)/(hand[beat+1].AtS-hand[beat].AtS)) / 8
				if _, err := c.Turned(eightTurns, math.Floor(turned*100)/100, at); err != nil {
					t.Fatal(err)
				}
				if m, ok := c.Measured(); ok && m.Beats >= 2 && sd == 0 && math.Abs(m.LastBPM/bpm-1) > 0.04 {
					t.Fatalf("an even %g BPM is told as %g after %g s", bpm, m.LastBPM, at)
				}
			}
			m, ok := c.Measured()
			if least, most := sd/2, sd*3/2+0.008; !ok || !m.WanderOK || m.Wander < least || m.Wander > most || math.Abs(m.BPM/bpm-1) > 0.02 {
				t.Errorf("%g BPM with a wander of %g: %+v", bpm, sd, m)
			}
		}
	}
}

// From a rest on, what was measured is of before it.
func TestCrankWatchKnowsWhatIsNoLongerTurned(t *testing.T) {
	var c Watch
	turn, at := turnEach(t, &c, 0, 0, evenTurns(3)...)
	if !c.Current() {
		t.Error("while it is turned it is not current")
	}
	turn, at = turnEach(t, &c, turn, at, 60)
	if _, ok := c.Measured(); !ok || c.Current() {
		t.Error("after a rest what was measured is still current")
	}
	turnEach(t, &c, turn, at, 6)
	if !c.Current() {
		t.Error("after a rest and a turn it is not current")
	}
	if turned, err := c.Turned(eightTurns, turn+1, at+9); turned || err != nil {
		t.Errorf("the same count again: %v, %v", turned, err)
	}
}

// Whatever a sensor sends, nothing told of it is beyond what a wheel can do.
func FuzzWatch(f *testing.F) {
	f.Add([]byte{10, 60, 10, 60, 10, 5, 10, 55, 10, 60})
	f.Add([]byte{10, 60, 10, 60, 255, 60, 10, 60, 10, 60})
	f.Add(bytes.Repeat([]byte{5, 8}, 200)) // an eighth of a turn in 0.8 s
	f.Add(append(bytes.Repeat([]byte{5, 8}, 100), bytes.Repeat([]byte{5, 5, 5, 11}, 60)...))
	f.Fuzz(func(t *testing.T, steps []byte) {
		for _, marks := range []int{1, 8} {
			var c Watch
			w := eightTurns
			w.CrankMarks = marks
			turn, at := 0.0, 0.0
			for i := 0; i+1 < len(steps); i += 2 {
				turn += math.Pow(float64(int8(steps[i]))/10, 3)
				at += float64(int8(steps[i+1])) / 10
				_, _ = c.Turned(w, turn, at)
				if marks > 1 && i%32 != 0 && i+3 < len(steps) {
					continue // ripple takes its time
				}
				m, ok := c.Measured()
				if ok && (!(m.LastBPM > 0) || m.LastBPM > wheel.MaxTempoBPM*(1+1e-9) || !(m.BPM > 0) || m.BPM > wheel.MaxTempoBPM*(1+1e-9) ||
					m.Wander < 0 || math.IsNaN(m.Wander) || math.IsNaN(m.WanderSE) || math.IsNaN(m.WanderU) || len(c.passings) > maxPassings ||
					!(m.Ripple.Fraction >= 0) || m.Ripple.Fraction >= 1 || math.IsNaN(m.Ripple.U) || math.IsNaN(m.Ripple.JitterS) || math.IsNaN(m.Ripple.UnevenD)) {
					t.Fatalf("%+v", m)
				}
			}
		}
	})
}
