package timing

import (
	"math"
	"slices"
	"sync"

	"pinwright/wheel"
)

// doubt is how far a quantity can be trusted: its spread from drop to drop, a
// standard deviation, and the standard uncertainty of its mean.
type doubt struct{ s, u float64 }

// both is the variance of one drop about the value that the machine's file
// gives.
func (d doubt) both() float64 { return d.s*d.s + d.u*d.u }

func (d doubt) times(k float64) doubt { return doubt{d.s * math.Abs(k), d.u * math.Abs(k)} }

// scatter is how much the times of a machine vary and how well they are known,
// in seconds and steps. It is worked out once for a machine.
type scatter struct {
	works  *Works
	all    []source
	pin    float64 // of a pin's place, a standard deviation in steps
	wander float64
	crank  crankTurn
	own    []channelDoubts
	asks   [][]variance // by channel and ask of the rules between two of its pins
	first  []int        // by channel: its first moment
	shifts [][]shift    // by moment: a channel's passages in order, then its strike
	plates [][]int      // channels that strike one plate
}

// variance is that of a time at step period p: fixed + perP2 p².
type variance struct{ fixed, perP2 float64 }

// shift is how a moment of a channel moves with a figure: ∂τ/∂x times the
// figure's spread and its doubt, in seconds.
type shift struct {
	source int
	u, s   float64 // signed
}

// channelDoubts is the doubts of one channel's own times, in seconds and steps.
type channelDoubts struct {
	latch, back, reload, clear doubt // s
	reach, hold                doubt // steps
}

// followScatter is a [followRule] that says how much what it asks for varies:
// the need, and all that moves one of two pins and not the other, but for the
// pins' own places and the crank.
type followScatter interface {
	followRule
	scatter(c *channelDoubts) variance
}

// Return and hold are the lever's alone, and the gap is counted from pins.
func (crowded) scatter(c *channelDoubts) variance { return variance{c.back.both(), c.hold.both()} }

// Two drops differ in their latches: their doubt is one and the same.
func (unready) scatter(c *channelDoubts) variance {
	return variance{fixed: c.reload.both() + 2*c.latch.s*c.latch.s}
}

func (unclear) scatter(c *channelDoubts) variance {
	return variance{fixed: c.clear.both() + 2*c.latch.s*c.latch.s}
}

// scattered keeps a machine's scatter once it has been asked for.
type scattered struct {
	once  sync.Once
	value *scatter
}

// scatter is the machine's, worked out when it is first asked for.
func (w *Works) scatter() *scatter {
	w.scattered.once.Do(func() { w.scattered.value = newScatter(w, w.sources()) })
	return w.scattered.value
}

func newScatter(w *Works, all []source) *scatter {
	l := &w.Machine.Limits
	sc := &scatter{
		works: w, all: all, pin: w.Machine.Wheel.PinSD() / w.Machine.Wheel.ArcMM(), wander: l.Wander.Or(0), crank: newCrankTurn(l.Ripple.Or(0)),
		own: make([]channelDoubts, len(w.Channels)), asks: make([][]variance, len(w.Channels)), first: make([]int, len(w.Channels)),
		plates: platesOf(w.Machine),
	}
	moments := 0
	for i := range w.Channels {
		sc.first[i] = moments
		moments += len(w.Channels[i].Passages) + 1
	}
	sc.shifts = make([][]shift, moments)
	for i := range w.Channels {
		sc.addOwn(i)
	}
	for k := range sc.all {
		sc.addShifts(k)
	}
	return sc
}

// with is the scatter of the machine with another doubt of one figure.
func (sc *scatter) with(k int, d doubt) *scatter {
	n := *sc
	n.all = slices.Clone(sc.all)
	n.all[k].doubt = d
	if i := sc.all[k].channel; i >= 0 {
		n.own, n.asks = slices.Clone(sc.own), slices.Clone(sc.asks)
		n.addOwn(i)
	}
	if sc.all[k].moves {
		n.shifts = slices.Clone(sc.shifts)
		for m, list := range n.shifts {
			if at := slices.IndexFunc(list, func(s shift) bool { return s.source == k }); at >= 0 {
				n.shifts[m] = slices.Delete(slices.Clone(list), at, at+1)
			}
		}
		n.addShifts(k)
	}
	return &n
}

// addOwn works out the doubts of a channel's own times, and of what the rules
// between two of its pins ask.
func (sc *scatter) addOwn(channel int) {
	w := sc.works
	arc := w.Machine.Wheel.ArcMM()
	c := &sc.own[channel]
	*c = channelDoubts{}
	for k := range sc.all {
		x := &sc.all[k]
		if x.channel != channel {
			continue
		}
		switch x.use {
		case useReach:
			c.reach = x.doubt.times(1 / arc)
		case useHold:
			c.hold = x.doubt.times(1 / arc)
		case useReturn:
			c.back = x.doubt.times(1. / 1000)
		case useLatch:
			c.latch = x.doubt.times(1. / 1000)
		case useReload:
			c.reload.s = x.s / 1000
			c.reload.u = math.Hypot(c.reload.u, x.u/1000)
		case useFeed:
			c.reload.u = math.Hypot(c.reload.u, x.u*x.slope(func() (float64, bool) {
				gate := &x.of.m.Channels[channel].Gate
				t, err := FeedTime(x.of.m.Marble.DiameterMM/1000, radians(gate.FeedSlopeDeg.Or(0)), gate.Rolling)
				return t, err == nil
			}))
		case useClear:
			c.clear = x.doubt.times(1. / 1000)
		case useBounce:
			c.clear = x.doubt.times(BounceTime(1, w.Channels[channel].StrikeSpeed))
		}
	}
	asks := make([]variance, len(w.rules.asks[channel]))
	for k, a := range w.rules.asks[channel] {
		if r, ok := w.rule(a.kind).(followScatter); ok {
			asks[k] = r.scatter(c)
		}
	}
	sc.asks[channel] = asks
}

// addShifts works out how every moment moves with a figure.
func (sc *scatter) addShifts(k int) {
	w, x := sc.works, &sc.all[k]
	if !x.moves || x.doubt == (doubt{}) {
		return
	}
	var usual, moved []float64
	for i := range w.Channels {
		if !x.bearsOn(w, i) {
			continue
		}
		usual, _ = x.of.walk(i, usual[:0])
		by, ok := x.step(func() (ok bool) {
			moved, ok = x.of.walk(i, moved[:0])
			return ok
		})
		if !ok {
			continue
		}
		for n := range usual {
			if slope := (moved[n] - usual[n]) / by; slope != 0 {
				list := &sc.shifts[sc.first[i]+n]
				at := len(*list)
				for at > 0 && (*list)[at-1].source > k {
					at--
				}
				*list = slices.Insert(*list, at, shift{k, slope * x.u, slope * x.s})
			}
		}
	}
}

// apart is the variance of the time between two moments, in s²:
//
//	Σ (∂τ₁/∂x − ∂τ₂/∂x)² u² + ((∂τ₁/∂x)² + (∂τ₂/∂x)²) s²
//
// over figures x (JCGM 100:2008, 5.1.2): what nobody knows exactly is the same
// for both, what varies from drop to drop is not.
func (sc *scatter) apart(a, b int) float64 {
	one, two := sc.shifts[a], sc.shifts[b]
	sum := 0.0
	for len(one) > 0 || len(two) > 0 {
		var d, e shift
		switch {
		case len(two) == 0 || len(one) > 0 && one[0].source < two[0].source:
			d, one = one[0], one[1:]
		case len(one) == 0 || two[0].source < one[0].source:
			e, two = two[0], two[1:]
		default:
			d, e = one[0], two[0]
			one, two = one[1:], two[1:]
		}
		sum += (d.u-e.u)*(d.u-e.u) + d.s*d.s + e.s*e.s
	}
	return sum
}

// reaches is what the reaches of two channels add to the variance of the time
// between their drops, in steps².
func (sc *scatter) reaches(a, b int) float64 {
	if a == b {
		return 2 * sc.own[a].reach.s * sc.own[a].reach.s
	}
	return sc.own[a].reach.both() + sc.own[b].reach.both()
}

// strike is the place of a channel's strike among the moments.
func (sc *scatter) strike(channel int) int {
	return sc.first[channel] + len(sc.works.Channels[channel].Passages)
}

// moment is the place of a channel's passage among the moments.
func (sc *scatter) moment(p *Passage) int {
	for k := range sc.works.Channels[p.Channel].Passages {
		if sc.works.Channels[p.Channel].Passages[k].Lane == p.Lane {
			return sc.first[p.Channel] + k
		}
	}
	return -1 // no passage of the machine's
}

// mover is a copy of a machine on which figures can be moved to see what moves
// with them.
type mover struct {
	works *Works
	m     *wheel.Machine
	pipeC float64 // what the gap in a pipe lets through
	lanes []lane
}

func newMover(w *Works) *mover {
	o := &mover{w, w.Machine.Clone(), PipeC, make([]lane, len(w.lanes))}
	o.moveLanes()
	return o
}

func (o *mover) moveLanes() {
	for i := range o.lanes {
		o.moveLane(i)
	}
}

func (o *mover) moveLane(i int) {
	o.lanes[i] = newLane(&o.m.Lanes[i], &o.m.Marble)
	o.lanes[i].terminal *= o.pipeC / PipeC
}

// walk appends when the marble of a channel enters each of its lanes, and when
// it strikes, in seconds from full push. ok is false where it stalls.
func (o *mover) walk(i int, at []float64) (moments []float64, ok bool) {
	c := &o.m.Channels[i]
	clock, speed, strike := c.Trip.LatchMS.Or(0)/1000, c.Gate.ReleaseMMS/1000, -1.0
	for _, ps := range o.works.Channels[i].Passages {
		if ps.Exit && strike < 0 {
			strike = clock
			clear := c.Strike.ClearMS.Or(0) / 1000
			if c.Strike.FromBounce() {
				clear = BounceTime(c.Strike.Restitution.Or(0), speed)
			}
			clock, speed = clock+clear, c.ExitMMS.Or(0)/1000
		}
		at = append(at, clock)
		l := &o.lanes[ps.Lane]
		t, v, err := l.through(speed * l.keep)
		if err != nil {
			return at, false
		}
		clock, speed = clock+t, v
	}
	if strike < 0 {
		strike = clock
	}
	return append(at, strike), true
}
