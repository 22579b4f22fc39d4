package wheel_test

import (
	"testing"

	"pinwright/wheel"
)

// Counted by hand: five pins, one of them on a channel that rests; steps 7 and
// 30 have two each.
func TestTurnCountsWhatPlaysAndTheFullestStep(t *testing.T) {
	m := &wheel.Machine{
		Wheel:    wheel.Wheel{Steps: 32},
		Channels: []wheel.Channel{{ID: "bar", Service: wheel.Playing}, {ID: "tube", Service: wheel.Playing}, {ID: "drum", Service: wheel.Resting}},
	}
	p := &wheel.Pinning{Pins: []wheel.Pin{
		{Channel: "bar", Step: 30}, {Channel: "tube", Step: 30}, {Channel: "bar", Step: 7}, {Channel: "drum", Step: 7}, {Channel: "tube", Step: 0},
	}}
	if got, want := p.CountTurn(m), (wheel.TurnCounts{Drops: 4, MostTrips: 2, Fullest: 7}); got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
	if got := (&wheel.Pinning{}).CountTurn(m); got != (wheel.TurnCounts{}) {
		t.Errorf("a wheel without pins: %+v", got)
	}
}
