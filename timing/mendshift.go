package timing

import "math"

// mendLatch finds the least change of a channel's latch, either way, that
// lifts the limit; it is at most one mend.
func (m *mender) mendLatch(channel int, c Cause, p float64) []Mend {
	latchMS := m.works.Machine.Channels[channel].Trip.LatchMS.Or(0)
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
	return []Mend{{Path: m.path(channel, "trip.latch_ms"), From: latchMS, To: max(latchMS+shift*1000, 0)}}
}

// mendClear finds the longest time to clear of a channel's plate, shorter than it
// is, with which its marble is in its exit soon enough to lift the limit; it is at
// most one mend.
func (m *mender) mendClear(channel int, c Cause, p float64) []Mend {
	clearMS, ok := m.works.Machine.Channels[channel].Strike.ClearMS.Get()
	if !ok {
		return nil
	}
	low := -clearMS / 1000
	m.forbidShifts(channel, true, c, p, low, 0)
	sooner, ok := m.shifts.freeBelow(0, func(s float64) float64 { return grain(clearMS+s*1000) / 1000 })
	if to := clearMS + sooner*1000; ok && to > 0 {
		return []Mend{{Path: m.path(channel, "strike.clear_ms"), From: clearMS, To: to}}
	}
	return nil
}

// forbidShifts notes which shifts in time, from low to high, of a channel's
// passages (or of those after its strike) would let a limit bite at a period
// above p: that of c, which has to be gone, or one that does not bite there yet.
// One that does already must not bite at a longer period than it does.
func (m *mender) forbidShifts(channel int, afterStrike bool, c Cause, p, low, high float64) {
	m.shifts.reset()
	gone := c.pack()
	for k := range m.works.rules.pairs {
		of := &m.works.rules.pairs[k]
		for _, a := range of.visits[channel] {
			if afterStrike && !a.Exit {
				continue
			}
			for i := range of.groups[a.group] {
				b := &of.groups[a.group][i]
				if b.Channel != channel && m.rows[b.Channel].pins > 0 {
					m.forbidShiftsOf(pair{of, a.Passage, b}, gone, p, low, high)
				}
			}
		}
	}
}

// forbidShiftsOf is forbidShifts for the first passage of a pair. With its
// marble later by δ, at a difference of d steps and any period q from that one
// to the longest, it forbids the open interval
//
//	q (d + ρ) + offset − ahead < δ < q (d + ρ) + offset + behind
func (m *mender) forbidShiftsOf(q pair, gone cause, p, low, high float64) {
	longest := m.longest
	least, own := p, q.cause()
	if own != gone {
		least = max(p, m.below[own])
	}
	if least >= longest {
		return
	}
	ra, rb := &m.rows[q.a.Channel], &m.rows[q.b.Channel]
	l := m.works.leadOf(q)
	if l.never() {
		return
	}
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
