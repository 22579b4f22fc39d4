package place

import (
	"fmt"
	"testing"

	"pinwright/wheel"
)

// machine is one of n steps with channels c0, c1, …, on rows 0, 1, …, one key
// each.
func machine(n int, keys ...int) *wheel.Machine {
	m := &wheel.Machine{
		Format: wheel.MachineFormat, Name: "Hailstone",
		Marble: wheel.Marble{DiameterMM: 12, ClearanceMM: 2},
		Wheel: wheel.Wheel{
			RadiusMM: 600, SurfaceRadiusMM: 590, Steps: n, StepsPerBeat: 4, BeatsPerBar: 4,
			FirstRowMM: 40, RowPitchMM: 18, PinDiameterMM: 4, PinStock: 1500,
		},
		Limits: wheel.Limits{TempoMinBPM: 30, TempoMaxBPM: 180, FlamMS: 20},
	}
	for i, key := range keys {
		m.Channels = append(m.Channels, wheel.Channel{
			ID: fmt.Sprint("c", i), Name: fmt.Sprint("Bar ", i), Row: i, Kind: "bar", Keys: []int{key}, Service: wheel.Playing,
		})
	}
	return m
}

// pinning has the given steps on c0, c1, ….
func pinning(title string, steps ...[]int) *wheel.Pinning {
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: title, Machine: "Hailstone", TempoBPM: 84}
	for i, on := range steps {
		for _, s := range on {
			p.Pins = append(p.Pins, wheel.Pin{Channel: fmt.Sprint("c", i), Step: s})
		}
	}
	return p
}

func mustPlan(t testing.TB, m *wheel.Machine, from, to *wheel.Pinning, o Options) *Plan {
	t.Helper()
	p, err := Changeover(m, from, to, o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}
