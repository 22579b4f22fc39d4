package wheel

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"unicode"
)

// Bounds of what a machine may be. They are far wider than any workshop and
// keep every later computation finite.
const (
	MaxSteps    = 1 << 16
	MaxChannels = 1024
	MaxLanes    = 1024
	MaxTempoBPM = 1000
	MaxName     = 200    // characters
	maxLengthMM = 1e6    // a kilometre
	maxTimeMS   = 600000 // ten minutes
)

// Check lists everything wrong with the machine that can be seen without
// mechanics. An empty list means that it may be used.
func (m *Machine) Check() Problems {
	c := &checker{}
	if c.name("format", m.Format) && m.Format != MachineFormat {
		c.Add("format", "is %q; a machine file has %q", m.Format, MachineFormat)
	}
	c.text("name", m.Name, true)
	c.text("note", m.Note, false)
	m.checkMarble(c)
	m.checkWheel(c)
	m.checkLanes(c)
	m.checkChannels(c)
	m.checkLift(c)
	m.checkLimits(c)
	return c.Problems
}

type checker struct{ Problems }

func (c *checker) name(place, s string) bool {
	if s == "" {
		c.Add(place, "is missing; it cannot be empty")
		return false
	}
	return true
}

func (c *checker) text(place, s string, needed bool) {
	if needed && strings.TrimSpace(s) == "" {
		c.Add(place, "is missing; it cannot be empty")
	}
	most := MaxName
	if !needed {
		most = 10000
	}
	if n := len([]rune(s)); n > most {
		c.Add(place, "has %d characters; %d at most", n, most)
	}
	if strings.ContainsFunc(s, func(r rune) bool { return unicode.IsControl(r) && r != '\n' && r != '\t' }) {
		c.Add(place, "has control characters; only text can stand here")
	}
}

func (c *checker) id(place, s string) {
	switch {
	case !c.name(place, s):
	case len(s) > 64:
		c.Add(place, "has %d bytes; an id has 64 at most", len(s))
	case strings.ContainsFunc(s, func(r rune) bool { return unicode.IsControl(r) || unicode.IsSpace(r) }):
		c.Add(place, "is %q; an id has no spaces", s)
	}
}

// within checks a number against its range, and calls it by what it is.
func (c *checker) within(place string, v, least, most float64, what string) bool {
	switch {
	case math.IsNaN(v) || math.IsInf(v, 0):
		c.Add(place, "is not a finite number")
	case v < 0 && least == 0:
		c.Add(place, "is %s; a %s cannot be negative", Number(v), what)
	case v < least:
		c.Add(place, "is %s; a %s is at least %s", Number(v), what, Number(least))
	case v > most:
		c.Add(place, "is %s; a %s is at most %s", Number(v), what, Number(most))
	default:
		return true
	}
	return false
}

func (c *checker) length(place string, mm float64) bool {
	return c.within(place, mm, 0, maxLengthMM, "length")
}

func (c *checker) positiveLength(place string, mm float64) bool {
	if !c.length(place, mm) {
		return false
	}
	if mm == 0 {
		c.Add(place, "is 0; it has to be a length above 0")
		return false
	}
	return true
}

func (c *checker) time(place string, ms float64) { c.within(place, ms, 0, maxTimeMS, "time") }

func (c *checker) speed(place string, mmPerS float64) { c.within(place, mmPerS, 0, 1e6, "speed") }

func (c *checker) count(place string, n, least, most int) bool {
	return c.within(place, float64(n), float64(least), float64(most), "count")
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
	c.count("wheel.steps_per_beat", w.StepsPerBeat, 1, 96)
	c.count("wheel.beats_per_bar", w.BeatsPerBar, 1, 64)
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
			c.Add(at("id"), "is %q, which lanes[%d] is called already; every lane needs an id of its own", l.ID, first)
		} else {
			seen[l.ID] = i
		}
		if l.Kind != Fall && l.Kind != Ramp {
			c.Add(at("kind"), "is %q; it should be \"fall\" or \"ramp\"", l.Kind)
		}
		c.positiveLength(at("length_mm"), l.LengthMM)
		c.within(at("slope_deg"), l.SlopeDeg, -90, 90, "slope")
		if c.length(at("rail_gap_mm"), l.RailGapMM) && l.RailGapMM > 0 && l.RailGapMM >= m.Marble.DiameterMM {
			c.Add(at("rail_gap_mm"), "is %s; a marble of %s mm would fall through, so it has to be smaller",
				Number(l.RailGapMM), Number(m.Marble.DiameterMM))
		}
		c.within(at("rolling"), l.Rolling, 0, 1, "rolling resistance")
		c.within(at("keep"), l.Keep, 0, 1, "fraction of speed kept")
		c.text(at("note"), l.Note, false)
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
	ids, rows := map[string]int{}, map[int]int{}
	for i := range m.Channels {
		ch := &m.Channels[i]
		at := func(key string) string { return fmt.Sprintf("channels[%d].%s", i, key) }
		c.id(at("id"), ch.ID)
		if first, twice := ids[ch.ID]; twice && ch.ID != "" {
			c.Add(at("id"), "is %q, which channels[%d] is called already; every channel needs an id of its own", ch.ID, first)
		} else {
			ids[ch.ID] = i
		}
		c.text(at("name"), ch.Name, true)
		if c.within(at("row"), float64(ch.Row), 0, 1e5, "row") {
			if first, taken := rows[ch.Row]; taken {
				c.Add(at("row"), "is %d, the row of channels[%d] (%s) already; every channel needs a row of its own", ch.Row, first, m.Channels[first].Name)
			} else {
				rows[ch.Row] = i
			}
		}
		if !slices.Contains(ChannelKinds, ch.Kind) {
			c.Add(at("kind"), "is %q; it should be one of bar, tube, bell, block, drum, string, other", ch.Kind)
		}
		if ch.Service != Playing && ch.Service != Resting {
			c.Add(at("service"), "is %q; it should be \"playing\" or \"resting\"", ch.Service)
		}
		m.checkKeys(c, ch, at)
		m.checkWorks(c, ch, at)
		m.checkRoute(c, ch, at)
		c.text(at("note"), ch.Note, false)
	}
}

func (m *Machine) checkKeys(c *checker, ch *Channel, at func(string) string) {
	for j, key := range ch.Keys {
		place := at(fmt.Sprintf("keys[%d]", j))
		if key < 0 || key > 127 {
			c.Add(place, "is %s; a MIDI note number is 0 to 127", Number(float64(key)))
		} else if slices.Index(ch.Keys, key) != j {
			c.Add(place, "is %d, which this channel has already", key)
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

func (m *Machine) checkRoute(c *checker, ch *Channel, at func(string) string) {
	on := map[string]string{}
	check := func(key string, lanes []string) {
		for j, id := range lanes {
			place := at(fmt.Sprintf("%s[%d]", key, j))
			if m.Lane(id) < 0 {
				c.Add(place, "is %q, and no lane has that id", id)
			}
			if first, twice := on[id]; twice {
				c.Add(place, "is %q, which %s is already; a route takes a lane once", id, first)
			} else {
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
		c.Add("lift.drive", "is %q; it should be \"wheel\" or \"motor\"", l.Drive)
	}
	if !slices.Contains([]string{"", "cascade", "neediest", "even"}, l.Share) {
		c.Add("lift.share", "is %q; it should be \"cascade\", \"neediest\" or \"even\"", l.Share)
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

// Check lists everything wrong with the pinning that can be seen without its
// machine.
func (p *Pinning) Check() Problems {
	c := &checker{}
	if c.name("format", p.Format) && p.Format != PinningFormat {
		c.Add("format", "is %q; a pinning file has %q", p.Format, PinningFormat)
	}
	c.text("title", p.Title, true)
	c.text("machine", p.Machine, false)
	if p.TempoBPM != 0 {
		c.within("tempo_bpm", p.TempoBPM, 1, MaxTempoBPM, "tempo")
	}
	for _, id := range slices.Sorted(maps.Keys(p.Advance)) {
		if a := p.Advance[id]; a < -MaxSteps || a > MaxSteps {
			c.Add("advance."+id, "is %s steps; %d at most", Number(float64(a)), MaxSteps)
		}
	}
	type hole struct {
		channel string
		step    int
	}
	seen := make(map[hole]int, len(p.Pins))
	for i, pin := range p.Pins {
		if len(c.Problems) >= maxProblems {
			break
		}
		at := func(key string) string { return fmt.Sprintf("pins[%d].%s", i, key) }
		c.name(at("channel"), pin.Channel)
		if pin.Step < 0 {
			c.Add(at("step"), "is %s; steps count from 0", Number(float64(pin.Step)))
		}
		if pin.Aim.Given && (math.IsNaN(pin.Aim.Step) || math.Abs(pin.Aim.Step) > 4*MaxSteps) {
			c.Add(at("aim"), "is %s; it should be a step of the wheel", Number(pin.Aim.Step))
		}
		h := hole{pin.Channel, pin.Step}
		if first, twice := seen[h]; twice {
			c.Add(fmt.Sprintf("pins[%d]", i), "is at step %d of %s, where pins[%d] is already; a hole takes one pin", pin.Step, pin.Channel, first)
		} else {
			seen[h] = i
		}
	}
	return c.Problems
}

// CheckOn lists what keeps the pinning from this machine: channels and steps
// that it does not have.
func (p *Pinning) CheckOn(m *Machine) Problems {
	c := &checker{}
	known := make(map[string]bool, len(m.Channels))
	for i := range m.Channels {
		known[m.Channels[i].ID] = true
	}
	for _, id := range slices.Sorted(maps.Keys(p.Advance)) {
		if !known[id] {
			c.Add("advance."+id, "is for a channel that %s does not have", m.Name)
		}
	}
	for i, pin := range p.Pins {
		if len(c.Problems) >= maxProblems {
			break
		}
		if !known[pin.Channel] {
			c.Add(fmt.Sprintf("pins[%d].channel", i), "is %q, and %s has no such channel", pin.Channel, m.Name)
		}
		if pin.Step < 0 || pin.Step >= m.Wheel.Steps {
			c.Add(fmt.Sprintf("pins[%d].step", i), "is %s; the wheel of %s has steps 0 to %d", Number(float64(pin.Step)), m.Name, m.Wheel.Steps-1)
		}
	}
	return c.Problems
}
