package wheel

import "slices"

// MachineFormat is the format line of a machine file.
const MachineFormat = "pinwright-machine/1"

// Machine is the whole instrument.
type Machine struct {
	Format   string    `json:"format"`
	Name     string    `json:"name"`
	Note     string    `json:"note,omitempty"`
	Marble   Marble    `json:"marble"`
	Wheel    Wheel     `json:"wheel"`
	Lanes    []Lane    `json:"lanes"`
	Channels []Channel `json:"channels"`
	Lift     Lift      `json:"lift,omitzero"`
	Limits   Limits    `json:"limits"`
}

// Marble is what falls on the plates. Two centres must stay DiameterMM +
// ClearanceMM apart along a lane.
type Marble struct {
	DiameterMM  float64 `json:"diameter_mm"`
	ClearanceMM float64 `json:"clearance_mm"`
	DensityKgM3 float64 `json:"density_kg_m3,omitzero"`
	Stock       int     `json:"stock,omitzero"`
}

// Lane is one piece of guide that marbles travel, and may be shared.
type Lane struct {
	ID        string   `json:"id"`
	Kind      LaneKind `json:"kind"`
	LengthMM  float64  `json:"length_mm"`
	SlopeDeg  float64  `json:"slope_deg,omitzero"`
	RailGapMM float64  `json:"rail_gap_mm,omitzero"`
	Rolling   float64  `json:"rolling,omitzero"` // coefficient of rolling resistance, a pure number
	Keep      float64  `json:"keep"`             // fraction of the speed kept on entering, 0 to 1
	Note      string   `json:"note,omitempty"`
}

// LaneKind is how a marble moves in a lane.
type LaneKind string

const (
	Fall LaneKind = "fall" // straight down, free
	Ramp LaneKind = "ramp" // rolling down a slope
)

// Channel is one row of pin positions and all that it works.
type Channel struct {
	ID      string      `json:"id"`
	Name    string      `json:"name"`
	Row     int         `json:"row"`
	Kind    ChannelKind `json:"kind"`
	Keys    []int       `json:"keys"`
	Drum    bool        `json:"drum,omitzero"` // keys are General MIDI percussion keys
	Service Service     `json:"service"`
	Trip    Trip        `json:"trip"`
	Gate    Gate        `json:"gate"`
	Path    []string    `json:"path"`
	Strike  Strike      `json:"strike"`
	ExitMMS float64     `json:"exit_mm_s,omitzero"` // speed on leaving the plate, mm/s
	Exit    []string    `json:"exit"`
	Queue   Queue       `json:"queue,omitzero"`
	Note    string      `json:"note,omitempty"`
}

// ChannelKind is what a channel sounds on.
type ChannelKind string

// ChannelKinds lists every kind a machine file may name.
var ChannelKinds = []ChannelKind{"bar", "tube", "bell", "block", "drum", "string", "other"}

// Service says whether a channel is in use.
type Service string

const (
	Playing Service = "playing"
	Resting Service = "resting" // out of service: a pin on it is a finding
)

// Trip is the lever that a pin pushes.
type Trip struct {
	ReachMM  float64 `json:"reach_mm,omitzero"`  // arc from touching the lever to full push
	HoldMM   float64 `json:"hold_mm,omitzero"`   // arc over which a pin holds the lever
	ReturnMS float64 `json:"return_ms,omitzero"` // the lever's time to fall back
	LatchMS  float64 `json:"latch_ms,omitzero"`  // full push to release
	JitterMS float64 `json:"jitter_ms,omitzero"` // standard deviation of the latch
}

// Gate lets one marble go and takes in the next. ReloadMS is the measured
// time to do so; where it is left out the feed's slope gives it.
type Gate struct {
	ReloadMS     float64 `json:"reload_ms,omitzero"`
	ReloadSDMS   float64 `json:"reload_sd_ms,omitzero"`
	FeedSlopeDeg float64 `json:"feed_slope_deg,omitzero"`
	Rolling      float64 `json:"rolling,omitzero"`
	ReleaseMMS   float64 `json:"release_mm_s,omitzero"`
}

// Strike says when a struck plate is clear of its marble: ClearMS after the
// strike or, where that is left out, after the bounce that Restitution gives.
type Strike struct {
	ClearMS     float64 `json:"clear_ms,omitzero"`
	Restitution float64 `json:"restitution,omitzero"`
}

// Queue is the marbles waiting behind a gate.
type Queue struct {
	Holds int `json:"holds,omitzero"` // how many fit
	Least int `json:"least,omitzero"` // fewer than these and the gate does not turn
	Most  int `json:"most,omitzero"`  // with so many it takes no more
}

// Lift carries marbles from the hopper back up.
type Lift struct {
	Drive          string  `json:"drive,omitempty"` // "wheel" or "motor"
	PocketsPerTurn float64 `json:"pockets_per_turn,omitzero"`
	MarblesPerS    float64 `json:"marbles_per_s,omitzero"`
	CarryMS        float64 `json:"carry_ms,omitzero"`
	Share          string  `json:"share,omitempty"` // "cascade", "neediest" or "even"
}

// Limits bound what the machine is asked to do.
type Limits struct {
	TempoMinBPM float64 `json:"tempo_min_bpm"`
	TempoMaxBPM float64 `json:"tempo_max_bpm"`
	FlamMS      float64 `json:"flam_ms"`
	TripsAtOnce int     `json:"trips_at_once,omitzero"` // 0: no limit
	Wander      float64 `json:"wander,omitzero"`        // standard deviation of a hand's tempo, as a fraction
}

// Channel returns the index of the channel with this id, or −1.
func (m *Machine) Channel(id string) int {
	return slices.IndexFunc(m.Channels, func(c Channel) bool { return c.ID == id })
}

// Lane returns the index of the lane with this id, or −1.
func (m *Machine) Lane(id string) int {
	return slices.IndexFunc(m.Lanes, func(l Lane) bool { return l.ID == id })
}

// Route is the lanes a channel's marble travels, from gate to plate and from
// plate to hopper.
func (c *Channel) Route() []string {
	return slices.Concat(c.Path, c.Exit)
}

// Clone returns a copy that shares nothing with m.
func (m *Machine) Clone() *Machine {
	n := *m
	n.Lanes = slices.Clone(m.Lanes)
	n.Channels = slices.Clone(m.Channels)
	for i := range n.Channels {
		c := &n.Channels[i]
		c.Keys = slices.Clone(c.Keys)
		c.Path = slices.Clone(c.Path)
		c.Exit = slices.Clone(c.Exit)
	}
	return &n
}

// SetDefaults sets what a file may leave out: a lane keeps all of a marble's
// speed.
func (l *Lane) SetDefaults() { l.Keep = 1 }

// SetDefaults sets what a file may leave out: a channel plays.
func (c *Channel) SetDefaults() { c.Service = Playing }

// SetDefaults sets what a file may leave out: 30 to 240 BPM, a flam of 20 ms.
func (l *Limits) SetDefaults() {
	l.TempoMinBPM, l.TempoMaxBPM, l.FlamMS = 30, 240, 20
}
