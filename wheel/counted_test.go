package wheel_test

import (
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/demo"
)

// Worked by hand: at 4 steps a beat, step 100 is the 26th beat: with 4 beats in a
// bar that is bar 7 beat 2, with 3 it is bar 9 beat 2; step 36 is bar 3 beat 2, or
// the first beat of the fourth bar.
func TestPlacesAreCountedInThePinningsOwnBars(t *testing.T) {
	m := demo.Machine()
	for _, c := range []struct {
		beats wheel.Count
		step  int
		want  string
	}{
		{0, 100, "bar 7 beat 2"}, {4, 100, "bar 7 beat 2"}, {3, 100, "bar 9 beat 2"},
		{0, 36, "bar 3 beat 2"}, {3, 36, "bar 4 beat 1"},
	} {
		counted := m.CountedFor(&wheel.Pinning{BeatsPerBar: c.beats})
		if got := counted.Wheel.PlaceText(c.step); got != c.want {
			t.Errorf("with %d beats in a bar step %d is at %s, want %s", c.beats, c.step, got, c.want)
		}
	}
	if m.Wheel.BeatsPerBar != 4 {
		t.Error("the machine itself was changed")
	}
}

func TestAPinningOfOtherBeatsDoesNotFit(t *testing.T) {
	m := demo.Machine()
	p := &wheel.Pinning{Title: "Jig", StepsPerBeat: 6}
	if got, want := p.CheckFits(m).Error(), "the pinning Jig does not fit Hailstone: steps_per_beat is 6, and the wheel of Hailstone has 4 steps to a beat; a pinning has to have the same"; got != want {
		t.Errorf("it is refused with %q, want %q", got, want)
	}
	if p.StepsPerBeat = 4; p.CheckFits(m) != nil {
		t.Error("one of the machine's own beats is refused")
	}
}
