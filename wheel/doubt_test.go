package wheel_test

import (
	"slices"
	"strings"
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/file"
	"pinwright/wheel/file/filetest"
)

// The assumptions are those of the file format: a twentieth of latch and reload
// as spread; of times and speeds as doubt; 1 mm for lengths of lanes, 0.25° for
// slopes, 0.5 mm for reach and hold. What is measured and what stands beside a
// figure come first.
func TestDoubtsAreMeasuredElseStatedElseAssumed(t *testing.T) {
	m := hailstone(t)
	m.Measured = []wheel.Measured{
		{Figure: "channels.bar-c5.gate.reload_ms", N: 10, SD: wheel.Known(8.1), U: wheel.Known(2.6)},
		{Figure: "channels.bar-c5.exit_mm_s", N: 16, SD: wheel.Known(20)}, // 20/√16 = 5
		{Figure: "lanes.chute.slope_deg", U: wheel.Known(0.1)},
	}
	for path, want := range map[string]wheel.Doubt{
		"channels.bar-c5.gate.reload_ms": {SD: 8.1, U: 2.6, SDSource: wheel.IsMeasured, USource: wheel.IsMeasured},
		"channels.bar-c5.exit_mm_s":      {SD: 20, U: 5, SDSource: wheel.IsMeasured, USource: wheel.IsMeasured},
		"channels.bar-c5.trip.latch_ms":  {SD: 3, U: 0.05 * 18, SDSource: wheel.InFile, USource: wheel.Assumed},
		"channels.bar-c5.trip.reach_mm":  {U: 0.5, USource: wheel.Assumed},
		"channels.bar-c5.trip.return_ms": {U: 0.05 * 60, USource: wheel.Assumed},
		"lanes.chute.slope_deg":          {U: 0.1, USource: wheel.IsMeasured},
		"lanes.chute.length_mm":          {U: 1, USource: wheel.Assumed},
		"lanes.chute.keep":               {U: 0.05 * 0.6, USource: wheel.Assumed},
		"lanes.drop-high.keep":           {}, // left out: exactly 1
		"lanes.chute.rail_gap_mm":        {},
		"wheel.radius_mm":                {},
	} {
		if got := m.Doubt(path); got != want {
			t.Errorf("%s: %+v, want %+v", path, got, want)
		}
	}
	m.Channels[0].Trip.JitterMS = wheel.Maybe{}
	if got := m.Doubt("channels.bar-c5.trip.latch_ms"); got.SD != 0.05*18 || got.SDSource != wheel.Assumed {
		t.Errorf("without jitter the latch has %+v", got)
	}
}

// A trial keeps spread and doubt as numbers; a change that is kept forgets what
// was measured of the figure.
func TestATrialKeepsTheDoubtAndAChangeDropsTheMeasurement(t *testing.T) {
	const reload = "channels.bar-c5.gate.reload_ms"
	m := hailstone(t)
	trial, err := m.With(reload, 280)
	if err != nil {
		t.Fatal(err)
	}
	if got, was := trial.Doubt(reload), m.Doubt(reload); got != was || got.U != 0.05*140 {
		t.Errorf("the trial has %+v, the machine %+v", got, was)
	}
	m.Measured = []wheel.Measured{{Figure: reload, U: wheel.Known(2)}, {Figure: "channels.bar-c5.trip.latch_ms", U: wheel.Known(1)}}
	after, _, err := m.Change(wheel.Set{Path: reload, Value: 280})
	if err != nil {
		t.Fatal(err)
	}
	if got := after.Doubt(reload); got.U != 0.05*280 || len(after.Measured) != 1 {
		t.Errorf("after the change the doubt is %+v, measured are %+v", got, after.Measured)
	}
}

func TestUnknownAreTheFiguresThatTimesDependOn(t *testing.T) {
	m := hailstone(t)
	if got := m.Unknown(wheel.AllChannels); len(got) > 0 {
		t.Errorf("unknown are %v", got)
	}
	c := &m.Channels[0]
	c.Trip, c.Gate, c.Strike, c.ExitMMS = wheel.Trip{}, wheel.Gate{}, wheel.Strike{}, wheel.Maybe{}
	m.Lanes[1].LengthMM, m.Lanes[1].SlopeDeg = wheel.Maybe{}, wheel.Maybe{}
	want := []string{
		"channels.bar-c5.trip.reach_mm", "channels.bar-c5.trip.hold_mm", "channels.bar-c5.trip.return_ms", "channels.bar-c5.trip.latch_ms",
		"channels.bar-c5.gate.reload_ms", "channels.bar-c5.strike.clear_ms", "channels.bar-c5.exit_mm_s",
		"lanes.chute.length_mm", "lanes.chute.slope_deg",
	}
	if got := m.Unknown(wheel.AllChannels); !slices.Equal(got, want) {
		t.Errorf("unknown are %v, want %v", got, want)
	}
	if got := m.Unknown(func(int) bool { return false }); len(got) > 0 {
		t.Errorf("of no channel unknown are %v", got)
	}
	c.Gate.FeedSlopeDeg, c.Strike.Restitution = wheel.Known(5), wheel.Known(0)
	if got := m.Unknown(wheel.AllChannels); slices.Contains(got, want[4]) || slices.Contains(got, want[5]) {
		t.Errorf("unknown are %v", got)
	}
	c.Works, c.Path, c.Exit = wheel.Holds, nil, nil
	if got := m.Unknown(wheel.AllChannels); !slices.Equal(got, want[:4]) {
		t.Errorf("of a hold unknown are %v, want %v", got, want[:4])
	}
}

func TestAssumptionsAreListed(t *testing.T) {
	m := hailstone(t)
	got := m.Assumed(wheel.AllChannels)
	for _, path := range []string{"wheel.pin_sd_mm", "limits.ripple", "lanes.drop-high.length_mm", "lanes.chute.slope_deg",
		"channels.bar-c5.trip.reach_mm", "channels.bar-c5.gate.reload_ms", "channels.bar-c5.exit_mm_s"} {
		if !slices.Contains(got, path) {
			t.Errorf("%s is not among %v", path, got)
		}
	}
	for _, path := range []string{"limits.wander", "lanes.drop-high.keep", "wheel.radius_mm", "channels.bar-c5.gate.feed_slope_deg"} {
		if slices.Contains(got, path) {
			t.Errorf("%s is among %v", path, got)
		}
	}
}

func TestMeasurementsThatCannotBeAreRefused(t *testing.T) {
	const reload = "channels.bar-c5.gate.reload_ms"
	text := string(filetest.Written(t, file.Machine(hailstone(t))))
	for entry, want := range map[string]string{
		`{"figure": "` + reload + `", "n": 10, "sd": 8}`:                             "",
		`{"figure": "` + reload + `", "sd": 8}`:                                      "measured[0].u is missing; give u, or both sd and n",
		`{"figure": "` + reload + `", "u": -1}`:                                      "measured[0].u is −1; a doubt cannot be negative",
		`{"figure": "channels.bar-c5.gate.feed_slope_deg", "u": 1}`:                  `measured[0].figure is "channels.bar-c5.gate.feed_slope_deg", for which the file gives no value; give the value, or remove this entry`,
		`{"figure": "channels.bar-c9.gate.reload_ms", "u": 1}`:                       "measured[0].figure names no figure of this machine: ",
		`{"figure": "` + reload + `", "u": 1, "on": "20.11.2026"}`:                   `measured[0].on is "20.11.2026"; a date is written year-month-day, such as 2026-11-20`,
		`{"figure": "` + reload + `", "u": 1}, {"figure": "` + reload + `", "u": 2}`: `measured[1].figure is "` + reload + `", which measured[0] is about already; keep one entry for a figure`,
	} {
		_, err := file.ReadMachine([]byte(filetest.Edit(t, text, `"limits": {`, `"measured": [`+entry+`], "limits": {`)))
		switch {
		case want == "" && err != nil, want != "" && (err == nil || !strings.Contains(err.Error(), want)):
			t.Errorf("%s: %v, want %q", entry, err, want)
		}
	}
}

func TestLimitsThatCannotBeAreRefused(t *testing.T) {
	text := string(filetest.Written(t, file.Machine(hailstone(t))))
	for limit, want := range map[string]string{
		`"house_bpm": 20`: "limits.house_bpm is 20; it cannot be below tempo_min_bpm, 30: no tempo would be left",
		`"ripple": 1`:     "limits.ripple is 1; it is a fraction of the tempo and has to be below 1, such as 0.03",
	} {
		_, err := file.ReadMachine([]byte(filetest.Edit(t, text, `"limits": {`, `"limits": {`+limit+`,`)))
		filetest.WantProblems(t, err, want)
	}
	_, err := file.ReadMachine([]byte(filetest.Edit(t, text, `"radius_mm": 600`, `"radius_mm": 1e-308`)))
	if err == nil || !strings.Contains(err.Error(), "wheel.radius_mm is 1e−308; a length is at least 0.001 mm") {
		t.Errorf("a radius of 1e-308: %v", err)
	}
}
