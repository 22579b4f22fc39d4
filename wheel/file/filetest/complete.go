package filetest

import "pinwright/wheel"

// Complete gives every figure of a channel that is left out the value 0, where a
// time depends on it, so that a test may leave out those that it is not about.
// It changes the machine and returns it.
func Complete(m *wheel.Machine) *wheel.Machine {
	zero := func(figures ...*wheel.Maybe) {
		for _, f := range figures {
			*f = wheel.Known(f.Or(0))
		}
	}
	for i := range m.Channels {
		c := &m.Channels[i]
		zero(&c.Trip.ReachMM, &c.Trip.HoldMM, &c.Trip.ReturnMS, &c.Trip.LatchMS, &c.ExitMMS)
		if !c.Gate.FeedSlopeDeg.IsKnown() {
			zero(&c.Gate.ReloadMS)
		}
		if !c.Strike.Restitution.IsKnown() {
			zero(&c.Strike.ClearMS)
		}
	}
	return m
}
