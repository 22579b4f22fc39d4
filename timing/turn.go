package timing

import (
	"math"

	"pinwright/wheel"
)

// Turn is one turn of the wheel with the pins of a pinning on it. It keeps its
// working memory: once it has grown, asking it anything allocates nothing but
// the answer. It is not for use by two goroutines at once.
type Turn struct {
	works   *Works
	rows    []row
	trips   []int32  // pins on each step
	members []member // all pins of the pinning, once chords are asked for
	chords  []chord
	chorded bool
	cover   cover
	first   []bite
	found   []Finding // in which Where looks
	pinning *wheel.Pinning
}

// bite is a rule and the longest step period, so the lowest tempo, at which
// it is broken.
type bite struct {
	cause cause
	below float64 // broken just below this period
	least float64 // need in seconds there
}

// Turn puts a pinning on the wheel. Its error is [wheel.Problems]: channels
// and steps the machine does not have.
func (w *Works) Turn(p *wheel.Pinning) (*Turn, error) {
	t := w.NewTurn()
	if err := t.Load(p); err != nil {
		return nil, err
	}
	return t, nil
}

// NewTurn is a turn with no pins.
func (w *Works) NewTurn() *Turn {
	t := &Turn{works: w, rows: make([]row, len(w.Channels)), trips: make([]int32, w.Machine.Wheel.Steps)}
	for i := range t.rows {
		t.rows[i] = newRow(w.Machine.Wheel.Steps)
	}
	return t
}

// Load takes all pins out and puts those of p in. Where it returns an error
// nothing has changed.
func (t *Turn) Load(p *wheel.Pinning) error {
	if err := p.CheckOn(t.works.Machine).Err(); err != nil {
		return err
	}
	for i := range t.rows {
		t.rows[i].clear()
	}
	clear(t.trips)
	index := t.works.index()
	for _, pin := range p.Pins {
		t.Drive(index[pin.Channel], pin.Step)
	}
	t.pinning, t.chorded = p, false
	return nil
}

// Has reports whether there is a pin at (channel, step).
func (t *Turn) Has(channel, step int) bool { return t.rows[channel].has(step) }

// Drive puts a pin at (channel, step), 0 ≤ step < N. It does nothing where
// there is one. Chords are those of the pinning last loaded.
func (t *Turn) Drive(channel, step int) {
	if r := &t.rows[channel]; !r.has(step) {
		r.flip(step)
		r.pins++
		t.trips[step]++
	}
}

// Pull takes the pin at (channel, step) out. It does nothing where there is
// none.
func (t *Turn) Pull(channel, step int) {
	if r := &t.rows[channel]; r.has(step) {
		r.flip(step)
		r.pins--
		t.trips[step]--
	}
}

// Pins is how many pins are on the wheel.
func (t *Turn) Pins() int {
	sum := 0
	for i := range t.rows {
		sum += t.rows[i].pins
	}
	return sum
}

// PinsOn is how many pins a channel has.
func (t *Turn) PinsOn(channel int) int { return t.rows[channel].pins }

// periods is the range of step periods that the machine's tempos span.
func (t *Turn) periods() (shortest, longest float64) {
	m := t.works.Machine
	return m.Wheel.StepPeriod(m.Limits.TempoMaxBPM), m.Wheel.StepPeriod(m.Limits.TempoMinBPM)
}

// scan notes every interval of the step period that a rule forbids, and for
// each cause where it first bites.
func (t *Turn) scan() {
	t.cover.reset()
	t.first = t.first[:0]
	t.scanChannels()
	for a, b := range t.pairs {
		t.scanPair(a, b)
	}

	t.scanSteps()
}

// pairs yields every two passages of one lane whose channels both have pins,
// and every passage with itself.
func (t *Turn) pairs(yield func(a, b Passage) bool) {
	for n := range t.works.lanes {
		ps := t.works.lanes[n].passages
		for i := range ps {
			if t.rows[ps[i].Channel].pins == 0 {
				continue
			}
			for j := i; j < len(ps); j++ {
				if t.rows[ps[j].Channel].pins > 0 && !yield(ps[i], ps[j]) {
					return
				}
			}
		}
	}
}

// forbid notes one interval, cut to the machine's tempos, for a cause.
func (t *Turn) forbid(c cause, from, to, need float64) {
	shortest, longest := t.periods()
	if from >= longest || to <= shortest || from >= to {
		return
	}
	to = min(to, longest)
	t.cover.add(span{max(from, 0), to, c})
	t.first = append(t.first, bite{c, to, need})
}

// scanChannels takes the rules between pins that follow each other on one
// channel. The closest two forbid all that any others do.
func (t *Turn) scanChannels() {
	for i := range t.rows {
		gap := float64(t.rows[i].leastGap())
		if gap == 0 {
			continue
		}
		c := &t.works.Channels[i]
		at := func(k Kind) cause { return cause{k, int32(i), int32(i), -1} }
		if gap <= c.Hold {
			t.forbid(at(Crowded), 0, math.Inf(1), c.Return)
		} else {
			t.forbid(at(Crowded), 0, c.Return/(gap-c.Hold), c.Return)
		}
		t.forbid(at(Unready), 0, c.Reload/gap, c.Reload)
		t.forbid(at(Unclear), 0, c.Clear/gap, c.Clear)
	}
}

// scanSteps takes the rules about a pin or a step by itself. They hold at
// every tempo.
func (t *Turn) scanSteps() {
	if most := t.works.Machine.Limits.TripsAtOnce; most > 0 {
		for _, trips := range t.trips {
			if int(trips) > most {
				t.forbid(cause{Overload, -1, -1, -1}, 0, math.Inf(1), 0)
				break
			}
		}
	}
	for i := range t.rows {
		if t.works.Channels[i].Resting && t.rows[i].pins > 0 {
			t.forbid(cause{Silent, int32(i), -1, -1}, 0, math.Inf(1), 0)
		}
	}
}

// lead is by how much passage a of a pin leads passage b of one d steps later:
// p (d + ρb − ρa) + (τb − τa) = slope·p + offset.
type lead struct {
	rho, offset float64 // ρb − ρa in steps, τb − τa in seconds
	ahead       float64 // need of a over b, s
	behind      float64 // need of b over a, s
}

func (t *Turn) leadOf(a, b Passage) lead {
	w := t.works
	return lead{
		rho:    w.Channels[b.Channel].Reach - w.Channels[a.Channel].Reach,
		offset: b.Enter - a.Enter,
		ahead:  w.Need(a, b),
		behind: w.Need(b, a),
	}
}

// differences is the range of d at which the two can meet at some period in
// [shortest, longest]: −behind < p (d + ρ) + offset < ahead.
func (l lead) differences(shortest, longest float64) (from, to int) {
	low, high := -l.behind-l.offset, l.ahead-l.offset
	from = int(math.Ceil(min(low/shortest, low/longest) - l.rho))
	to = int(math.Floor(max(high/shortest, high/longest) - l.rho))
	return from, to
}

// forbidden is the open interval of periods at which a pin d steps later meets
// the earlier one's marble. ok is false where there is none.
func (l lead) forbidden(d int) (from, to float64, ok bool) {
	low, high, slope := -l.behind-l.offset, l.ahead-l.offset, float64(d)+l.rho
	switch {
	case slope > 0:
		return low / slope, high / slope, high > 0
	case slope < 0:
		return high / slope, low / slope, low < 0
	default:
		return 0, math.Inf(1), low < 0 && high > 0
	}
}

// scanPair takes the meetings of two passages of one lane, of every turn with
// every other. Two pins matter only through their difference in steps, so each
// difference that occurs forbids its interval once.
func (t *Turn) scanPair(a, b Passage) {
	shortest, longest := t.periods()
	l := t.leadOf(a, b)
	d, last := l.differences(shortest, longest)
	ra, rb := &t.rows[a.Channel], &t.rows[b.Channel]
	if a.Channel == b.Channel {
		d = max(d, 1) // a pin's own marble is no pair, and later turns mirror earlier ones
	}
	first := bite{below: -1}
	for ; d <= last; d++ {
		from, to, ok := l.forbidden(d)
		from, to = max(from, 0), min(to, longest)
		if !ok || to <= shortest || from >= to {
			continue
		}
		if to <= first.below && t.cover.holds(from, to) {
			continue
		}
		if !ra.differ(rb, wrap(d, ra.n)) {
			continue
		}
		c := cause{Meeting, int32(a.Channel), int32(b.Channel), int32(a.Lane)}
		if a.Channel > b.Channel {
			c.channel, c.other = c.other, c.channel
		}
		t.cover.add(span{from, to, c})
		if to > first.below {
			first = bite{c, to, l.ahead}
			if float64(d)+l.rho < 0 {
				first.least = l.behind
			}
		}
	}
	if first.below > 0 {
		t.first = append(t.first, first)
	}
}

func wrap(d, n int) int {
	if d %= n; d < 0 {
		d += n
	}
	return d
}
