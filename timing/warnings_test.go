package timing

import (
	"math"
	"slices"
	"testing"

	"pinwright/wheel"
)

// What is odd about a machine and what is only just not. Steps are 10 mm long:
// 64 of them on a wheel of 640/(2π) mm.
func TestWarningsOnBothSidesOfTheirBounds(t *testing.T) {
	known := wheel.Known
	ms := func(v float64) wheel.Maybe { return known(v) }
	usual := func() *wheel.Machine {
		m := bare(64, wheel.Channel{Trip: wheel.Trip{ReachMM: known(3.5), HoldMM: known(6), LatchMS: ms(18)}, Gate: wheel.Gate{ReloadMS: ms(140)}})
		m.Wheel.RadiusMM = 640 / (2 * math.Pi)
		m.Lanes = []wheel.Lane{
			{ID: "drop", Kind: wheel.Fall, LengthMM: known(240)},
			{ID: "chute", Kind: wheel.Ramp, LengthMM: known(420), SlopeDeg: known(11), Keep: known(0.6)},
			{ID: "tray", Kind: wheel.Ramp, LengthMM: known(420), SlopeDeg: known(11)},
		}
		m.Channels[0].Path, m.Channels[0].Exit = []string{"drop", "chute"}, []string{"tray"}
		return m
	}
	if says := must(Compile(usual())).Warnings(); says != nil {
		t.Fatalf("of the usual machine it says %q", says)
	}
	for _, c := range []struct {
		what       string
		odd, usual func(m *wheel.Machine)
		want       string
	}{
		{"the pin leaves before full push",
			func(m *wheel.Machine) { m.Channels[0].Trip.ReachMM = known(6.01) },
			func(m *wheel.Machine) { m.Channels[0].Trip.ReachMM = known(6) },
			"A: the pin reaches full push after 6.01 mm and lets go of the lever after 6 mm: it leaves before full push."},
		{"an unknown hold is unknown and not 0",
			func(m *wheel.Machine) { m.Channels[0].Trip.HoldMM = known(0) },
			func(m *wheel.Machine) { m.Channels[0].Trip.HoldMM = wheel.Maybe{} },
			"A: the pin reaches full push after 3.5 mm and lets go of the lever after 0 mm: it leaves before full push."},
		{"a pin thicker than a step",
			func(m *wheel.Machine) { m.Wheel.PinDiameterMM = 10.01 },
			func(m *wheel.Machine) { m.Wheel.PinDiameterMM = 9.99 },
			"A pin is 10.01 mm thick and a step 10 mm long: two pins on neighbouring steps would touch."},
		{"a fall onto a ramp without loss",
			func(m *wheel.Machine) { m.Lanes[1].Keep = wheel.Maybe{} },
			func(m *wheel.Machine) { m.Lanes[1].Keep = known(0.999) },
			"Marbles fall from lane drop onto lane chute and are taken to keep all their speed: a fall onto a ramp costs some. Give its keep, such as 0.6."},
		{"a fall onto a ramp on the way out",
			func(m *wheel.Machine) {
				m.Channels[0].Path, m.Channels[0].Exit = []string{"chute"}, []string{"drop", "tray"}
			},
			func(m *wheel.Machine) {
				m.Channels[0].Path, m.Channels[0].Exit = []string{"drop"}, []string{"tray", "chute"}
			},
			"Marbles fall from lane drop onto lane tray and are taken to keep all their speed: a fall onto a ramp costs some. Give its keep, such as 0.6."},
		// On a flat bottom tan α · 0.4/1.4 = 0.15 at α = 27.70° (worked by hand).
		{"a ramp on which marbles slip",
			func(m *wheel.Machine) { m.Lanes[2].SlopeDeg = known(27.8) },
			func(m *wheel.Machine) { m.Lanes[2].SlopeDeg = known(27.6) },
			"Lane tray is so steep, 27.8°, that marbles slip instead of rolling: with a friction of 0.15 they roll up to 27.7°. Its times come out too long."},
		// At 11° tan α · 0.4/1.4 = 0.19438 · 0.28571 = 0.05554 (worked by hand).
		{"a ramp that is too smooth",
			func(m *wheel.Machine) { m.Lanes[2].Friction = known(0.0555) },
			func(m *wheel.Machine) { m.Lanes[2].Friction = known(0.0556) },
			"Lane tray is so steep, 11°, that marbles slip instead of rolling: with a friction of 0.0555 they roll up to 11°. Its times come out too long."},
		{"a latch that varies by more than it takes",
			func(m *wheel.Machine) { m.Channels[0].Trip.JitterMS = ms(18.1) },
			func(m *wheel.Machine) { m.Channels[0].Trip.JitterMS = ms(18) },
			"A: the spread of its latch, 18.1 ms, is larger than the latch itself, 18 ms."},
		{"a reload that varies by more than it takes",
			func(m *wheel.Machine) { m.Channels[0].Gate.ReloadSDMS = ms(140.1) },
			func(m *wheel.Machine) { m.Channels[0].Gate.ReloadSDMS = ms(140) },
			"A: the spread of its reload, 140.1 ms, is larger than the reload itself, 140 ms."},
		{"a spread of nothing",
			func(m *wheel.Machine) { m.Channels[0].Gate = wheel.Gate{ReloadSDMS: ms(8)} },
			func(m *wheel.Machine) { m.Channels[0].Gate = wheel.Gate{ReloadSDMS: ms(8), FeedSlopeDeg: known(10)} },
			"A: the spread of its reload is given, 8 ms, and the reload itself is not."},
		{"a measured spread larger than the figure",
			func(m *wheel.Machine) {
				m.Measured = []wheel.Measured{{Figure: "lanes.chute.keep", N: 10, SD: known(0.61)}}
			},
			func(m *wheel.Machine) {
				m.Measured = []wheel.Measured{{Figure: "lanes.chute.keep", N: 10, SD: known(0.6)}}
			},
			"The measured spread of the fraction of speed kept of lane chute, 0.61, is larger than the figure itself, 0.6."},
		{"a measured spread of a time",
			func(m *wheel.Machine) {
				m.Measured = []wheel.Measured{{Figure: "channels.a.trip.latch_ms", N: 10, SD: ms(18.5)}}
			},
			func(m *wheel.Machine) {
				m.Measured = []wheel.Measured{{Figure: "channels.a.trip.latch_ms", N: 10, U: ms(18.5)}}
			},
			"The measured spread of the latch of A, 18.5 ms, is larger than the figure itself, 18 ms."},
	} {
		for _, side := range []struct {
			change func(m *wheel.Machine)
			want   []string
		}{{c.odd, []string{c.want}}, {c.usual, nil}} {
			m := usual()
			side.change(m)
			if says := must(Compile(m)).Warnings(); !slices.Equal(says, side.want) {
				t.Errorf("%s: it says\n\t%q\nwant\n\t%q", c.what, says, side.want)
			}
		}
	}
}
