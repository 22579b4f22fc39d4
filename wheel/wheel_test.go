package wheel_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
)

func TestArcIsTheCircumferenceByTheSteps(t *testing.T) {
	for _, c := range []struct {
		radiusMM float64
		steps    int
		want     float64
	}{
		{600, 256, 14.726215563702}, // worked by hand: 2π × 600 = 3769.911184308; ÷ 256
		{500, 1, 3141.592653589793}, // worked by hand: 1000 π
		{1000, 360, 17.45329},       // NIST SP 811 (2008), appendix B.8: 1 degree = 1.745329 E−02 rad
	} {
		w := wheel.Wheel{RadiusMM: c.radiusMM, Steps: c.steps}
		if got := w.ArcMM(); math.Abs(got-c.want) > 1e-6*c.want {
			t.Errorf("arc of %d steps at %g mm is %.12g mm, want %.12g", c.steps, c.radiusMM, got, c.want)
		}
	}
}

func TestStepTakesItsPartOfABeat(t *testing.T) {
	for _, c := range []struct {
		tempoBPM float64
		perBeat  int
		wantS    float64
	}{
		{60, 1, 1},
		{120, 4, 0.125},       // worked by hand: a beat is 0.5 s
		{84, 4, 5. / 28},      // worked by hand: 60/336
		{30, 3, 0.6666666667}, // worked by hand: a beat is 2 s
	} {
		w := wheel.Wheel{StepsPerBeat: c.perBeat}
		p := w.StepPeriod(c.tempoBPM)
		if math.Abs(p-c.wantS) > 1e-9 {
			t.Errorf("a step at %g BPM, %d to the beat, takes %g s, want %g", c.tempoBPM, c.perBeat, p, c.wantS)
		}
		if back := w.Tempo(p); math.Abs(back-c.tempoBPM) > 1e-9 {
			t.Errorf("a step of %g s is %g BPM, want %g", p, back, c.tempoBPM)
		}
	}
}

// Worked by hand, counting on fingers: bars and beats from 1, steps from 0.
func TestPlaceIsSaidAsAMusicianCounts(t *testing.T) {
	common := wheel.Wheel{Steps: 256, StepsPerBeat: 4, BeatsPerBar: 4}
	waltz := wheel.Wheel{Steps: 108, StepsPerBeat: 6, BeatsPerBar: 3}
	coarse := wheel.Wheel{Steps: 10, StepsPerBeat: 1, BeatsPerBar: 4} // its last bar is cut by the seam
	for _, c := range []struct {
		wheel wheel.Wheel
		step  int
		want  string
	}{
		{common, 0, "bar 1 beat 1"},
		{common, 1, "bar 1 beat 1 +1/4"},
		{common, 2, "bar 1 beat 1 +1/2"},
		{common, 14, "bar 1 beat 4 +1/2"},
		{common, 16, "bar 2 beat 1"},
		{common, 255, "bar 16 beat 4 +3/4"},
		{common, 256, "bar 1 beat 1"},
		{common, -1, "bar 16 beat 4 +3/4"},
		{waltz, 22, "bar 2 beat 1 +2/3"},
		{waltz, 33, "bar 2 beat 3 +1/2"},
		{waltz, 107, "bar 6 beat 3 +5/6"},
		{coarse, 9, "bar 3 beat 2"},
		{coarse, 10, "bar 1 beat 1"},
	} {
		if got := c.wheel.PlaceText(c.step); got != c.want {
			t.Errorf("step %d of %+v is %s, want %s", c.step, c.wheel, got, c.want)
		}
	}
}

func TestWrapStaysOnTheTurn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := wheel.Wheel{Steps: rapid.IntRange(1, wheel.MaxSteps).Draw(t, "steps")}
		step := rapid.IntRange(-1<<40, 1<<40).Draw(t, "step")
		got := w.Wrap(step)
		if got < 0 || got >= w.Steps || (step-got)%w.Steps != 0 {
			t.Fatalf("step %d wraps to %d on a wheel of %d", step, got, w.Steps)
		}
	})
}

func TestSheetsLieOnTheSurface(t *testing.T) {
	w := wheel.Wheel{RadiusMM: 600, SurfaceRadiusMM: 590}
	if got := w.SurfaceMM(); got != 590 {
		t.Errorf("sheets lie at %g mm, want 590", got)
	}
}

// A sign before digits is U+2212, as print has it, not the hyphen of a keyboard.
func TestNumberIsWrittenAsPeopleDo(t *testing.T) {
	for v, want := range map[float64]string{
		0: "0", -5: "−5", 0.1: "0.1", 1e6: "1000000", 262145: "262145", 123456789.25: "123456789.25",
		0.000001: "0.000001", -1e-9: "−1e−09", 1e300: "1e300", -2.5e15: "−2.5e15",
	} {
		if got := wheel.Number(v); got != want {
			t.Errorf("%g is written %q, want %q", v, got, want)
		}
	}
}

func TestNearestWordIsTheOneMeant(t *testing.T) {
	words := []string{"row", "keys", "reload_ms", "return_ms", "kind"}
	for word, want := range map[string]string{
		"relaod_ms": "reload_ms", // two letters exchanged
		"retrn_ms":  "return_ms", // one left out
		"key":       "keys",
		"Kind":      "kind",
		"kimd":      "kind",
		"rows":      "row",
		"colour":    "",
		"w":         "",
		"":          "",
	} {
		if got := wheel.Nearest(word, words); got != want {
			t.Errorf("%q is near %q, want %q", word, got, want)
		}
	}
}
