package say_test

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel/say"
)

func ExampleInward() {
	fmt.Println(say.Inward(84.02, 107.142857))
	fmt.Println(say.Inward(84.02, 84.05))
	// Output:
	// 84.1 107.1
	// 84.02 84.05
}

// Worked by hand.
func TestNumbersInWords(t *testing.T) {
	for _, c := range []struct{ got, want string }{
		{say.Number(-2.5), "−2.5"},
		{say.Number(math.Copysign(0, -1)), "0"},
		{say.Typed(-2.5), "-2.5"},
		{say.Rounded(-0.04, 1), "0"},
		{say.Rounded(1.005e3, 1), "1005"},
		{say.Rounded(2.345, 0), "2"},
		{say.Percent(0.125), "12.5"},
		{say.PercentDown(0.999), "99"},
		{say.PercentDown(1), "100"},
		{say.MS(139.96), "140 ms"},
		{say.Clock(59.4), "0:59"},
		{say.Clock(3599.6), "60:00"},
		{say.Key(60), "C4"}, // scientific pitch notation
		{say.Key(69), "A4"}, // ISO 16: 440 Hz is MIDI key 69
		{say.Key(0), "C-1"},
		{say.Tempo(107.142857), "107.1"},
		{say.TempoDown(107.199), "107.1"},
		{say.TempoDown(107.2), "107.2"},
		{say.TempoUp(107.101), "107.2"},
		{say.TempoRange(60, 60), "60 to 60"},
		{say.Count(1, "pin", "pins"), "1 pin"},
		{say.Count(0, "pin", "pins"), "0 pins"},
		{say.List([]string{"A", "B", "C"}), "A, B and C"},
		{say.List(strings.Split("abcdefghijklmno", "")), "a, b, c, d, e, f, g, h, i, j, k and 4 more"},
		{say.Short(strings.Repeat("ä", 41)), strings.Repeat("ä", 40) + "…"},
		{say.Steady("a\u202eb\u2066c"), "abc"},
	} {
		if c.got != c.want {
			t.Errorf("%q, want %q", c.got, c.want)
		}
	}
}

// A bound typed as it was told keeps to the bound: the rounding is never to
// the unsafe side, and never by more than a tenth.
func TestBoundsAreRoundedToTheSafeSide(t *testing.T) {
	read := func(t *rapid.T, text string) float64 {
		v, err := strconv.ParseFloat(text, 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	rapid.Check(t, func(t *rapid.T) {
		bpm := rapid.Float64Range(1, 1000).Draw(t, "bpm")
		const noise = 1e-9
		if down := read(t, say.TempoDown(bpm)); down > bpm+noise || down < bpm-0.1-noise {
			t.Errorf("%v down is %v", bpm, down)
		}
		if up := read(t, say.TempoUp(bpm)); up < bpm-noise || up > bpm+0.1+noise {
			t.Errorf("%v up is %v", bpm, up)
		}
		wide := rapid.Float64Range(1e-5, 10).Draw(t, "wide")
		l, h := say.Inward(bpm, bpm+wide)
		if low, high := read(t, l), read(t, h); low > high || low < bpm-noise || high > bpm+wide+noise {
			t.Errorf("%v to %v is told as %s to %s", bpm, bpm+wide, l, h)
		}
	})
}

// What is written of a range lies in it, with as many decimals as that takes.
func TestInwardWritesWhatLiesInTheRange(t *testing.T) {
	for _, c := range []struct {
		from, to  float64
		low, high string
	}{
		{76.42580467962185, 94.90723408323004, "76.5", "94.9"},
		{75.67253914545721, 96.58, "75.7", "96.5"},
		{30, 180, "30", "180"},
		{57.62, 57.68, "57.62", "57.68"}, // no tenth in it
		{57.6201, 57.6209, "57.6201", "57.6209"},
		{15 / 0.52 * 2, 15 / 0.48 * 2, "57.7", "62.5"},
	} {
		if low, high := say.Inward(c.from, c.to); low != c.low || high != c.high {
			t.Errorf("%g to %g BPM is written %s to %s, want %s to %s", c.from, c.to, low, high, c.low, c.high)
		}
	}
}
