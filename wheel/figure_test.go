package wheel_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"regexp"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
	"pinwright/wheel/file"
	"pinwright/wheel/file/filetest"
)

// The reference is the file itself as encoding/json reads it: every number in
// it, lists taken by id, but for rows and keys.
func TestEveryNumberOfAMachineFileIsAFigureButRowsAndKeys(t *testing.T) {
	m, err := file.ReadMachine([]byte(filetest.Example(t, "every-key.json")))
	if err != nil {
		t.Fatal(err)
	}
	text := string(filetest.Written(t, file.Machine(m)))
	want := map[string]string{}
	for _, s := range filetest.Spans(t, text) {
		if s.Kind != '0' || strings.HasSuffix(s.Place, ".row") || strings.Contains(s.Place, ".keys[") || strings.HasPrefix(s.Place, "measured[") {
			continue
		}
		path := regexp.MustCompile(`^(lanes|channels|lifts)\[(\d+)\]`).ReplaceAllStringFunc(s.Place, func(at string) string {
			list, index, _ := strings.Cut(strings.TrimSuffix(at, "]"), "[")
			var i int
			fmt.Sscan(index, &i)
			switch list {
			case "lanes":
				return list + "." + m.Lanes[i].ID
			case "lifts":
				return list + "." + m.Lifts[i].ID
			}
			return list + "." + m.Channels[i].ID
		})
		want[path] = text[s.Start:s.End]
	}
	for _, f := range m.Figures() {
		value, _ := json.Marshal(f.Value)
		if text, is := want[f.Path]; f.Value != 0 && (!is || text != string(value)) {
			t.Errorf("%s is %s, the file has %q", f.Path, value, text)
		}
		delete(want, f.Path)
		if again, err := m.Figure(f.Path); err != nil || again != f {
			t.Errorf("asked for %s: %+v, %v; listed as %+v", f.Path, again, err, f)
		}
		if f.Name == "" || strings.ContainsAny(f.Label, "_.") {
			t.Errorf("%s is called %q, %q", f.Path, f.Name, f.Label)
		}
	}
	if len(want) > 0 {
		t.Errorf("no figures for %v", want)
	}
}

func hailstone(t testing.TB) *wheel.Machine {
	t.Helper()
	m, err := file.ReadMachine([]byte(filetest.Example(t, filetest.MachineFile)))
	if err != nil {
		t.Fatal(err)
	}
	return m
}

func TestFiguresAreToldInWordsWithTheirUnits(t *testing.T) {
	m := hailstone(t)
	for _, want := range []wheel.Figure{
		{Path: "channels.bar-c5.gate.reload_ms", Name: "reload", Label: "reload of Bar C5", Unit: "ms", Value: 140, Given: true},
		{Path: "channels.bar-c5.exit_mm_s", Name: "speed off the plate", Label: "speed off the plate of Bar C5", Unit: "mm/s", Value: 250, Given: true},
		{Path: "channels.bar-c5.queue.most", Name: "most in the queue", Label: "most in the queue of Bar C5", Unit: "marbles", Value: 20, Whole: true, Given: true},
		{Path: "lanes.chute.slope_deg", Name: "slope", Label: "slope of lane chute", Unit: "°", Value: 11, Given: true},
		{Path: "lanes.chute.rolling", Name: "rolling resistance", Label: "rolling resistance of lane chute", Value: 0.003, Given: true},
		{Path: "marble.clearance_mm", Name: "clearance", Label: "clearance of the marble", Unit: "mm", Value: 2, Given: true},
		{Path: "marble.density_kg_m3", Name: "density", Label: "density of the marble", Unit: "kg/m³", Value: 7850, Given: true},
		{Path: "wheel.radius_mm", Name: "radius", Label: "radius of the wheel", Unit: "mm", Value: 600, Given: true},
		{Path: "limits.flam_ms", Name: "widest flam", Label: "widest flam", Unit: "ms", Value: 20, Given: true},
		{Path: "limits.tempo_max_bpm", Name: "highest tempo", Label: "highest tempo", Unit: "BPM", Value: 180, Given: true},
	} {
		if got, err := m.Figure(want.Path); err != nil || got != want {
			t.Errorf("%+v, %v\nwant %+v", got, err, want)
		}
	}
}

func TestAPathThatIsNoneSuggestsTheNearest(t *testing.T) {
	m := hailstone(t)
	for path, want := range map[string]string{
		"channels.bar-c5.gate.relod_ms":      "channels.bar-c5.gate.relod_ms is no figure of the machine; did you mean channels.bar-c5.gate.reload_ms?",
		"channels.bar-c5.reload_ms":          "channels.bar-c5.reload_ms is no figure of the machine; did you mean channels.bar-c5.gate.reload_ms?",
		"channels.bar-c5.reload":             "channels.bar-c5.reload is no figure of the machine; did you mean channels.bar-c5.gate.reload_ms?",
		"channels.bar-c6.gate.reload_ms":     "channels.bar-c6.gate.reload_ms is no figure of the machine: it has no channel bar-c6; did you mean channels.bar-c5.gate.reload_ms?",
		"lanes.chut.slop_deg":                "lanes.chut.slop_deg is no figure of the machine: it has no lane chut; did you mean lanes.chute.slope_deg?",
		"marble.clearence_mm":                "marble.clearence_mm is no figure of the machine; did you mean marble.clearance_mm?",
		"channels.bar-c5.row":                "channels.bar-c5.row is no figure of the machine",
		"channels.bar-c5":                    "channels.bar-c5 is a channel; name a figure of it, such as channels.bar-c5.trip.reach_mm",
		"":                                   `"" is no figure of the machine`,
		"name":                               "name is no figure of the machine",
		"lanes":                              "lanes is no figure of the machine",
		"lanes.":                             `lanes. is no figure of the machine: it has no lane ""`,
		strings.Repeat("channels.", 1000000): `"channels.channels.channels.channels.chan…" is no figure of the machine: it has no channel channels`,
	} {
		if _, err := m.Figure(path); err == nil || err.Error() != want {
			t.Errorf("%.60q:\n\t%v\nwant\n\t%s", path, err, want)
		}
	}
}

// Ids may have dots in them, and one may begin with another.
func TestTheLongestIDThatFitsIsMeant(t *testing.T) {
	m := hailstone(t)
	first := m.Channels[0]
	for row, id := range []string{"a", "a.gate", "a.b"} {
		c := first
		c.ID, c.Name, c.Row = id, "Bar "+id, row+1
		m.Channels = append(m.Channels, c)
	}
	for path, want := range map[string]string{
		"channels.a.strike.clear_ms":        "Bar a",
		"channels.a.gate.gate.reload_ms":    "Bar a.gate",
		"channels.a.b.gate.reload_ms":       "Bar a.b",
		"channels.bar-c5.strike.clear_ms":   "Bar C5",
		"channels.a.gate.trip.latch_ms":     "Bar a.gate",
		"channels.a.b.queue.holds":          "Bar a.b",
		"channels.a.exit_mm_s":              "Bar a",
		"channels.a.gate.strike.clear_ms":   "Bar a.gate",
		"channels.a.gate.queue.least":       "Bar a.gate",
		"channels.a.b.strike.restitution":   "Bar a.b",
		"channels.a.trip.jitter_ms":         "Bar a",
		"channels.a.gate.gate.rolling":      "Bar a.gate",
		"channels.a.b.gate.feed_slope_deg":  "Bar a.b",
		"channels.a.b.gate.release_mm_s":    "Bar a.b",
		"channels.a.gate.gate.reload_sd_ms": "Bar a.gate",
	} {
		if f, err := m.Figure(path); err != nil || !strings.HasSuffix(f.Label, " of "+want) {
			t.Errorf("%s is %q, %v; want that of %s", path, f.Label, err, want)
		}
	}
}

// A radius of the surface is none where the file leaves it out ("radius_mm if
// left out"); a speed kept of 0 is one that the file says.
func TestAFigureSaysWhatItCountsAndWhetherTheFileGivesIt(t *testing.T) {
	m := hailstone(t)
	m.Wheel.SurfaceRadiusMM, m.Lift = 0, wheel.Lift{Drive: "motor", MarblesPerS: 2.5}
	m.Lanes[0].Keep = wheel.Known(0)
	for path, want := range map[string]struct {
		label, unit string
		given       bool
	}{
		"wheel.surface_radius_mm":          {"radius of the surface of the wheel", "mm", false},
		"lift.marbles_per_s":               {"rate of the lift", "marbles/s", true},
		"lift.pockets_per_turn":            {"pockets of the lift", "to a turn of the wheel", false},
		"marble.stock":                     {"number in stock of the marble", "marbles", true},
		"lanes." + m.Lanes[0].ID + ".keep": {"fraction of speed kept of lane " + m.Lanes[0].ID, "", true},
	} {
		f, err := m.Figure(path)
		if err != nil || f.Label != want.label || f.Unit != want.unit || f.Given != want.given {
			t.Errorf("%s: %q in %q, given %t, %v; want %+v", path, f.Label, f.Unit, f.Given, err, want)
		}
	}
}

// Whatever figure is set, the copy's file differs in that one number and is
// judged as its reader judges it, and the machine itself stays as it was.
func TestAChangedCopyIsTheFileWithOneNumberChanged(t *testing.T) {
	text := filetest.Example(t, "every-key.json")
	m, err := file.ReadMachine([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	figures := m.Figures()
	before := string(filetest.Written(t, file.Machine(m)))
	refusals := 0
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.SampledFrom(figures).Draw(t, "figure")
		value := rapid.OneOf(rapid.Float64(), rapid.Float64Range(-2, 2), rapid.Map(rapid.IntRange(-5, 2000), func(n int) float64 { return float64(n) })).Draw(t, "value")
		n, err := m.With(f.Path, value)
		if after := string(filetest.Written(t, file.Machine(m))); after != before {
			t.Fatal("the machine itself has changed")
		}
		if err != nil {
			refusals++
			var problems wheel.Problems
			errors.As(err, &problems)
			if len(problems) == 0 {
				t.Fatal("refused without a word")
			}
			return
		}
		if got, _ := n.Figure(f.Path); got.Value != value {
			t.Fatalf("%s is %v, not %v", f.Path, got.Value, value)
		}
		again, err := file.ReadMachine(filetest.Written(t, file.Machine(n)))
		if err != nil {
			t.Fatalf("%s = %v was taken, and its file says %v", f.Path, value, err)
		}
		back, err := again.With(f.Path, f.Value)
		if err != nil || f.Given && string(filetest.Written(t, file.Machine(back))) != before {
			t.Fatalf("put back, %s leaves another machine: %v", f.Path, err)
		}
	})
	if refusals == 0 {
		t.Error("nothing was refused")
	}
}

func TestAValueOutOfRangeIsRefusedInTheReadersWords(t *testing.T) {
	m := hailstone(t)
	for _, c := range []struct {
		path  string
		value float64
		want  string
	}{
		{"channels.bar-c5.gate.reload_ms", -5, "channels.bar-c5.gate.reload_ms is −5; a time cannot be negative"},
		{"lanes.chute.keep", 1.5, "lanes.chute.keep is 1.5; a fraction of speed kept is at most 1"},
		{"wheel.radius_mm", 0, "wheel.radius_mm is 0; it has to be a length above 0"},
		{"wheel.radius_mm", math.NaN(), "wheel.radius_mm is not a finite number"},
		{"marble.stock", 2.5, "marble.stock is 2.5; it should be a whole number below a thousand million"},
		{"marble.stock", math.Inf(1), "marble.stock is +Inf; it should be a whole number below a thousand million"},
		{"limits.tempo_min_bpm", 190, "limits.tempo_max_bpm is 180; it has to be above tempo_min_bpm, 190"},
		{"marble.diameter_mm", 6, "lanes[1].rail_gap_mm is 7; a marble of 6 mm would fall through, so it has to be smaller"},
	} {
		_, err := m.With(c.path, c.value)
		filetest.WantProblems(t, err, c.want)
	}
}

// Each alone would leave a range of tempo that is none.
func TestFiguresChangedTogetherAreJudgedTogether(t *testing.T) {
	m := hailstone(t)
	n, err := m.WithSets(wheel.Set{Path: "limits.tempo_min_bpm", Value: 190}, wheel.Set{Path: "limits.tempo_max_bpm", Value: 240})
	if err != nil || n.Limits.TempoMinBPM != 190 || n.Limits.TempoMaxBPM != 240 {
		t.Errorf("%+v, %v", n, err)
	}
}

func ExampleMachine_With() {
	m := &wheel.Machine{
		Format: wheel.MachineFormat, Name: "One bar",
		Marble:   wheel.Marble{DiameterMM: 12, ClearanceMM: 2},
		Wheel:    wheel.Wheel{RadiusMM: 600, Steps: 256, StepsPerBeat: 4, BeatsPerBar: 4},
		Channels: []wheel.Channel{{ID: "bar-c5", Name: "Bar C5", Kind: "bar", Service: wheel.Playing, Gate: wheel.Gate{ReloadMS: wheel.Known(140)}}},
		Limits:   wheel.Limits{TempoMinBPM: 30, TempoMaxBPM: 180, FlamMS: 20},
	}
	n, err := m.With("channels.bar-c5.gate.reload_ms", 121)
	if err != nil {
		fmt.Println(err)
		return
	}
	f, _ := n.Figure("channels.bar-c5.gate.reload_ms")
	fmt.Println(f.Label, f.Value, f.Unit)
	_, err = m.With("channels.bar-c5.gate.reload_ms", -5)
	fmt.Println(err)
	// Output:
	// reload of Bar C5 121 ms
	// channels.bar-c5.gate.reload_ms is −5; a time cannot be negative
}
