package wheel

import "slices"

// Basis is what a figure rests on.
type Basis uint8

const (
	UnknownBasis  Basis = iota // the file leaves it out, and nothing can be taken for it
	AssumedBasis               // something of it is assumed: its spread, its doubt or, left out, the figure itself
	UsualBasis                 // the file leaves it out and it is what it usually is, exactly
	FileBasis                  // the file says it, and all that is doubtful of it
	MeasuredBasis              // it was measured
)

// Bases is how many there are.
const Bases = int(MeasuredBasis) + 1

// Based is a figure on which times depend, with how far it can be trusted and
// why.
type Based struct {
	Figure
	Doubt
	Basis Basis
	Entry *Measured // what was measured of it; nil if nothing was

	// FromFeed: the figure is a reload that follows from the feed's slope, so that
	// only mechanics knows its value.
	FromFeed bool
}

// Grounds are the figures on which times depend, with what they rest on: those
// of the machine as a whole, of each lane that a channel uses, and of each
// channel. Of two figures that give the same, the one that counts is listed.
type Grounds struct {
	Machine  []Based
	Lanes    [][]Based // by lane; none of a lane that no channel uses
	Channels [][]Based
}

// usual is what figures are that a file may leave out, if not 0.
var usual = map[string]float64{
	"keep":            1,
	"wheel.pin_sd_mm": defaultPinSDMM,
}

// Grounds is what the machine's figures rest on.
func (m *Machine) Grounds() Grounds {
	unknown := map[string]bool{}
	for _, path := range m.Unknown(AllChannels) {
		unknown[path] = true
	}
	assumed := map[string]bool{}
	for _, path := range m.Assumed(AllChannels) {
		assumed[path] = true
	}
	doubts := m.Doubts()
	based := func(f figure) Based {
		b := Based{Figure: f.told(), Doubt: doubts.of(f), Basis: FileBasis}
		if i, is := doubts.byPath[f.path]; is {
			b.Entry = &m.Measured[i]
		}
		b.FromFeed = f.key == "gate.reload_ms" && f.channel.Gate.FromFeed()
		switch {
		case unknown[f.path]:
			b.Basis = UnknownBasis
		case assumed[f.path]:
			b.Basis = AssumedBasis
		case b.Entry != nil:
			b.Basis = MeasuredBasis
		case !b.Given && !b.FromFeed:
			b.Basis = UsualBasis
		}
		if b.Basis != UnknownBasis && !b.Given {
			b.Value = usual[f.key]
		}
		return b
	}
	of := Grounds{Lanes: make([][]Based, len(m.Lanes)), Channels: make([][]Based, len(m.Channels))}
	for i := range machineFields {
		if f := m.at(&machineFields[i]); m.times(f.key) {
			of.Machine = append(of.Machine, based(f))
		}
	}
	used := map[string]bool{}
	for i := range m.Channels {
		c := &m.Channels[i]
		for j := range channelFields {
			if f := m.atChannel(i, &channelFields[j]); c.times(f.key) {
				of.Channels[i] = append(of.Channels[i], based(f))
			}
		}
		for _, id := range c.Route() {
			used[id] = used[id] || !c.Holds()
		}
	}
	for i := range m.Lanes {
		for j := range laneFields {
			if f := m.atLane(i, &laneFields[j]); used[m.Lanes[i].ID] && m.Lanes[i].times(f.key) {
				of.Lanes[i] = append(of.Lanes[i], based(f))
			}
		}
	}
	return of
}

// All is every figure of the machine, its lanes and its channels.
func (of *Grounds) All() []Based {
	return slices.Concat(of.Machine, slices.Concat(of.Lanes...), slices.Concat(of.Channels...))
}

// CountBases is how many of some figures rest on each basis.
func CountBases(all []Based) (n [Bases]int) {
	for _, b := range all {
		n[b.Basis]++
	}
	return n
}

// times reports whether times depend on a figure of the machine as a whole.
func (m *Machine) times(key string) bool {
	switch key {
	case "wheel.radius_mm", "wheel.pin_sd_mm", "marble.diameter_mm", "marble.clearance_mm", "limits.wander", "limits.ripple":
		return true
	case "marble.density_kg_m3": // what a pipe slows depends on the weight
		return slices.ContainsFunc(m.Lanes, func(l Lane) bool { return l.Kind == Fall && l.BoreMM > 0 })
	}
	return false
}

// times reports whether times depend on a figure of the channel.
func (c *Channel) times(key string) bool {
	if channelDoubts[key] == uNone || !c.counts(key) {
		return false
	}
	return key != "strike.clear_ms" || !c.Strike.FromBounce()
}

// times reports whether times depend on a figure of the lane.
func (l *Lane) times(key string) bool {
	switch key {
	case "length_mm", "keep":
		return true
	case "bore_mm":
		return l.Kind == Fall && l.BoreMM > 0
	case "slope_deg", "rolling":
		return l.Kind == Ramp
	case "rail_gap_mm":
		return l.Kind == Ramp && l.RailGapMM > 0
	case "rod_mm", "clear_gap_mm":
		return l.Kind == Ramp && l.RodMM > 0
	}
	return false
}
