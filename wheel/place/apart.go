package place

import (
	"cmp"
	"slices"

	"pinwright/wheel"
)

// Apart lists what is to be pulled and driven so that a wheel with the pins on
// carries the pins to: those that only one of the two has. It is the one place
// that says what is left to do at a wheel. Aims do not matter. Both lists are by
// step, then by channel.
func Apart(on, to []wheel.Pin) (pulls, drives []wheel.Pin) {
	on, to = sorted(on), sorted(to)
	for len(on) > 0 && len(to) > 0 {
		switch d := byStep(on[0], to[0]); {
		case d < 0:
			pulls, on = append(pulls, on[0]), on[1:]
		case d > 0:
			drives, to = append(drives, to[0]), to[1:]
		default:
			on, to = on[1:], to[1:]
		}
	}
	return append(pulls, on...), append(drives, to...)
}

// Left is how many pulls and drives are left until a wheel with the pins on
// carries the pins to.
func Left(on, to []wheel.Pin) int {
	pulls, drives := Apart(on, to)
	return len(pulls) + len(drives)
}

// sorted is the pins by step and channel. Pins that are so already, as kept
// ones are, are not copied.
func sorted(pins []wheel.Pin) []wheel.Pin {
	if slices.IsSortedFunc(pins, byStep) {
		return pins
	}
	return slices.SortedFunc(slices.Values(pins), byStep)
}

func byStep(a, b wheel.Pin) int {
	if a.Step != b.Step {
		return a.Step - b.Step
	}
	return cmp.Compare(a.Channel, b.Channel)
}
