package wheel_test

import (
	"reflect"
	"slices"
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/file"
	"pinwright/wheel/file/filetest"
)

// The values are those of the file, read by eye.
func TestMachineFileIsReadAsItStands(t *testing.T) {
	m, err := file.ReadMachine([]byte(filetest.Example(t, filetest.MachineFile)))
	if err != nil {
		t.Fatal(err)
	}
	want := &wheel.Machine{
		Format: "pinwright-machine/1",
		Name:   "Hailstone",
		Marble: wheel.Marble{DiameterMM: 12, ClearanceMM: 2, DensityKgM3: 7850, Stock: 900},
		Wheel: wheel.Wheel{RadiusMM: 600, Steps: 256, StepsPerBeat: 4, BeatsPerBar: 4,
			FirstRowMM: 40, RowPitchMM: 18, PinDiameterMM: 4, PinStock: 1500, CrankTurns: 8},
		Lanes: []wheel.Lane{
			{ID: "drop-high", Kind: "fall", LengthMM: wheel.Known(240)},
			{ID: "chute", Kind: "ramp", LengthMM: wheel.Known(420), SlopeDeg: wheel.Known(11), RailGapMM: 7, Rolling: 0.003, Keep: wheel.Known(0.6)},
		},
		Channels: []wheel.Channel{{
			ID: "bar-c5", Name: "Bar C5", Row: 0, Kind: "bar", Keys: []int{72}, Service: "playing",
			Trip: wheel.Trip{ReachMM: wheel.Known(3.5), HoldMM: wheel.Known(6), ReturnMS: wheel.Known(60), LatchMS: wheel.Known(18), JitterMS: wheel.Known(3)},
			Gate: wheel.Gate{ReloadMS: wheel.Known(140), ReloadSDMS: wheel.Known(8), ReleaseMMS: 0},
			Path: []string{"drop-high"}, Strike: wheel.Strike{ClearMS: wheel.Known(90)}, ExitMMS: wheel.Known(250), Exit: []string{"chute"},
			Queue: wheel.Queue{Holds: 24, Least: 4, Most: 20},
		}},
		Lift:   wheel.Lift{Drive: "wheel", PocketsPerTurn: 480, CarryMS: 6000, Share: "cascade"},
		Limits: wheel.Limits{TempoMinBPM: 30, TempoMaxBPM: 180, FlamMS: 20, TripsAtOnce: 8, Wander: wheel.Known(0.02)},
	}
	if !reflect.DeepEqual(m, want) {
		t.Errorf("read\n\t%+v\nwant\n\t%+v", m, want)
	}
}

func TestEveryKeyHasAPlaceInTheMachine(t *testing.T) {
	m, err := file.ReadMachine([]byte(filetest.Example(t, "every-key.json")))
	if err != nil {
		t.Fatal(err)
	}
	// Each key is somewhere among the entries of its list.
	var walk func(place string, of reflect.Type, vs []reflect.Value)
	walk = func(place string, of reflect.Type, vs []reflect.Value) {
		switch {
		case of == reflect.TypeFor[wheel.Maybe]() || of.Kind() != reflect.Struct && of.Kind() != reflect.Slice:
			if !slices.ContainsFunc(vs, func(v reflect.Value) bool { return !v.IsZero() }) {
				t.Errorf("%s is given nowhere", place)
			}
		case of.Kind() == reflect.Struct:
			for i := range of.NumField() {
				field := of.Field(i)
				if !field.IsExported() || place == "machine" && field.Name == "Lift" {
					continue
				}
				var in []reflect.Value
				for _, v := range vs {
					in = append(in, v.Field(i))
				}
				walk(place+"."+field.Name, field.Type, in)
			}
		default:
			var in []reflect.Value
			for _, v := range vs {
				for i := range v.Len() {
					in = append(in, v.Index(i))
				}
			}
			walk(place+"[]", of.Elem(), in)
		}
	}
	walk("machine", reflect.TypeFor[wheel.Machine](), []reflect.Value{reflect.ValueOf(*m)})
}

// The defaults are those of the file format.
func TestNumbersLeftOutHaveTheirDefaults(t *testing.T) {
	const least = `{
		"format": "pinwright-machine/1", "name": "Least",
		"marble": {"diameter_mm": 12},
		"wheel": {"radius_mm": 600, "steps": 256, "steps_per_beat": 4, "beats_per_bar": 4},
		"lanes": [{"id": "drop", "kind": "fall", "length_mm": 240}],
		"channels": [{"id": "bar", "name": "Bar", "kind": "bar"}]
	}`
	limits := wheel.Limits{TempoMinBPM: 30, TempoMaxBPM: 240, FlamMS: 20, TripsAtOnce: 0}
	for name, text := range map[string]string{
		"no limits":    least,
		"empty limits": filetest.Edit(t, least, `"name": "Least",`, `"name": "Least", "limits": {},`),
	} {
		t.Run(name, func(t *testing.T) {
			m, err := file.ReadMachine([]byte(text))
			if err != nil {
				t.Fatal(err)
			}
			if m.Limits != limits {
				t.Errorf("limits are %+v, want %+v", m.Limits, limits)
			}
			if want := (wheel.Lane{ID: "drop", Kind: "fall", LengthMM: wheel.Known(240)}); m.Lanes[0] != want {
				t.Errorf("lane is %+v, want %+v", m.Lanes[0], want)
			}
			if want := (wheel.Channel{ID: "bar", Name: "Bar", Kind: "bar", Service: "playing"}); !reflect.DeepEqual(m.Channels[0], want) {
				t.Errorf("channel is %+v, want %+v", m.Channels[0], want)
			}
			if got := m.Wheel.SurfaceMM(); got != 600 {
				t.Errorf("sheets lie at %g mm, want 600, the radius", got)
			}
		})
	}
	m, err := file.ReadMachine([]byte(filetest.Edit(t, least, `"length_mm": 240`, `"length_mm": 240, "keep": 0`)))
	if err != nil {
		t.Fatal(err)
	}
	if m.Lanes[0].Keep != wheel.Known(0) {
		t.Errorf("keep was given as 0 and is %v", m.Lanes[0].Keep)
	}
}

func TestChannelsAndLanesAreFoundByID(t *testing.T) {
	m, err := file.ReadMachine([]byte(filetest.Example(t, filetest.MachineFile)))
	if err != nil {
		t.Fatal(err)
	}
	for id, want := range map[string]int{"drop-high": 0, "chute": 1, "Chute": -1, "": -1} {
		if got := m.Lane(id); got != want {
			t.Errorf("lane %q is %d, want %d", id, got, want)
		}
	}
	for id, want := range map[string]int{"bar-c5": 0, "Bar C5": -1} {
		if got := m.Channel(id); got != want {
			t.Errorf("channel %q is %d, want %d", id, got, want)
		}
	}
	if got, want := m.Channels[0].Route(), []string{"drop-high", "chute"}; !slices.Equal(got, want) {
		t.Errorf("the route is %q, want %q", got, want)
	}
}

func TestCloneOfAMachineSharesNothing(t *testing.T) {
	read := func() *wheel.Machine {
		m, err := file.ReadMachine([]byte(filetest.Example(t, "every-key.json")))
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	m, untouched := read(), read()
	c := m.Clone()
	if !reflect.DeepEqual(c, m) {
		t.Fatalf("the clone is\n\t%+v\nof\n\t%+v", c, m)
	}
	c.Name, c.Lanes[0].ID, c.Channels[0].ID = "x", "x", "x"
	c.Channels[0].Keys[0], c.Channels[0].Path[0], c.Channels[0].Exit[0] = 1, "x", "x"
	if !reflect.DeepEqual(m, untouched) {
		t.Errorf("a change of the clone made the machine\n\t%+v", m)
	}
}
