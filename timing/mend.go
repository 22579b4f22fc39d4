package timing

import (
	"fmt"
	"math"

	"pinwright/wheel"
)

// Mend is a figure of the machine, by the path of [wheel.Figure], and the
// value of it that is just enough to lift a limit: with To set, the limit
// bites below Reaches no more, and nothing else bites there that did not
// before, or sooner than before.
type Mend struct {
	Path     string
	From, To float64 // in the figure's unit
	Reaches  float64 // BPM
}

// Workshop is To rounded to a figure that hands can set, on the side that is
// more than enough: to whole ones from 50 up, to tenths below, and finer where
// a tenth would be coarse. Whatever the limits of [Mend] say holds for it too.
func (m Mend) Workshop() float64 {
	per := 1 / grain(m.To)
	rounded := math.Ceil(m.To*per-1e-9) / per
	if m.To < m.From {
		rounded = math.Floor(m.To*per+1e-9) / per
	}
	if rounded <= 0 && m.To > 0 {
		return m.To
	}
	return rounded
}

// grain is how finely a figure of about this size is set: 1, 0.1, 0.01 ….
func grain(v float64) float64 {
	if v = math.Abs(v); v >= 50 {
		return 1
	}
	per := 10.
	for v*per < 10 && per < 1e6 {
		per *= 10
	}
	return 1 / per
}

// Bounds of what is still an adjustment.
const (
	mostLatchShiftS = 0.1
	steepestDeg     = 45
)

// By how much a time and an arc are taken further than just enough, so that
// rounding does not undo it: a nanosecond, and some nanometres of the wheel.
const (
	spareS     = 1e-9
	spareSteps = 1e-6
)

// sameTempo is how near to each other, as a fraction, two tempos differ by no
// more than rounding.
const sameTempo = 1e-9

// mender works out what would mend the limits of a turn as last scanned.
type mender struct {
	*Turn
	below  map[cause]float64 // the period below which each cause bites now
	shifts cover
	occur  []int // differences in steps of a pair that occur
}

func newMender(t *Turn) *mender {
	m := &mender{Turn: t, below: make(map[cause]float64, len(t.first))}
	for _, b := range t.first {
		m.below[b.cause] = b.below
	}
	return m
}

// mend finds a figure that lifts a rung's limit to the next.
func (m *mender) mend(r Rung) *Mend {
	p := m.works.Machine.Wheel.StepPeriod(r.Next)
	var mend *Mend
	switch r.Kind {
	case Crowded:
		mend = m.mendCrowded(r.Channel, p)
	case Unready:
		mend = m.mendUnready(r.Channel, p)
	case Unclear:
		mend = m.mendUnclear(r.Channel, p)
	case Meeting:
		mend = m.mendMeeting(r, p)
	}
	if mend == nil || mend.To == mend.From {
		return nil
	}
	mend.Reaches = r.Next
	return mend
}

func (m *mender) path(channel int, key string) string {
	return "channels." + m.works.Machine.Channels[channel].ID + "." + key
}

// mendCrowded takes (D − h/c) p ≥ return for the return, or where the lever
// cannot be so quick, or is held for too long at any tempo, for the hold.
func (m *mender) mendCrowded(channel int, p float64) *Mend {
	gap := float64(m.rows[channel].leastGap())
	c, file := &m.works.Channels[channel], &m.works.Machine.Channels[channel].Trip
	if free := (gap - c.Hold) * p * 1000; free > 0 {
		return &Mend{Path: m.path(channel, "trip.return_ms"), From: file.ReturnMS, To: free}
	}
	hold := (gap - max(c.Return/p, spareSteps)) * m.works.Machine.Wheel.ArcMM()
	if hold < 0 {
		return nil
	}
	return &Mend{Path: m.path(channel, "trip.hold_mm"), From: file.HoldMM, To: hold}
}

// mendUnready takes D p ≥ reload. A feed's slope follows from
// reload = √(2d/a), a = g (sin α − k cos α)/(7/5):
//
//	α = asin(s/√(1 + k²)) + atan k,  s = sin α − k cos α = (7/5)·2d/(g reload²)
func (m *mender) mendUnready(channel int, p float64) *Mend {
	reload := float64(m.rows[channel].leastGap()) * p
	gate := &m.works.Machine.Channels[channel].Gate
	if gate.ReloadMS > 0 {
		return &Mend{Path: m.path(channel, "gate.reload_ms"), From: gate.ReloadMS, To: reload * 1000}
	}
	d, k := m.works.Machine.Marble.DiameterMM/1000, gate.Rolling
	s := 1.4 * 2 * d / (Gravity * reload * reload)
	sine := s / math.Sqrt(1+k*k)
	if sine > 1 {
		return nil
	}
	slope := (math.Asin(sine) + math.Atan(k)) * 180 / math.Pi
	if slope > 90 {
		return nil
	}
	return &Mend{Path: m.path(channel, "gate.feed_slope_deg"), From: gate.FeedSlopeDeg, To: slope}
}

// mendUnclear takes D p ≥ clear, with restitution e of clear = 2 e v/g. The
// marble is in its exit sooner by as much, where it must not meet another:
// then only a still shorter time will do.
func (m *mender) mendUnclear(channel int, p float64) *Mend {
	c, file := &m.works.Channels[channel], &m.works.Machine.Channels[channel].Strike
	mend := Mend{Path: m.path(channel, "strike.clear_ms"), From: file.ClearMS}
	per := 1000. // of the figure to a second
	if file.ClearMS == 0 {
		mend.Path, mend.From = m.path(channel, "strike.restitution"), file.Restitution
		per = Gravity / (2 * c.StrikeSpeed)
	}
	shift := float64(m.rows[channel].leastGap())*p - c.Clear
	m.forbidShifts(channel, true, Cause{Lane: -1}, p, -c.Clear, shift)
	to, ok := m.shifts.freeBelow(shift, func(s float64) float64 { return grain((c.Clear+s)*per) / per })
	if mend.To = (c.Clear + to) * per; !ok || mend.To <= 0 {
		return nil
	}
	return &mend
}

// mendMeeting tries the clearance that is asked for, then the latch of the
// channel that follows and of that which leads, then a ramp's slope.
func (m *mender) mendMeeting(r Rung, p float64) *Mend {
	a, b, ok := m.works.passagesOf(r.Cause)
	if !ok {
		return nil
	}
	if mend := m.mendClearance(a, b, p); mend != nil {
		return mend
	}
	if a.Channel != b.Channel {
		for _, channel := range []int{r.Where.Other, r.Where.Channel} {
			if mend := m.mendLatch(channel, r.Cause, p); mend != nil {
				return mend
			}
		}
	}
	if m.works.Machine.Lanes[r.Lane].Kind == wheel.Ramp {
		return m.mendSlope(r, a, b, p)
	}
	return nil
}

// mendClearance halves its way to the widest clearance at which two passages
// meet at no period above p. A wider one never lets marbles nearer, so the
// other meetings only gain.
func (m *mender) mendClearance(a, b Passage, p float64) *Mend {
	marble := &m.works.Machine.Marble
	l := m.leadOf(a, b)
	m.listOccurring(l, a, b, p)
	lane := &m.works.lanes[a.Lane]
	apart := func(mm float64) bool {
		s := (marble.DiameterMM + mm) / 1000
		l.ahead, l.behind = lane.need(a.SpeedIn, a.Time, b.SpeedIn, s), lane.need(b.SpeedIn, b.Time, a.SpeedIn, s)
		return m.apart(l, p)
	}
	if !apart(0) {
		return nil
	}
	enough := halve(0, marble.ClearanceMM, apart)
	return &Mend{Path: "marble.clearance_mm", From: marble.ClearanceMM, To: enough}
}

// halve is a value at which something still holds that holds at from and not
// at to, with that at which it no longer does next to it.
func halve(from, to float64, holds func(float64) bool) float64 {
	for range 60 {
		mid := from + (to-from)/2
		if holds(mid) {
			from = mid
		} else {
			to = mid
		}
	}
	return from
}

// listOccurring lists the differences in steps that occur between the pins of
// two passages' channels and at which they meet at a period above p now.
func (m *mender) listOccurring(l lead, a, b Passage, p float64) {
	_, longest := m.periods()
	d, last := l.differences(p, longest)
	ra, rb := &m.rows[a.Channel], &m.rows[b.Channel]
	if a.Channel == b.Channel {
		d = max(d, 1)
	}
	m.occur = m.occur[:0]
	for ; d <= last; d++ {
		if ra.differ(rb, wrap(d, ra.n)) {
			m.occur = append(m.occur, d)
		}
	}
}

// apart reports whether a pair meets at none of the listed differences at a
// period above p.
func (m *mender) apart(l lead, p float64) bool {
	_, longest := m.periods()
	for _, d := range m.occur {
		if from, to, ok := l.forbidden(d); ok && to > p && from < longest {
			return false
		}
	}
	return true
}

// mendLatch finds the least change of a channel's latch, either way, that
// lifts the limit.
func (m *mender) mendLatch(channel int, c Cause, p float64) *Mend {
	latchMS := m.works.Machine.Channels[channel].Trip.LatchMS
	low := -min(latchMS/1000, mostLatchShiftS)
	const rounded = 1e-3 // seconds, the coarsest grain: rounding may go past the bounds by as much
	m.forbidShifts(channel, false, c, p, low-rounded, mostLatchShiftS+rounded)
	width := func(s float64) float64 { return grain(latchMS+s*1000) / 1000 }
	later, okLater := m.shifts.freeAbove(0, width)
	sooner, okSooner := m.shifts.freeBelow(0, width)
	okLater = okLater && later <= mostLatchShiftS
	okSooner = okSooner && sooner >= low
	shift := later
	switch {
	case !okLater && !okSooner:
		return nil
	case !okLater || okSooner && -sooner < later:
		shift = sooner
	}
	return &Mend{Path: m.path(channel, "trip.latch_ms"), From: latchMS, To: max(latchMS+shift*1000, 0)}
}

// forbidShifts notes which shifts in time, from low to high, of a channel's
// passages (or of those after its strike) would let a limit bite at a period
// above p: limit c, which has to be gone, or one that does not bite there yet.
// One that does already must not bite at a longer period than it does. With
// the channel's marble later by δ, at a difference of d steps and any period
// q from that one to the longest, it forbids the open interval
//
//	q (d + ρ) + offset − ahead < δ < q (d + ρ) + offset + behind
func (m *mender) forbidShifts(channel int, afterStrike bool, c Cause, p, low, high float64) {
	_, longest := m.periods()
	m.shifts.reset()
	for _, a := range m.works.Channels[channel].Passages {
		if afterStrike && !a.Exit {
			continue
		}
		for _, b := range m.works.lanes[a.Lane].passages {
			ra, rb := &m.rows[channel], &m.rows[b.Channel]
			if b.Channel == channel || rb.pins == 0 {
				continue
			}
			k := cause{Meeting, int32(min(channel, b.Channel)), int32(max(channel, b.Channel)), int32(a.Lane)}
			least := p
			if k.export() != c {
				least = max(p, m.below[k])
			}
			if least >= longest {
				continue
			}
			l := m.leadOf(a, b)
			from, to := l.ahead-l.offset+high, -l.behind-l.offset+low
			d := int(math.Ceil(min(to/least, to/longest) - l.rho))
			last := int(math.Floor(max(from/least, from/longest) - l.rho))
			for ; d <= last; d++ {
				slope := float64(d) + l.rho
				s := span{
					from: min(least*slope, longest*slope) + l.offset - l.ahead - spareS,
					to:   max(least*slope, longest*slope) + l.offset + l.behind + spareS,
				}
				if !m.shifts.holds(s.from, s.to) && ra.differ(rb, wrap(d, ra.n)) {
					m.shifts.add(s)
				}
			}
		}
	}
}

// freeAbove is the least value from v up that no interval holds, with as much
// room above it as width says. It is always found: intervals end.
func (c *cover) freeAbove(v float64, width func(float64) float64) (float64, bool) {
	for _, s := range c.spans {
		if v+width(v) <= s.from {
			break
		}
		v = max(v, s.to)
	}
	return v, true
}

// freeBelow is the greatest value from v down that no interval holds, with as
// much room below it as width says.
func (c *cover) freeBelow(v float64, width func(float64) float64) (float64, bool) {
	for i := len(c.spans) - 1; i >= 0; i-- {
		s := c.spans[i]
		if v-width(v) >= s.to {
			break
		}
		v = min(v, s.from)
	}
	return v, true
}

// mendSlope halves its way to the least slope of a ramp at which two marbles
// meet at no period above p, and takes it if the whole machine agrees.
func (m *mender) mendSlope(r Rung, a, b Passage, p float64) *Mend {
	file := &m.works.Machine.Lanes[r.Lane]
	marble := &m.works.Machine.Marble
	l := m.leadOf(a, b)
	m.listOccurring(l, a, b, p)
	s := m.works.Spacing()
	lane := m.works.lanes[r.Lane]
	apart := func(deg float64) bool {
		lane.accel = RampAcceleration(radians(deg), file.Rolling, file.RailGapMM, marble.DiameterMM)
		timeA, _, errA := Traverse(a.SpeedIn, lane.accel, lane.length)
		timeB, _, errB := Traverse(b.SpeedIn, lane.accel, lane.length)
		if errA != nil || errB != nil {
			return false
		}
		l.ahead, l.behind = lane.need(a.SpeedIn, timeA, b.SpeedIn, s), lane.need(b.SpeedIn, timeB, a.SpeedIn, s)
		return m.apart(l, p)
	}
	if file.SlopeDeg >= steepestDeg || !apart(steepestDeg) {
		return nil
	}
	mend := Mend{Path: "lanes." + file.ID + ".slope_deg", From: file.SlopeDeg, To: halve(steepestDeg, file.SlopeDeg, apart)}
	for _, deg := range []float64{mend.To, mend.Workshop()} {
		if !m.agrees(wheel.Set{Path: mend.Path, Value: deg}, r.Cause, p) {
			return nil
		}
	}
	return &mend
}

// agrees holds a change against the whole computation: cause c is gone at
// periods above p, and no other bites there that did not, or sooner.
func (m *mender) agrees(set wheel.Set, c Cause, p float64) bool {
	w, err := m.works.With(set)
	if err != nil {
		return false
	}
	t := Turn{works: w, rows: m.rows, trips: m.trips}
	t.scan()
	for _, b := range t.first {
		most := p
		if b.cause.export() != c {
			most = max(p, m.below[b.cause])
		}
		if b.below > most*(1+sameTempo) {
			return false
		}
	}
	return true
}

// MendSentence says what mending a rung's limit takes and buys, with figures
// for people: "reload 140 ms → 121 ms lifts the limit from 107.1 to 123.9 BPM".
// The figure is rounded to more than enough and tempos down. A limit that is
// not alone the lowest is called "this limit". It is empty where no single
// figure is enough.
func (w *Works) MendSentence(r Rung) string {
	if r.Mend == nil {
		return ""
	}
	f, err := w.Machine.Figure(r.Mend.Path)
	if err != nil {
		return ""
	}
	name := f.Label
	if r.Kind != Meeting {
		name = f.Name // of the channel that the limit names
	}
	unit := f.Unit
	if unit != "" && unit != "°" {
		unit = " " + unit
	}
	limit := "this limit"
	if r.FreedOK && r.Freed > r.BPM {
		limit = "the limit"
	}
	from, to := tempos(r.BPM, r.Mend.Reaches)
	return fmt.Sprintf("%s %s%s → %s%s lifts %s from %s to %s BPM", name,
		wheel.Number(r.Mend.From), unit, wheel.Number(r.Mend.Workshop()), unit, limit, from, to)
}

// tempos writes two tempos rounded down to a tenth, as every highest safe tempo
// is, or to a hundredth where a tenth does not tell them apart.
func tempos(a, b float64) (string, string) {
	for per := 10.; ; per *= 10 {
		from, to := math.Floor(a*per+1e-6)/per, math.Floor(b*per+1e-6)/per
		if from != to || per == 100 {
			return wheel.Number(from), wheel.Number(to)
		}
	}
}
