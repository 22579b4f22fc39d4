package arrange

import (
	"math"
	"testing"

	"pinwright/wheel"
)

// Worked by hand: 60 BPM and 4 steps a beat make a step of 250 ms and of 1 mm.
// Without reach, a latch of 100 ms against one of 40 ms are 60 ms apart, so 30
// ms late and 30 ms early of the middle; 30 ms of 250 ms are 0.12 of a step.
func TestRemainsAreToldFromTheMiddleAndInMillimetresOfArc(t *testing.T) {
	m := machine(16, 4, row{id: "a", keys: []int{60}, latchMS: 100}, row{id: "b", keys: []int{62}, latchMS: 40}, row{id: "c", keys: []int{64}, latchMS: 900})
	p := &wheel.Pinning{Pins: []wheel.Pin{{Channel: "a", Step: 1}, {Channel: "b", Step: 1}}}
	got := Remains(compile(t, m), p, 60)
	want := []Remain{{"a", 30, 0.12}, {"b", -30, -0.12}}
	if len(got) != len(want) {
		t.Fatalf("got %v; a channel without pins has no say", got)
	}
	for i := range want {
		if got[i].Channel != want[i].Channel || math.Abs(got[i].MS-want[i].MS) > 1e-9 || math.Abs(got[i].LeverMM-want[i].LeverMM) > 1e-9 {
			t.Errorf("got %v, want %v", got[i], want[i])
		}
	}
}

// Moving each follower by what is told leaves no spread: reach is arc, so a
// follower nearer by x mm is a reach shorter by x mm.
func TestMovingFollowersByWhatRemainsLeavesNoSpread(t *testing.T) {
	rows := []row{
		{id: "a", keys: []int{60}, reachMM: 3, latchMS: 100},
		{id: "b", keys: []int{62}, reachMM: 2, latchMS: 33},
		{id: "c", keys: []int{64}, reachMM: 2.5, latchMS: 71},
	}
	p := &wheel.Pinning{Advance: map[string]int{"a": 1}, Pins: []wheel.Pin{{Channel: "a", Step: 1}, {Channel: "b", Step: 2}, {Channel: "c", Step: 3}}}
	for i, r := range Remains(compile(t, machine(16, 4, rows...)), p, 97) {
		rows[i].reachMM -= r.LeverMM
	}
	for _, r := range Remains(compile(t, machine(16, 4, rows...)), p, 97) {
		if math.Abs(r.MS) > 1e-6 {
			t.Errorf("%s is still off by %g ms", r.Channel, r.MS)
		}
	}
}
