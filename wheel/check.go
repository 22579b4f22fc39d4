package wheel

import (
	"fmt"
	"slices"
)

// Bounds of what a machine may be. They are far wider than any workshop and
// keep every later computation finite.
const (
	MaxSteps    = 1 << 16
	MaxChannels = 1024
	MaxLanes    = 1024
	MaxRoute    = 64      // lanes of one channel's path or exit
	MaxPins     = 1 << 18 // about as many as a file has room for
	MaxTempoBPM = 1000
	MaxName     = 200    // characters
	maxNote     = 10000  // characters
	maxLengthMM = 1e6    // a kilometre
	maxTimeMS   = 600000 // ten minutes
)

// Check lists everything wrong with the machine that can be seen without
// mechanics. An empty list means that it may be used.
func (m *Machine) Check() Problems { return m.CheckAfter(nil) }

// CheckAfter lists what could not be read and, after it, everything wrong with
// the rest.
func (m *Machine) CheckAfter(unread Problems) Problems {
	c := &checker{unread: unread}
	if !c.format(m.Format, "machine", MachineFormat) {
		return c.found
	}
	c.title("name", m.Name)
	c.note("note", m.Note)
	m.checkMarble(c)
	m.checkWheel(c)
	m.checkLanes(c)
	m.checkChannels(c)
	m.checkLift(c)
	m.checkLimits(c)
	return c.all()
}

func (m *Machine) checkMarble(c *checker) {
	c.positiveLength("marble.diameter_mm", m.Marble.DiameterMM)
	c.length("marble.clearance_mm", m.Marble.ClearanceMM)
	c.within("marble.density_kg_m3", m.Marble.DensityKgM3, 0, 1e5, "density")
	c.count("marble.stock", m.Marble.Stock, 0, 1e8)
}

func (m *Machine) checkWheel(c *checker) {
	w := m.Wheel
	c.positiveLength("wheel.radius_mm", w.RadiusMM)
	c.length("wheel.surface_radius_mm", w.SurfaceRadiusMM)
	c.count("wheel.steps", w.Steps, 1, MaxSteps)
	c.count("wheel.steps_per_beat", w.StepsPerBeat, 1, MaxStepsPerBeat)
	c.count("wheel.beats_per_bar", w.BeatsPerBar, 1, MaxBeatsPerBar)
	c.length("wheel.first_row_mm", w.FirstRowMM)
	c.length("wheel.row_pitch_mm", w.RowPitchMM)
	c.length("wheel.pin_diameter_mm", w.PinDiameterMM)
	c.count("wheel.pin_stock", w.PinStock, 0, 1e8)
	c.within("wheel.crank_turns", w.CrankTurns, 0, 1e4, "gear ratio")
}

func (m *Machine) checkLanes(c *checker) {
	if len(m.Lanes) > MaxLanes {
		c.Add("lanes", "has %d lanes; %d at most", len(m.Lanes), MaxLanes)
		return
	}
	seen := map[string]int{}
	for i, l := range m.Lanes {
		at := func(key string) string { return fmt.Sprintf("lanes[%d].%s", i, key) }
		c.id(at("id"), l.ID)
		if first, twice := seen[l.ID]; twice && l.ID != "" {
			c.Add(at("id"), "is %s, which lanes[%d] is called already; every lane needs an id of its own", Quoted(l.ID), first)
		} else {
			seen[l.ID] = i
		}
		if l.Kind != Fall && l.Kind != Ramp {
			c.Add(at("kind"), "is %s; it should be \"fall\" or \"ramp\"", Quoted(string(l.Kind)))
		}
		c.positiveLength(at("length_mm"), l.LengthMM)
		c.within(at("slope_deg"), l.SlopeDeg, -90, 90, "slope")
		if c.length(at("rail_gap_mm"), l.RailGapMM) && m.Marble.DiameterMM > 0 && l.RailGapMM >= m.Marble.DiameterMM {
			c.Add(at("rail_gap_mm"), "is %s; a marble of %s mm would fall through, so it has to be smaller",
				Number(l.RailGapMM), Number(m.Marble.DiameterMM))
		}
		c.within(at("rolling"), l.Rolling, 0, 1, "rolling resistance")
		c.within(at("keep"), l.Keep, 0, 1, "fraction of speed kept")
		c.note(at("note"), l.Note)
	}
}

func (m *Machine) checkChannels(c *checker) {
	switch n := len(m.Channels); {
	case n == 0:
		c.Add("channels", "is empty; a machine has at least one channel")
		return
	case n > MaxChannels:
		c.Add("channels", "has %d channels; %d at most", n, MaxChannels)
		return
	}
	lanes, allRead := m.laneIDs(c)
	isLane := func(id string) bool { return lanes[id] || !allRead }
	ids, rows := map[string]int{}, map[int]int{}
	for i := range m.Channels {
		ch := &m.Channels[i]
		at := func(key string) string { return fmt.Sprintf("channels[%d].%s", i, key) }
		c.id(at("id"), ch.ID)
		if first, twice := ids[ch.ID]; twice && ch.ID != "" {
			c.Add(at("id"), "is %s, which channels[%d] is called already; every channel needs an id of its own", Quoted(ch.ID), first)
		} else {
			ids[ch.ID] = i
		}
		c.title(at("name"), ch.Name)
		if c.within(at("row"), float64(ch.Row), 0, 1e5, "row") {
			if first, taken := rows[ch.Row]; taken {
				c.Add(at("row"), "is %d, the row of channels[%d] (%s) already; every channel needs a row of its own", ch.Row, first, IDText(m.Channels[first].ID))
			} else {
				rows[ch.Row] = i
			}
		}
		if !slices.Contains(ChannelKinds, ch.Kind) {
			c.Add(at("kind"), "is %s; it should be one of bar, tube, bell, block, drum, string, other", Quoted(string(ch.Kind)))
		}
		if ch.Service != Playing && ch.Service != Resting {
			c.Add(at("service"), "is %s; it should be \"playing\" or \"resting\"", Quoted(string(ch.Service)))
		}
		m.checkKeys(c, ch, at)
		m.checkWorks(c, ch, at)
		m.checkRoute(c, ch, at, isLane)
		c.note(at("note"), ch.Note)
	}
}

func (m *Machine) checkKeys(c *checker, ch *Channel, at func(string) string) {
	var has [128]bool
	for j, key := range ch.Keys {
		if c.found.Full() {
			return
		}
		place := at(fmt.Sprintf("keys[%d]", j))
		switch {
		case key < 0 || key > 127:
			c.Add(place, "is %s; a MIDI note number is 0 to 127", Number(float64(key)))
		case has[key] && c.read(place):
			c.Add(place, "is %d, which this channel has already", key)
		case c.read(place):
			has[key] = true
		}
	}
}

func (m *Machine) checkWorks(c *checker, ch *Channel, at func(string) string) {
	c.length(at("trip.reach_mm"), ch.Trip.ReachMM)
	c.length(at("trip.hold_mm"), ch.Trip.HoldMM)
	c.time(at("trip.return_ms"), ch.Trip.ReturnMS)
	c.time(at("trip.latch_ms"), ch.Trip.LatchMS)
	c.time(at("trip.jitter_ms"), ch.Trip.JitterMS)
	c.time(at("gate.reload_ms"), ch.Gate.ReloadMS)
	c.time(at("gate.reload_sd_ms"), ch.Gate.ReloadSDMS)
	c.within(at("gate.feed_slope_deg"), ch.Gate.FeedSlopeDeg, 0, 90, "feed's slope")
	c.within(at("gate.rolling"), ch.Gate.Rolling, 0, 1, "rolling resistance")
	c.speed(at("gate.release_mm_s"), ch.Gate.ReleaseMMS)
	c.time(at("strike.clear_ms"), ch.Strike.ClearMS)
	c.within(at("strike.restitution"), ch.Strike.Restitution, 0, 1, "coefficient of restitution")
	c.speed(at("exit_mm_s"), ch.ExitMMS)
	c.count(at("queue.holds"), ch.Queue.Holds, 0, 1e6)
	c.count(at("queue.least"), ch.Queue.Least, 0, 1e6)
	c.count(at("queue.most"), ch.Queue.Most, 0, 1e6)
	if q := ch.Queue; q.Most > 0 && q.Least > q.Most {
		c.Add(at("queue.least"), "is %d, more than most, %d; the gate would never turn", q.Least, q.Most)
	}
}

// laneIDs is the ids of all lanes. ok is false where one of them was not read.
func (m *Machine) laneIDs(c *checker) (ids map[string]bool, ok bool) {
	ids, ok = make(map[string]bool, len(m.Lanes)), c.read("lanes")
	for i, l := range m.Lanes {
		ids[l.ID] = true
		ok = ok && c.read(fmt.Sprintf("lanes[%d].id", i))
	}
	return ids, ok
}

func (m *Machine) checkRoute(c *checker, ch *Channel, at func(string) string, isLane func(id string) bool) {
	on := map[string]string{}
	check := func(key string, lanes []string) {
		if len(lanes) > MaxRoute {
			c.Add(at(key), "has %d lanes; %d at most", len(lanes), MaxRoute)
			return
		}
		for j, id := range lanes {
			place := at(fmt.Sprintf("%s[%d]", key, j))
			if !isLane(id) {
				c.Add(place, "is %s, and no lane has that id", Quoted(id))
			}
			if first, twice := on[id]; twice {
				c.Add(place, "is %s, which %s is already; a route takes a lane once", Quoted(id), first)
			} else if c.read(place) {
				on[id] = place
			}
		}
	}
	check("path", ch.Path)
	check("exit", ch.Exit)
}

func (m *Machine) checkLift(c *checker) {
	l := m.Lift
	c.within("lift.pockets_per_turn", l.PocketsPerTurn, 0, 1e6, "number of pockets")
	c.within("lift.marbles_per_s", l.MarblesPerS, 0, 1e4, "rate")
	c.time("lift.carry_ms", l.CarryMS)
	switch l.Drive {
	case "":
	case "wheel":
		if l.PocketsPerTurn == 0 {
			c.Add("lift.pockets_per_turn", "is missing; a lift driven by the wheel needs it")
		}
	case "motor":
		if l.MarblesPerS == 0 {
			c.Add("lift.marbles_per_s", "is missing; a lift driven by a motor needs it")
		}
	default:
		c.Add("lift.drive", "is %s; it should be \"wheel\" or \"motor\"", Quoted(l.Drive))
	}
	if !slices.Contains([]string{"", "cascade", "neediest", "even"}, l.Share) {
		c.Add("lift.share", "is %s; it should be \"cascade\", \"neediest\" or \"even\"", Quoted(l.Share))
	}
}

func (m *Machine) checkLimits(c *checker) {
	l := m.Limits
	lowOK := c.within("limits.tempo_min_bpm", l.TempoMinBPM, 1, MaxTempoBPM, "tempo")
	highOK := c.within("limits.tempo_max_bpm", l.TempoMaxBPM, 1, MaxTempoBPM, "tempo")
	if lowOK && highOK && l.TempoMinBPM >= l.TempoMaxBPM {
		c.Add("limits.tempo_max_bpm", "is %s; it has to be above tempo_min_bpm, %s", Number(l.TempoMaxBPM), Number(l.TempoMinBPM))
	}
	c.time("limits.flam_ms", l.FlamMS)
	c.count("limits.trips_at_once", l.TripsAtOnce, 0, 1e6)
	c.within("limits.wander", l.Wander, 0, 0.5, "fraction")
}
