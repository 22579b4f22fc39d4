package wheel

import (
	"math"
	"strings"
)

// Doubt is how far a figure can be trusted, in the figure's own unit: its
// spread from drop to drop and the standard uncertainty of its mean.
type Doubt struct {
	SD, U    float64
	SDSource DoubtSource
	USource  DoubtSource
	ofOther  bool // SD is a share of a value that only mechanics knows
}

// DoubtSource is where a spread or a doubt comes from.
type DoubtSource uint8

const (
	Exact      DoubtSource = iota // the figure has none
	Assumed                       // nobody measured it
	InFile                        // the file states it beside the figure
	IsMeasured                    // the list of what was measured gives it
)

// Assumed reports whether something of the figure's doubt is assumed, and is
// not nothing.
func (d Doubt) Assumed() bool {
	return d.SDSource == Assumed && (d.SD > 0 || d.ofOther) || d.USource == Assumed && d.U > 0
}

// Doubts of figures that nobody measured. Those of times, speeds and pure
// numbers are a fraction of the value: [Limits].UnmeasuredU.
const (
	AssumedSpread   = 0.05 // of the value, for latch and reload
	assumedLengthMM = 1.0  // of a lane
	assumedSlopeDeg = 0.25
	assumedArcMM    = 0.5 // reach and hold
)

// uRule says how a figure's doubt is assumed.
type uRule uint8

const (
	uNone uRule = iota
	uShare
	uLength
	uSlope
	uArc
)

// What is assumed of figures on which times depend, by key. All others are
// exact unless they were measured.
var laneDoubts = map[string]uRule{
	"length_mm": uLength, "slope_deg": uSlope, "rolling": uShare, "keep": uShare,
}

var channelDoubts = map[string]uRule{
	"trip.reach_mm": uArc, "trip.hold_mm": uArc, "trip.return_ms": uShare, "trip.latch_ms": uShare,
	"gate.reload_ms": uShare, "gate.feed_slope_deg": uSlope, "gate.rolling": uShare, "gate.release_mm_s": uShare,
	"strike.clear_ms": uShare, "strike.restitution": uShare, "exit_mm_s": uShare,
}

// Doubts tells the doubt of each of a machine's figures.
type Doubts struct {
	m      *Machine
	byPath map[string]int // in the list of what was measured
}

// Doubts is what is known and assumed of the doubt of the machine's figures.
// It is to be asked for again once the machine has changed.
func (m *Machine) Doubts() *Doubts {
	d := &Doubts{m: m, byPath: make(map[string]int, len(m.Measured))}
	for i := range m.Measured {
		d.byPath[m.Measured[i].Figure] = i
	}
	return d
}

// Doubt is the doubt of the figure at a path. A figure that the file leaves out
// has none.
func (m *Machine) Doubt(path string) Doubt { return m.Doubts().Of(path) }

// Of is the doubt of the figure at a path; that of a path which is none is
// nothing.
func (d *Doubts) Of(path string) Doubt {
	f, err := d.m.find(path)
	if err != nil {
		return Doubt{}
	}
	return d.of(f)
}

// Channel is the doubt of a channel's figure by its key, such as
// gate.reload_ms.
func (d *Doubts) Channel(i int, key string) Doubt {
	if f := byKey(channelFields, key); f != nil {
		return d.of(d.m.atChannel(i, f))
	}
	return Doubt{}
}

// Lane is the doubt of a lane's figure by its key, such as length_mm.
func (d *Doubts) Lane(i int, key string) Doubt {
	if f := byKey(laneFields, key); f != nil {
		return d.of(d.m.atLane(i, f))
	}
	return Doubt{}
}

func (d *Doubts) of(f figure) Doubt {
	if kept, is := d.m.kept[f.path]; is {
		return kept
	}
	value, given := f.number()
	switch {
	case given:
	case f.key == "gate.reload_ms" && f.channel.Gate.FromFeed():
		return f.channel.feedSpread()
	default:
		return Doubt{}
	}
	doubt := d.assumed(f, value)
	if i, is := d.byPath[f.path]; is {
		e := &d.m.Measured[i]
		if sd, ok := e.SD.Get(); ok {
			doubt.SD, doubt.SDSource = sd, IsMeasured
		}
		if u, ok := e.Doubt(); ok {
			doubt.U, doubt.USource = u, IsMeasured
		}
	}
	return doubt
}

// assumed is the doubt of a figure that nobody measured.
func (d *Doubts) assumed(f figure, value float64) Doubt {
	var doubt Doubt
	rule := uNone
	switch {
	case strings.HasPrefix(f.path, "lanes."):
		rule = laneDoubts[f.key]
	case f.channel != nil:
		rule = channelDoubts[f.key]
		stated, spreads := f.channel.statedSpread(f.key)
		if sd, ok := stated.Get(); ok {
			doubt.SD, doubt.SDSource = sd, InFile
		} else if spreads {
			doubt.SD, doubt.SDSource = AssumedSpread*value, Assumed
		}
	}
	switch rule {
	case uShare:
		doubt.U = d.m.Limits.DoubtShare() * math.Abs(value)
	case uLength:
		doubt.U = assumedLengthMM
	case uSlope:
		doubt.U = assumedSlopeDeg
	case uArc:
		doubt.U = assumedArcMM
	}
	if rule != uNone {
		doubt.USource = Assumed
	}
	return doubt
}

// feedSpread is the doubt of a reload that follows from the feed's slope. Only
// mechanics knows its value, so a spread that is assumed is left to be
// [AssumedSpread] of it; the slope and the rolling resistance have doubts of
// their own.
func (c *Channel) feedSpread() Doubt {
	if sd, ok := c.Gate.ReloadSDMS.Get(); ok {
		return Doubt{SD: sd, SDSource: InFile}
	}
	return Doubt{SDSource: Assumed, ofOther: true}
}

// statedSpread is the spread that the file gives beside a figure. ok is false
// for a figure that varies from drop to drop only if it was found to.
func (c *Channel) statedSpread(key string) (sd Maybe, ok bool) {
	switch key {
	case "trip.latch_ms":
		return c.Trip.JitterMS, true
	case "gate.reload_ms":
		return c.Gate.ReloadSDMS, true
	}
	return Maybe{}, false
}
