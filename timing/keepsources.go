package timing

import (
	"math"
	"slices"

	"pinwright/wheel"
)

// source is a figure of the machine that times depend on, with its doubt in the
// unit of the file.
type source struct {
	path string // empty for what is no figure of the file
	doubt
	of            *mover
	value         float64
	put           func(value float64) // into the mover's machine
	least, most   float64             // values that it can have
	lane, channel int                 // whose it is; −1: not of one
	use           use
	moves         bool // when marbles get anywhere depends on it
}

// use is what a channel needs a figure for by itself.
type use uint8

const (
	useNothing use = iota
	useReach
	useHold
	useReturn
	useLatch
	useReload
	useFeed
	useClear
	useBounce
)

// sources are the figures of the machine that times depend on and that vary or
// are in doubt: here, and nowhere else, doubts are read from a machine.
func (w *Works) sources() []source {
	o := newMover(w)
	m, doubts := o.m, w.Machine.Doubts()
	var all []source
	add := func(x source, d wheel.Doubt) {
		if x.doubt = (doubt{d.SD, d.U}); x.doubt != (doubt{}) {
			x.of = o
			all = append(all, x)
		}
	}
	number := func(at *float64) (float64, func(float64)) { return *at, func(value float64) { *at = value } }
	maybe := func(at *wheel.Maybe) (float64, func(float64)) {
		return at.Or(0), func(value float64) { *at = wheel.Known(value) }
	}
	ofMarble := func(key string, at *float64) {
		x := source{path: "marble." + key, most: math.Inf(1), lane: -1, channel: -1, moves: true}
		x.value, x.put = number(at)
		add(x, doubts.Of(x.path))
	}
	ofMarble("diameter_mm", &m.Marble.DiameterMM)
	ofMarble("density_kg_m3", &m.Marble.DensityKgM3)
	if slices.ContainsFunc(w.lanes, func(l lane) bool { return l.pipe }) {
		x := source{most: 1, lane: -1, channel: -1, moves: true}
		x.value, x.put = number(&o.pipeC)
		add(x, wheel.Doubt{U: PipeCDoubt})
	}
	for i := range m.Lanes {
		l := &m.Lanes[i]
		ofLane := func(key string, least, most, value float64, put func(float64)) {
			add(source{path: "lanes." + l.ID + "." + key, value: value, put: put, least: least, most: most, lane: i, channel: -1, moves: true}, doubts.Lane(i, key))
		}
		upTo := func(key string, most float64) func(value float64, put func(float64)) {
			return func(value float64, put func(float64)) { ofLane(key, 0, most, value, put) }
		}
		upTo("length_mm", math.Inf(1))(maybe(&l.LengthMM))
		upTo("keep", 1)(maybe(&l.Keep))
		if l.Kind == wheel.Fall {
			upTo("bore_mm", math.Inf(1))(number(&l.BoreMM))
			continue
		}
		slope, put := maybe(&l.SlopeDeg)
		ofLane("slope_deg", -90, 90, slope, put)
		upTo("rolling", 1)(number(&l.Rolling))
		upTo("rail_gap_mm", m.Marble.DiameterMM)(number(&l.RailGapMM))
		upTo("clear_gap_mm", m.Marble.DiameterMM)(number(&l.ClearGapMM))
		upTo("rod_mm", math.Inf(1))(number(&l.RodMM))
	}
	for i := range m.Channels {
		c := &m.Channels[i]
		ofChannel := func(key string, most float64, use use, moves bool) func(value float64, put func(float64)) {
			return func(value float64, put func(float64)) {
				d := doubts.Channel(i, key)
				if use == useReload && c.Gate.FromFeed() && d.SDSource == wheel.Assumed {
					d.SD = wheel.AssumedSpread * w.Channels[i].Reload * 1000
				}
				add(source{path: "channels." + c.ID + "." + key, value: value, put: put, most: most, lane: -1, channel: i, use: use, moves: moves}, d)
			}
		}
		inf := math.Inf(1)
		ofChannel("trip.reach_mm", inf, useReach, false)(maybe(&c.Trip.ReachMM))
		ofChannel("trip.hold_mm", inf, useHold, false)(maybe(&c.Trip.HoldMM))
		ofChannel("trip.return_ms", inf, useReturn, false)(maybe(&c.Trip.ReturnMS))
		ofChannel("trip.latch_ms", inf, useLatch, true)(maybe(&c.Trip.LatchMS))
		if c.Holds() {
			continue
		}
		ofChannel("gate.reload_ms", inf, useReload, false)(maybe(&c.Gate.ReloadMS))
		if c.Gate.FromFeed() {
			ofChannel("gate.feed_slope_deg", 90, useFeed, false)(maybe(&c.Gate.FeedSlopeDeg))
			ofChannel("gate.rolling", 1, useFeed, false)(number(&c.Gate.Rolling))
		}
		ofChannel("gate.release_mm_s", inf, useNothing, true)(number(&c.Gate.ReleaseMMS))
		if c.Strike.FromBounce() {
			ofChannel("strike.restitution", 1, useBounce, true)(maybe(&c.Strike.Restitution))
		} else {
			ofChannel("strike.clear_ms", inf, useClear, true)(maybe(&c.Strike.ClearMS))
		}
		if len(c.Exit) > 0 {
			ofChannel("exit_mm_s", inf, useNothing, true)(maybe(&c.ExitMMS))
		}
	}
	return all
}

// bearsOn reports whether a figure bears on when a channel's marbles get
// anywhere.
func (x *source) bearsOn(w *Works, channel int) bool {
	switch {
	case x.channel >= 0:
		return x.channel == channel
	case x.lane >= 0:
		return slices.ContainsFunc(w.Channels[channel].Passages, func(p Passage) bool { return p.Lane == x.lane })
	}
	return true
}

// step moves the figure up by √(s² + u²), or down where it would leave its range
// or look finds that nothing can be worked out there, and puts it back. It
// returns by how much it moved; ok is false where it can go neither way.
func (x *source) step(look func() bool) (by float64, ok bool) {
	h := math.Sqrt(x.both())
	defer x.set(x.value)
	for _, by := range [...]float64{h, -h} {
		if to := x.value + by; to >= x.least && to <= x.most {
			if x.set(to); look() {
				return by, true
			}
		}
	}
	return 0, false
}

func (x *source) set(value float64) {
	x.put(value)
	switch {
	case x.lane >= 0:
		x.of.moveLane(x.lane)
	case x.channel < 0:
		x.of.moveLanes()
	}
}

// slope is ∂t/∂x of a time that depends on the figure.
func (x *source) slope(t func() (float64, bool)) float64 {
	usual, _ := t()
	moved := usual
	by, ok := x.step(func() (ok bool) {
		moved, ok = t()
		return ok
	})
	if !ok {
		return 0
	}
	return (moved - usual) / by
}
