package wheel

import (
	"maps"
	"slices"
)

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
	Hoppers  []Hopper  `json:"hoppers,omitempty"`
	Lift     Lift      `json:"lift,omitzero"` // one lift from one hopper to all queues, in place of lifts
	Lifts    []Lift    `json:"lifts,omitempty"`
	Frame    Frame     `json:"frame,omitzero"`

	Measured []Measured `json:"measured,omitempty"`
	Limits   Limits     `json:"limits"`

	kept map[string]Doubt // by path: of figures that were changed for a trial
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
	ID         string   `json:"id"`
	Kind       LaneKind `json:"kind"`
	File       LaneFile `json:"file,omitempty"`
	LengthMM   Maybe    `json:"length_mm,omitzero"`
	BoreMM     float64  `json:"bore_mm,omitzero"` // inner diameter of a fall's pipe; 0: free air
	SlopeDeg   Maybe    `json:"slope_deg,omitzero"`
	RailGapMM  float64  `json:"rail_gap_mm,omitzero"`  // between the rails' contacts; 0: flat bottom
	RodMM      float64  `json:"rod_mm,omitzero"`       // diameter of round rails
	ClearGapMM float64  `json:"clear_gap_mm,omitzero"` // between round rails
	Rolling    float64  `json:"rolling,omitzero"`      // coefficient of rolling resistance, a pure number
	Friction   Maybe    `json:"friction,omitzero"`     // coefficient of sliding friction, a pure number
	Keep       Maybe    `json:"keep,omitzero"`         // fraction of the speed kept on entering, 0 to 1; 1 if left out
	Note       string   `json:"note,omitempty"`
}

// LaneFile says whether marbles in a lane can pass each other.
type LaneFile string

const (
	SingleFile LaneFile = "single" // one behind the other: two can meet; also if left out
	OpenFile   LaneFile = "open"   // side by side, in a tray or a wide channel: none meet
)

// Open reports whether marbles in the lane can pass each other.
func (l *Lane) Open() bool { return l.File == OpenFile }

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
	Plate   string      `json:"plate,omitempty"` // channels that name the same plate strike one
	RingS   Maybe       `json:"ring_s,omitzero"` // T60: time to ring down by 60 dB
	MicMM   Maybe       `json:"mic_mm,omitzero"` // distance to the microphone
	Trip    Trip        `json:"trip"`
	Gate    Gate        `json:"gate"`
	Path    []string    `json:"path"`
	Strike  Strike      `json:"strike"`
	ExitMMS Maybe       `json:"exit_mm_s,omitzero"` // speed on leaving the plate, mm/s
	Exit    []string    `json:"exit"`
	Hopper  string      `json:"hopper,omitempty"` // where its marbles end; the first if left out
	Queue   Queue       `json:"queue,omitzero"`
	Note    string      `json:"note,omitempty"`

	Works       ChannelWorks `json:"works,omitempty"`
	Damps       []string     `json:"damps,omitempty"` // channels that a hold damps
	LeastHoldMS Maybe        `json:"least_hold_ms,omitzero"`
	LeastRestMS Maybe        `json:"least_rest_ms,omitzero"`
}

// ChannelWorks is what a channel's pins do.
type ChannelWorks string

const (
	Drops ChannelWorks = "drop" // each lets a marble go; also if left out
	Holds ChannelWorks = "hold" // one starts the hold, the next ends it: no marble
)

// Holds reports whether the channel drops no marble: a pin starts a hold, the
// next ends it.
func (c *Channel) Holds() bool { return c.Works == Holds }

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
	ReachMM  Maybe   `json:"reach_mm,omitzero"`  // arc from touching the lever to full push
	HoldMM   Maybe   `json:"hold_mm,omitzero"`   // arc over which a pin holds the lever
	ReturnMS Maybe   `json:"return_ms,omitzero"` // the lever's time to fall back
	LatchMS  Maybe   `json:"latch_ms,omitzero"`  // full push to release
	JitterMS Maybe   `json:"jitter_ms,omitzero"` // standard deviation of the latch
	PushN    float64 `json:"push_n,omitzero"`    // force on the lever
	PushNS   float64 `json:"push_ns,omitzero"`   // the lever's blow on the frame
}

// Gate lets one marble go and takes in the next. ReloadMS is the measured
// time to do so; where it is left out the feed's slope gives it.
type Gate struct {
	ReloadMS     Maybe   `json:"reload_ms,omitzero"`
	ReloadSDMS   Maybe   `json:"reload_sd_ms,omitzero"` // standard deviation of the reload
	FeedSlopeDeg Maybe   `json:"feed_slope_deg,omitzero"`
	Rolling      float64 `json:"rolling,omitzero"`
	ReleaseMMS   float64 `json:"release_mm_s,omitzero"`
}

// FromFeed reports whether the reload follows from the feed's slope.
func (g *Gate) FromFeed() bool { return !g.ReloadMS.IsKnown() && g.FeedSlopeDeg.IsKnown() }

// Strike says when a struck plate is clear of its marble: ClearMS after the
// strike or, where that is left out, after the bounce that Restitution gives.
type Strike struct {
	ClearMS     Maybe `json:"clear_ms,omitzero"`
	Restitution Maybe `json:"restitution,omitzero"`
}

// FromBounce reports whether the time to clear follows from the bounce.
func (s *Strike) FromBounce() bool { return !s.ClearMS.IsKnown() && s.Restitution.IsKnown() }

// Queue is the marbles waiting behind a gate.
type Queue struct {
	Holds     int     `json:"holds,omitzero"` // how many fit
	Least     int     `json:"least,omitzero"` // fewer than these and the gate does not turn; 1 if left out
	Most      int     `json:"most,omitzero"`  // with so many it takes no more; holds if left out
	Start     Maybe   `json:"start,omitzero"` // how many before the first turn; most if left out
	SlopeDeg  Maybe   `json:"slope_deg,omitzero"`
	ForceMinN float64 `json:"force_min_n,omitzero"` // least and most force of the head with which the gate works
	ForceMaxN float64 `json:"force_max_n,omitzero"`
}

// Hopper is where marbles collect.
type Hopper struct {
	ID string `json:"id"`
}

// Lift carries marbles up, from a hopper to the queues or to another hopper.
// As the machine's one lift it has no id, and goes from its one hopper to all
// queues.
type Lift struct {
	ID             string   `json:"id,omitempty"`
	From           string   `json:"from,omitempty"`
	To             string   `json:"to,omitempty"`    // a hopper, or "queues"
	Drive          string   `json:"drive,omitempty"` // "wheel" or "motor"
	PocketsPerTurn float64  `json:"pockets_per_turn,omitzero"`
	MarblesPerS    float64  `json:"marbles_per_s,omitzero"`
	CarryMS        float64  `json:"carry_ms,omitzero"`
	Share          string   `json:"share,omitempty"`  // "cascade", "neediest" or "even"
	Serves         []string `json:"serves,omitempty"` // channels; all if left out
}

// ToQueues is where a lift goes that feeds the queues.
const ToQueues = "queues"

// IsZero reports whether there is no lift.
func (l Lift) IsZero() bool {
	return l.Drive == "" && l.PocketsPerTurn == 0 && l.MarblesPerS == 0 && l.CarryMS == 0 && l.Share == "" &&
		l.ID == "" && l.From == "" && l.To == "" && len(l.Serves) == 0
}

// AllLifts is the machine's lifts, the one of a file that names a single lift
// among them.
func (m *Machine) AllLifts() []Lift {
	if !m.Lift.IsZero() {
		return []Lift{m.Lift}
	}
	return m.Lifts
}

// Frame is what carries the machine, and how it shakes.
type Frame struct {
	Hz      float64 `json:"hz,omitzero"`      // frequency at which it shakes by itself
	HzU     float64 `json:"hz_u,omitzero"`    // standard uncertainty of that
	Damping float64 `json:"damping,omitzero"` // damping ratio
}

// Limits bound what the machine is asked to do. Those that are rates are
// expected numbers in one turn of the wheel.
type Limits struct {
	TempoMinBPM   float64 `json:"tempo_min_bpm"`
	TempoMaxBPM   float64 `json:"tempo_max_bpm"`
	HouseBPM      Maybe   `json:"house_bpm,omitzero"` // never faster, whatever the pinning
	HouseWhy      string  `json:"house_why,omitempty"`
	FlamMS        float64 `json:"flam_ms"`
	TripsAtOnce   int     `json:"trips_at_once,omitzero"`   // 0: no limit
	Wander        Maybe   `json:"wander,omitzero"`          // standard deviation of a hand's tempo, as a fraction
	Ripple        Maybe   `json:"ripple,omitzero"`          // of the tempo within a turn of the crank, as a fraction
	SpoiltPerTurn Maybe   `json:"spoilt_per_turn,omitzero"` // spoilt notes that are put up with
	JamsPerTurn   Maybe   `json:"jams_per_turn,omitzero"`   // jams that are put up with
	UnmeasuredU   Maybe   `json:"unmeasured_u,omitzero"`    // doubt of figures that nobody measured, as a fraction
}

// What limits are where a file leaves them out.
const (
	defaultSpoiltPerTurn = 0.01
	defaultJamsPerTurn   = 0.01
	defaultUnmeasuredU   = 0.05
	defaultPinSDMM       = 0.5
	defaultFriction      = 0.15 // oily steel
)

// MostSpoilt is how many spoilt notes are put up with in a turn.
func (l *Limits) MostSpoilt() float64 { return l.SpoiltPerTurn.Or(defaultSpoiltPerTurn) }

// MostJams is how many jams are put up with in a turn.
func (l *Limits) MostJams() float64 { return l.JamsPerTurn.Or(defaultJamsPerTurn) }

// DoubtShare is the doubt that is assumed of figures that nobody measured, as a
// fraction.
func (l *Limits) DoubtShare() float64 { return l.UnmeasuredU.Or(defaultUnmeasuredU) }

// PinSD is how far a pin stands from its place, in mm of arc: a standard
// deviation.
func (w *Wheel) PinSD() float64 { return w.PinSDMM.Or(defaultPinSDMM) }

// KeepOf is the fraction of its speed that a marble keeps on entering.
func (l *Lane) KeepOf() float64 { return l.Keep.Or(1) }

// FrictionOf is the coefficient of sliding friction on the lane.
func (l *Lane) FrictionOf() float64 { return l.Friction.Or(defaultFriction) }

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
		c.Damps = slices.Clone(c.Damps)
	}
	n.Hoppers, n.Measured, n.Lifts = slices.Clone(m.Hoppers), slices.Clone(m.Measured), slices.Clone(m.Lifts)
	for i := range n.Lifts {
		n.Lifts[i].Serves = slices.Clone(n.Lifts[i].Serves)
	}
	n.Lift.Serves = slices.Clone(m.Lift.Serves)
	n.kept = maps.Clone(m.kept)
	return &n
}

// SetDefaults sets what a file may leave out: a channel plays.
func (c *Channel) SetDefaults() { c.Service = Playing }

// SetDefaults sets what a file may leave out: 30 to 240 BPM, a flam of 20 ms.
func (l *Limits) SetDefaults() {
	l.TempoMinBPM, l.TempoMaxBPM, l.FlamMS = 30, 240, 20
}
