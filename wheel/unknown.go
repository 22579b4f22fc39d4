package wheel

import "slices"

// Unknown lists the paths of figures that the file leaves out though times
// depend on them, of the channels that are asked for by index and of their
// lanes: the channels' first, in the order of the file. Of two figures of which
// one would do, the first is named.
func (m *Machine) Unknown(of func(channel int) bool) []string {
	var unknown []string
	used := make([]bool, len(m.Lanes))
	for i := range m.Channels {
		if !of(i) {
			continue
		}
		c := &m.Channels[i]
		for _, key := range c.unknown() {
			unknown = append(unknown, "channels."+c.ID+"."+key)
		}
		if c.Holds() {
			continue
		}
		for _, id := range c.Route() {
			if lane := m.Lane(id); lane >= 0 {
				used[lane] = true
			}
		}
	}
	weighs := false
	for i := range m.Lanes {
		l := &m.Lanes[i]
		if !used[i] {
			continue
		}
		for _, key := range l.unknown() {
			unknown = append(unknown, "lanes."+l.ID+"."+key)
		}
		weighs = weighs || l.Kind == Fall && l.BoreMM > 0
	}
	if weighs && m.Marble.DensityKgM3 == 0 {
		unknown = append(unknown, "marble.density_kg_m3")
	}
	return unknown
}

// unknown are the keys of a channel's figures that are needed and left out.
func (c *Channel) unknown() []string {
	var keys []string
	need := func(key string, given ...Maybe) {
		if !slices.ContainsFunc(given, Maybe.IsKnown) {
			keys = append(keys, key)
		}
	}
	need("trip.reach_mm", c.Trip.ReachMM)
	need("trip.hold_mm", c.Trip.HoldMM)
	need("trip.return_ms", c.Trip.ReturnMS)
	need("trip.latch_ms", c.Trip.LatchMS)
	if c.Holds() {
		return keys
	}
	need("gate.reload_ms", c.Gate.ReloadMS, c.Gate.FeedSlopeDeg)
	need("strike.clear_ms", c.Strike.ClearMS, c.Strike.Restitution)
	if len(c.Exit) > 0 {
		need("exit_mm_s", c.ExitMMS)
	}
	return keys
}

// unknown are the keys of a lane's figures that are needed and left out.
func (l *Lane) unknown() []string {
	var keys []string
	if !l.LengthMM.IsKnown() {
		keys = append(keys, "length_mm")
	}
	if l.Kind == Ramp && !l.SlopeDeg.IsKnown() {
		keys = append(keys, "slope_deg")
	}
	return keys
}

// AllChannels asks for every channel; see [Machine.Unknown].
func AllChannels(int) bool { return true }

// Assumed lists the paths of figures whose spread or doubt nobody measured, or
// which the file leaves out though they count, of the channels that are asked
// for by index, of their lanes and of the machine as a whole, in the order of
// [Machine.Figures].
func (m *Machine) Assumed(of func(channel int) bool) []string {
	var assumed []string
	if !m.Wheel.PinSDMM.IsKnown() {
		assumed = append(assumed, "wheel.pin_sd_mm")
	}
	if !m.Limits.Wander.IsKnown() {
		assumed = append(assumed, "limits.wander")
	}
	if !m.Limits.Ripple.IsKnown() {
		assumed = append(assumed, "limits.ripple")
	}
	used := make([]bool, len(m.Lanes))
	for i := range m.Channels {
		if of(i) && !m.Channels[i].Holds() {
			for _, id := range m.Channels[i].Route() {
				if lane := m.Lane(id); lane >= 0 {
					used[lane] = true
				}
			}
		}
	}
	doubts := m.Doubts()
	for i := range m.Lanes {
		if !used[i] {
			continue
		}
		for j := range laneFields {
			if f := m.atLane(i, &laneFields[j]); doubts.of(f).Assumed() {
				assumed = append(assumed, f.path)
			}
		}
	}
	for i := range m.Channels {
		if !of(i) {
			continue
		}
		for j := range channelFields {
			if f := m.atChannel(i, &channelFields[j]); m.Channels[i].counts(f.key) && doubts.of(f).Assumed() {
				assumed = append(assumed, f.path)
			}
		}
	}
	return assumed
}

// counts reports whether times of the channel depend on a figure: of two that
// give the same, on the first that is given; of a hold, on the lever's alone.
func (c *Channel) counts(key string) bool {
	switch key {
	case "trip.reach_mm", "trip.hold_mm", "trip.return_ms", "trip.latch_ms":
		return true
	case "gate.feed_slope_deg", "gate.rolling":
		return !c.Holds() && c.Gate.FromFeed()
	case "strike.restitution":
		return !c.Holds() && c.Strike.FromBounce()
	case "exit_mm_s":
		return !c.Holds() && len(c.Exit) > 0
	}
	return !c.Holds()
}
