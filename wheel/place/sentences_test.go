package place

import (
	"strings"
	"testing"

	"pinwright/wheel"
)

func TestPlanIsToldInWords(t *testing.T) {
	m := machine(16, 60, 62)
	tell := func(from, to *wheel.Pinning, o Options) string {
		return strings.Join(mustPlan(t, m, from, to, o).Sentences(m), "\n")
	}
	a, b := pinning("A", []int{1, 3, 7, 8}), pinning("B", []int{0, 4, 14})
	m.Wheel.PinStock = 3
	if got, want := tell(a, b, Options{Rotate: true, PinsPerMin: 0.01}), `1 pull and 0 drives; 3 pins stay in place.
One turn from step 0, always forwards.
B is set 3 steps later on the wheel: its step 0 is at step 3, bar 1 beat 1 +3/4.
That saves 6 pulls and drives.
3 pins are needed of the 3 there are, on the wheel and off it: 0 left over.
About 1 h 40 min at the rate given.`; got != want {
		t.Errorf("it says\n%s\nwant\n%s", got, want)
	}
	m.Wheel.PinStock = 1
	if got, want := tell(pinning("A"), b, Options{Start: 2}), `0 pulls and 3 drives; 0 pins stay in place.
One turn from step 2, always forwards.
3 pins are needed and there are 1, on the wheel and off it: 2 short.
Have 3 loose pins at hand at the start. After that, use the pins that were pulled.
No rate of work is given, so there is no estimate of the time.`; got != want {
		t.Errorf("it says\n%s\nwant\n%s", got, want)
	}
	m.Wheel.PinStock = 0
	if got := tell(a, a, Options{PinsPerMin: 5}); !strings.Contains(got, "4 pins are needed. The machine's file does not say how many there are.") || !strings.Contains(got, "About 0 minutes") {
		t.Errorf("it says\n%s", got)
	}
	m.Channels[1].Keys = m.Channels[0].Keys
	if got := tell(pinning("A", nil, []int{3, 7}), pinning("B", []int{3, 7}), Options{Exchange: true}); !strings.Contains(got, "Exchanged: the pins of c0 go to c1, the pins of c1 go to c0. Those channels have mechanics of their own; check the timing again.") {
		t.Errorf("it says\n%s", got)
	}
}
