package timing_test

import (
	"testing"

	"pinwright/timing"
)

// Of two pins a step apart the gate, which needs 140 ms, serves the second at
// 100 BPM, 150 ms a step, and not at 120, 125 ms; the lever is tripped either way
// (worked by hand). Three turns of 64 beats at 100 BPM take 115.2 s.
func TestPlayCountsTripsAndStrikes(t *testing.T) {
	turn, err := works(t, oneBar).Turn(pinned(at("bar-c5", 36), at("bar-c5", 37), at("bar-e5", 100)))
	if err != nil {
		t.Fatal(err)
	}
	p := turn.Play(100, 3)
	if d := p.Seconds - 115.2; d > 1e-9 || d < -1e-9 {
		t.Errorf("three turns take %g s", p.Seconds)
	}
	if p.Trips != 9 || p.Marbles != 9 || len(p.Channels) != 2 || p.Channels[0] != (timing.Wear{Channel: 0, Trips: 6, Strikes: 6}) {
		t.Errorf("at 100 BPM: %+v", p)
	}
	p = turn.Play(120, 3)
	if p.Trips != 9 || p.Marbles != 6 || p.Channels[0] != (timing.Wear{Channel: 0, Trips: 6, Strikes: 3}) || p.Channels[1].Strikes != 3 {
		t.Errorf("at 120 BPM: %+v", p)
	}
}
