package wheel_test

import (
	"fmt"
	"strings"
	"testing"

	"pinwright/wheel"
)

// grouped is a machine of two bars, one of them with a feed in place of a
// measured reload, a tube, a damper, a fall and two ramps.
func grouped() *wheel.Machine {
	channel := func(id string, kind wheel.ChannelKind, row int, gate wheel.Gate) wheel.Channel {
		return wheel.Channel{ID: id, Name: strings.ToUpper(id), Kind: kind, Row: row, Service: wheel.Playing, Gate: gate, Trip: wheel.Trip{LatchMS: wheel.Known(18)}}
	}
	m := &wheel.Machine{
		Format: wheel.MachineFormat, Name: "Grouped",
		Marble: wheel.Marble{DiameterMM: 12, ClearanceMM: 2},
		Wheel:  wheel.Wheel{RadiusMM: 600, Steps: 64, StepsPerBeat: 4, BeatsPerBar: 4},
		Limits: wheel.Limits{TempoMinBPM: 30, TempoMaxBPM: 180, FlamMS: 20},
		Lanes: []wheel.Lane{
			{ID: "drop", Kind: wheel.Fall, LengthMM: wheel.Known(240)},
			{ID: "chute", Kind: wheel.Ramp, LengthMM: wheel.Known(420), SlopeDeg: wheel.Known(11), Keep: wheel.Known(0.6)},
			{ID: "tray", Kind: wheel.Ramp, LengthMM: wheel.Known(700), SlopeDeg: wheel.Known(6), Keep: wheel.Known(0.4)},
		},
		Channels: []wheel.Channel{
			channel("bar-c5", "bar", 0, wheel.Gate{ReloadMS: wheel.Known(140)}),
			channel("bar-e5", "bar", 1, wheel.Gate{FeedSlopeDeg: wheel.Known(10)}),
			channel("tube", "tube", 2, wheel.Gate{ReloadMS: wheel.Known(200)}),
			channel("damper", "other", 3, wheel.Gate{}),
		},
	}
	m.Channels[3].Works = wheel.Holds
	return m
}

func TestASettingChangesOneFigureOrThoseOfAGroup(t *testing.T) {
	for _, c := range []struct {
		texts    []string
		sets     string
		of       string
		notGiven int
	}{
		{[]string{"channels.bar-c5.gate.reload_ms=120"}, "[{channels.bar-c5.gate.reload_ms 120}]", "", 0},
		{[]string{"channels.bar-c5.gate.reload_ms*=0.5"}, "[{channels.bar-c5.gate.reload_ms 70}]", "", 0},
		{[]string{"channels.*.gate.reload_ms=120"}, "[{channels.bar-c5.gate.reload_ms 120} {channels.bar-e5.gate.reload_ms 120} {channels.tube.gate.reload_ms 120}]", "3 channels", 0},
		{[]string{"kind:bar.gate.reload_ms*=0.5"}, "[{channels.bar-c5.gate.reload_ms 70}]", "2 bars", 1},
		{[]string{"kind:other.trip.latch_ms*=2"}, "[{channels.damper.trip.latch_ms 36}]", "1 channel", 0},
		{[]string{"lanes.*.keep*=0.5"}, "[{lanes.chute.keep 0.3} {lanes.tray.keep 0.2}]", "3 lanes", 1},
		{[]string{"lanes.*.slope_deg=8"}, "[{lanes.chute.slope_deg 8} {lanes.tray.slope_deg 8}]", "2 lanes", 0},
		// One after the other: 120 and then half of it; 140 · 0.5 · 0.5 = 35.
		{[]string{"channels.*.gate.reload_ms=120", "kind:tube.gate.reload_ms*=0.5"}, "[{channels.tube.gate.reload_ms 60}]", "1 tube", 0},
		{[]string{"kind:bar.gate.reload_ms*=0.5", "kind:bar.gate.reload_ms*=0.5"}, "[{channels.bar-c5.gate.reload_ms 35}]", "2 bars", 1},
	} {
		var settings []wheel.Setting
		for _, text := range c.texts {
			s, err := wheel.ParseSet(text)
			if err != nil || s.String() != text {
				t.Errorf("%s is read as %s (%v)", text, s, err)
			}
			settings = append(settings, s)
		}
		groups, err := grouped().Resolve(settings...)
		if err != nil {
			t.Errorf("%v: %v", c.texts, err)
			continue
		}
		last := groups[len(groups)-1]
		if got := fmt.Sprint(last.Sets); got != c.sets || last.Of != c.of || last.NotGiven != c.notGiven {
			t.Errorf("%v: %s of %q, %d not given; want %s of %q, %d", c.texts, got, last.Of, last.NotGiven, c.sets, c.of, c.notGiven)
		}
		if _, err := grouped().WithSets(wheel.SetsOf(groups)...); err != nil {
			t.Errorf("%v: %v", c.texts, err)
		}
	}
}

func TestASettingThatMeansNothingIsRefusedInASentence(t *testing.T) {
	const shape = "it should be a figure's path and its value, such as channels.bar-c5.gate.reload_ms=120 or lanes.*.rolling=0.003"
	for text, want := range map[string]string{
		"":                                   shape,
		"=5":                                 shape,
		"*=5":                                shape,
		"channels.*.gate.reload_ms":          shape,
		"channels.*.gate.reload_ms=1,5":      "what stands after = should be a number, with a point for decimals",
		"channels.*.gate.reload_ms*=half":    "what stands after = should be a number, with a point for decimals",
		"channels.*.gate.reload_ms*=NaN":     "what stands after *= should be a finite number",
		"channels.*.gate.relod_ms=5":         "channels.*.gate.relod_ms is no figure of a channel; did you mean channels.*.gate.reload_ms?",
		"kind:bar.reload=5":                  "kind:bar.reload is no figure of a channel; did you mean kind:bar.gate.reload_ms?",
		"kind:bras.gate.reload_ms=5":         "kind:bras.gate.reload_ms names no kind of channel; it should be one of bar, tube, bell, block, drum, string, other",
		"kind:bell.gate.reload_ms=5":         "kind:bell.gate.reload_ms matches nothing: the machine has no bell with such a figure",
		"kind:other.gate.reload_ms=5":        "kind:other.gate.reload_ms matches nothing: the machine has no channel with such a figure",
		"lifts.*.carry_ms=5":                 "lifts.*.carry_ms matches nothing: the machine has no lift with such a figure",
		"wheels.*.steps=5":                   "wheels.*.steps is no figure of the machine; did you mean wheel.steps?",
		"channels.bar-e5.gate.reload_ms*=.9": "channels.bar-e5.gate.reload_ms is not given, so it cannot be multiplied; give it a value with =",
		"lanes.*.length_m=5":                 "lanes.*.length_m is no figure of a lane; did you mean lanes.*.length_mm?",
		"channels.*.exit_mm_s*=2":            "channels.*.exit_mm_s cannot be multiplied: the machine gives none of these 3 figures; give them a value with =",
	} {
		s, err := wheel.ParseSet(text)
		if err == nil {
			_, err = grouped().Resolve(s)
		}
		if err == nil || err.Error() != want {
			t.Errorf("%s:\n\t%v\nwant\n\t%s", text, err, want)
		}
	}
}

// An id may look like a group, and have an equals sign in it.
func TestAnIDThatLooksLikeAGroupIsTheChannel(t *testing.T) {
	m := grouped()
	m.Channels[0].ID, m.Channels[1].ID = "*", "a=b"
	for text, want := range map[string]string{
		"channels.*.gate.reload_ms=120":  "[{channels.*.gate.reload_ms 120}]",
		"channels.a=b.trip.latch_ms*=.5": "[{channels.a=b.trip.latch_ms 9}]",
	} {
		s, err := wheel.ParseSet(text)
		groups, errResolved := m.Resolve(s)
		if err != nil || errResolved != nil || fmt.Sprint(wheel.SetsOf(groups)) != want {
			t.Errorf("%s: %v, %v, %v", text, groups, err, errResolved)
		}
	}
}
