package wheel

import (
	"fmt"
	"math"
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
	minLengthMM = 1e-3   // a thousandth: less is taken for a mistake
	maxTimeMS   = 600000 // ten minutes
	maxSpeedMMS = 1e6    // a kilometre a second
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
	m.checkLifts(c)
	m.checkStart(c)
	m.checkFrame(c)
	m.checkLimits(c)
	if len(c.found)+len(unread) == 0 {
		m.checkMeasured(c)
	}
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
	c.count("wheel.crank_marks", w.CrankMarks, 0, 1e4)
	c.maybe("wheel.pin_sd_mm", w.PinSDMM, 0, maxLengthMM, "length")
	c.within("wheel.inertia_kg_m2", w.InertiaKgM2, 0, 1e9, "moment of inertia")
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
		if l.File != "" && l.File != SingleFile && l.File != OpenFile {
			c.Add(at("file"), "is %s; it should be \"single\" or \"open\"", Quoted(string(l.File)))
		}
		if length, ok := l.LengthMM.Get(); ok {
			c.positiveLength(at("length_mm"), length)
		}
		c.maybe(at("slope_deg"), l.SlopeDeg, -90, 90, "slope")
		m.checkGuide(c, &l, at)
		c.within(at("rolling"), l.Rolling, 0, 1, "rolling resistance")
		c.maybe(at("friction"), l.Friction, 0, 10, "coefficient of friction")
		c.maybe(at("keep"), l.Keep, 0, 1, "fraction of speed kept")
		c.note(at("note"), l.Note)
	}
}

// checkGuide checks what holds the marble in a lane: a pipe, rails, rods.
func (m *Machine) checkGuide(c *checker, l *Lane, at func(string) string) {
	d := m.Marble.DiameterMM
	if c.length(at("rail_gap_mm"), l.RailGapMM) && d > 0 && l.RailGapMM >= d {
		c.Add(at("rail_gap_mm"), "is %s; a marble of %s mm would fall through, so it has to be smaller", Number(l.RailGapMM), Number(d))
	}
	if c.length(at("clear_gap_mm"), l.ClearGapMM) && d > 0 && l.ClearGapMM >= d {
		c.Add(at("clear_gap_mm"), "is %s; a marble of %s mm would fall through, so it has to be smaller", Number(l.ClearGapMM), Number(d))
	}
	c.length(at("rod_mm"), l.RodMM)
	if l.RodMM > 0 && l.RailGapMM > 0 {
		c.Add(at("rail_gap_mm"), "stands beside rod_mm; give either the gap between the contacts, or rod_mm with clear_gap_mm")
	}
	if l.ClearGapMM > 0 && l.RodMM == 0 {
		c.Add(at("rod_mm"), "is missing; clear_gap_mm is the gap between round rods and needs their diameter")
	}
	if !c.length(at("bore_mm"), l.BoreMM) || l.BoreMM == 0 {
		return
	}
	switch {
	case l.Kind == Ramp:
		c.Add(at("bore_mm"), "is given for a ramp; only a fall in a pipe has a bore")
	case d > 0 && l.BoreMM <= d:
		c.Add(at("bore_mm"), "is %s; a marble of %s mm would not pass, so it has to be larger", Number(l.BoreMM), Number(d))
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
	isLane := idsOf(c, "lanes", len(m.Lanes), func(i int) string { return m.Lanes[i].ID })
	isChannel := m.isChannel(c)
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
		m.checkHold(c, ch, at, isChannel)
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
	c.maybeLength(at("trip.reach_mm"), ch.Trip.ReachMM)
	c.maybeLength(at("trip.hold_mm"), ch.Trip.HoldMM)
	c.maybeTime(at("trip.return_ms"), ch.Trip.ReturnMS)
	c.maybeTime(at("trip.latch_ms"), ch.Trip.LatchMS)
	c.maybeTime(at("trip.jitter_ms"), ch.Trip.JitterMS)
	c.within(at("trip.push_n"), ch.Trip.PushN, 0, 1e6, "force")
	c.within(at("trip.push_ns"), ch.Trip.PushNS, 0, 1e6, "blow")
	c.maybeTime(at("gate.reload_ms"), ch.Gate.ReloadMS)
	c.maybeTime(at("gate.reload_sd_ms"), ch.Gate.ReloadSDMS)
	c.maybe(at("gate.feed_slope_deg"), ch.Gate.FeedSlopeDeg, 0, 90, "feed's slope")
	c.within(at("gate.rolling"), ch.Gate.Rolling, 0, 1, "rolling resistance")
	c.speed(at("gate.release_mm_s"), ch.Gate.ReleaseMMS)
	c.maybeTime(at("strike.clear_ms"), ch.Strike.ClearMS)
	c.maybe(at("strike.restitution"), ch.Strike.Restitution, 0, 1, "coefficient of restitution")
	c.maybe(at("exit_mm_s"), ch.ExitMMS, 0, maxSpeedMMS, "speed")
	c.maybe(at("ring_s"), ch.RingS, 0, 3600, "time")
	c.maybeLength(at("mic_mm"), ch.MicMM)
	c.maybeTime(at("least_hold_ms"), ch.LeastHoldMS)
	c.maybeTime(at("least_rest_ms"), ch.LeastRestMS)
	c.line(at("plate"), ch.Plate)
	c.maybe(at("queue.slope_deg"), ch.Queue.SlopeDeg, 0, 90, "slope")
	c.within(at("queue.force_min_n"), ch.Queue.ForceMinN, 0, 1e6, "force")
	c.within(at("queue.force_max_n"), ch.Queue.ForceMaxN, 0, 1e6, "force")
	if q := ch.Queue; q.ForceMaxN > 0 && q.ForceMinN > q.ForceMaxN {
		c.Add(at("queue.force_min_n"), "is %s, more than force_max_n, %s; the gate would never work", Number(q.ForceMinN), Number(q.ForceMaxN))
	}
	if start, ok := ch.Queue.Start.Get(); ok && c.within(at("queue.start"), start, 0, 1e6, "count") && start != math.Trunc(start) {
		c.Add(at("queue.start"), "is %s; a number of marbles is whole", Number(start))
	}
	c.count(at("queue.holds"), ch.Queue.Holds, 0, 1e6)
	c.count(at("queue.least"), ch.Queue.Least, 0, 1e6)
	c.count(at("queue.most"), ch.Queue.Most, 0, 1e6)
	if q := ch.Queue; q.Most > 0 && q.Least > q.Most {
		c.Add(at("queue.least"), "is %d, more than most, %d; the gate would never turn", q.Least, q.Most)
	}
}

// idsOf tells the ids of a list from others. Where one of them was not read,
// any may be.
func idsOf(c *checker, list string, n int, id func(i int) string) func(id string) bool {
	ids, allRead := make(map[string]bool, n), c.read(list)
	for i := range n {
		ids[id(i)] = true
		allRead = allRead && c.read(fmt.Sprintf("%s[%d].id", list, i))
	}
	return func(id string) bool { return ids[id] || !allRead }
}

func (m *Machine) isChannel(c *checker) func(id string) bool {
	return idsOf(c, "channels", len(m.Channels), func(i int) string { return m.Channels[i].ID })
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

// checkHold checks what a channel's pins do, and what only one that holds has.
func (m *Machine) checkHold(c *checker, ch *Channel, at func(string) string, isChannel func(string) bool) {
	if ch.Works != "" && ch.Works != Drops && ch.Works != Holds {
		c.Add(at("works"), "is %s; it should be \"drop\" or \"hold\"", Quoted(string(ch.Works)))
		return
	}
	if !ch.Holds() {
		if len(ch.Damps) > 0 && c.read(at("works")) {
			c.Add(at("damps"), "stands on a channel that drops marbles; only one with \"works\": \"hold\" damps others")
		}
		return
	}
	if len(ch.Path) > 0 || len(ch.Exit) > 0 {
		c.Add(at("path"), "is given for a channel that holds; it drops no marble, so leave out path and exit")
	}
	if len(ch.Damps) > MaxChannels {
		c.Add(at("damps"), "has %d entries; %d at most", len(ch.Damps), MaxChannels)
		return
	}
	for j, id := range ch.Damps {
		if !isChannel(id) {
			c.Add(at(fmt.Sprintf("damps[%d]", j)), "is %s, and no channel has that id", Quoted(id))
		}
	}
}

// maxLifts is how many lifts, and how many hoppers, a machine may have.
const maxLifts = 64

func (m *Machine) checkLifts(c *checker) {
	m.checkHoppers(c)
	isHopper := idsOf(c, "hoppers", len(m.Hoppers), func(i int) string { return m.Hoppers[i].ID })
	isChannel := m.isChannel(c)
	for i := range m.Channels {
		if id := m.Channels[i].Hopper; id != "" && !isHopper(id) {
			c.Add(fmt.Sprintf("channels[%d].hopper", i), "is %s, and no hopper has that id", Quoted(id))
		}
	}
	switch {
	case !m.Lift.IsZero() && len(m.Lifts) > 0:
		c.Add("lift", "stands beside lifts; keep one of them")
	case !m.Lift.IsZero():
		m.checkDrive(c, "lift.", &m.Lift)
		if m.Lift.ID != "" || m.Lift.From != "" || m.Lift.To != "" || len(m.Lift.Serves) > 0 {
			c.Add("lift", "is the machine's one lift, from its one hopper to all queues; write \"lifts\" to give it an id, from, to or serves")
		}
	case len(m.Lifts) > maxLifts:
		c.Add("lifts", "has %d lifts; %d at most", len(m.Lifts), maxLifts)
		return
	}
	ids := map[string]int{}
	for i := range m.Lifts {
		l := &m.Lifts[i]
		at := func(key string) string { return fmt.Sprintf("lifts[%d].%s", i, key) }
		c.id(at("id"), l.ID)
		if first, twice := ids[l.ID]; twice && l.ID != "" {
			c.Add(at("id"), "is %s, which lifts[%d] is called already; every lift needs an id of its own", Quoted(l.ID), first)
		}
		ids[l.ID] = i
		m.checkDrive(c, fmt.Sprintf("lifts[%d].", i), l)
		if !isHopper(l.From) {
			c.Add(at("from"), "is %s; it should be the id of a hopper", Quoted(l.From))
		}
		if l.To != ToQueues && !isHopper(l.To) {
			c.Add(at("to"), "is %s; it should be \"queues\" or the id of a hopper", Quoted(l.To))
		}
		if l.To == l.From && l.From != "" {
			c.Add(at("to"), "is %s, where the lift takes its marbles from; it would feed itself", Quoted(l.To))
		}
		if len(l.Serves) > 0 && l.To != ToQueues && c.read(at("to")) {
			c.Add(at("serves"), "names channels, but the lift goes to a hopper; leave it out")
		}
		for j, id := range l.Serves {
			if !isChannel(id) {
				c.Add(at(fmt.Sprintf("serves[%d]", j)), "is %s, and no channel has that id", Quoted(id))
			}
		}
	}
}

func (m *Machine) checkHoppers(c *checker) {
	ids := map[string]bool{}
	if len(m.Hoppers) > maxLifts {
		c.Add("hoppers", "has %d hoppers; %d at most", len(m.Hoppers), maxLifts)
		return
	}
	for i, h := range m.Hoppers {
		place := fmt.Sprintf("hoppers[%d].id", i)
		c.id(place, h.ID)
		switch {
		case h.ID == ToQueues:
			c.Add(place, "is %q, which means the channels' queues; give the hopper another id", h.ID)
		case ids[h.ID] && h.ID != "":
			c.Add(place, "is %s, which another hopper is called already; every hopper needs an id of its own", Quoted(h.ID))
		}
		ids[h.ID] = true
	}
}

// checkDrive checks what moves a lift, how much it carries and how it shares
// out.
func (m *Machine) checkDrive(c *checker, at string, l *Lift) {
	c.within(at+"pockets_per_turn", l.PocketsPerTurn, 0, 1e6, "number of pockets")
	c.within(at+"marbles_per_s", l.MarblesPerS, 0, 1e4, "rate")
	c.time(at+"carry_ms", l.CarryMS)
	switch l.Drive {
	case "":
	case "wheel":
		if l.PocketsPerTurn == 0 {
			c.Add(at+"pockets_per_turn", "is missing; a lift driven by the wheel needs it")
		}
	case "motor":
		if l.MarblesPerS == 0 {
			c.Add(at+"marbles_per_s", "is missing; a lift driven by a motor needs it")
		}
	default:
		c.Add(at+"drive", "is %s; it should be \"wheel\" or \"motor\"", Quoted(l.Drive))
	}
	if !slices.Contains([]string{"", "cascade", "neediest", "even"}, l.Share) {
		c.Add(at+"share", "is %s; it should be \"cascade\", \"neediest\" or \"even\"", Quoted(l.Share))
	}
}

// checkStart refuses more marbles waiting at the start than there are. Queues
// that leave it out start with the most they take.
func (m *Machine) checkStart(c *checker) {
	if m.Marble.Stock <= 0 || !c.read("channels") || !c.read("marble.stock") {
		return
	}
	sum, given := 0.0, false
	for i := range m.Channels {
		q := &m.Channels[i].Queue
		given = given || q.Start.IsKnown()
		most := q.Most
		if most == 0 {
			most = q.Holds
		}
		sum += q.Start.Or(float64(most))
	}
	if given && sum > float64(m.Marble.Stock) {
		c.Add("marble.stock", "is %d, and the queues start with %s marbles together; lower their start or most, or give more marbles", m.Marble.Stock, Number(sum))
	}
}

func (m *Machine) checkFrame(c *checker) {
	c.within("frame.hz", m.Frame.Hz, 0, 1e4, "frequency")
	c.within("frame.hz_u", m.Frame.HzU, 0, 1e4, "doubt")
	if c.within("frame.damping", m.Frame.Damping, 0, 10, "damping ratio") && m.Frame.Hz > 0 && m.Frame.Damping == 0 {
		c.Add("frame.damping", "is 0 or missing; a frame that shakes has some damping, such as 0.03")
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
	c.maybe("limits.wander", l.Wander, 0, 0.5, "fraction")
	if ripple, ok := l.Ripple.Get(); ok && c.within("limits.ripple", ripple, 0, 1e6, "fraction") && ripple >= 1 {
		c.Add("limits.ripple", "is %s; it is a fraction of the tempo and has to be below 1, such as 0.03", Number(ripple))
	}
	c.maybe("limits.spoilt_per_turn", l.SpoiltPerTurn, 0, 1e6, "number")
	c.maybe("limits.jams_per_turn", l.JamsPerTurn, 0, 1e6, "number")
	c.maybe("limits.unmeasured_u", l.UnmeasuredU, 0, 1, "fraction")
	if house, ok := l.HouseBPM.Get(); ok && c.within("limits.house_bpm", house, 1, MaxTempoBPM, "tempo") && lowOK && house < l.TempoMinBPM {
		c.Add("limits.house_bpm", "is %s; it cannot be below tempo_min_bpm, %s: no tempo would be left", Number(house), Number(l.TempoMinBPM))
	}
	c.note("limits.house_why", l.HouseWhy)
}
