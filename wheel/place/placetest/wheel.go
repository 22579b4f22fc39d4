// Package placetest is what the tests of place and its folders share: small
// machines and pinnings, and a reader of what was drawn, in which nothing of
// package paper's writers is used.
package placetest

import (
	"fmt"

	"pgregory.net/rapid"

	"pinwright/wheel"
)

// Machine is one of n steps with channels c0, c1, …, on rows 0, 1, …, one key
// each.
func Machine(n int, keys ...int) *wheel.Machine {
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

// Pinning has the given steps on c0, c1, ….
func Pinning(title string, steps ...[]int) *wheel.Pinning {
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: title, Machine: "Hailstone", TempoBPM: 84}
	for i, on := range steps {
		for _, s := range on {
			p.Pins = append(p.Pins, wheel.Pin{Channel: fmt.Sprint("c", i), Step: s})
		}
	}
	return p
}

// Pinnings are two pinnings of one machine, with repeats in them so that
// shifts tie.
func Pinnings(t *rapid.T, most int) (*wheel.Machine, *wheel.Pinning, *wheel.Pinning) {
	n := rapid.IntRange(1, 40).Draw(t, "steps")
	keys := rapid.SliceOfN(rapid.IntRange(60, 61), 1, most).Draw(t, "keys")
	m := Machine(n, keys...)
	draw := func(title string) *wheel.Pinning {
		steps := make([][]int, len(keys))
		for i := range steps {
			steps[i] = rapid.SliceOfNDistinct(rapid.IntRange(0, n-1), 0, min(n, 12), rapid.ID).Draw(t, title)
		}
		return Pinning(title, steps...)
	}
	return m, draw("from"), draw("to")
}
