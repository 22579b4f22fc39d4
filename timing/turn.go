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
	risks   risks
	search  search
	spreads spreads
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
	t.scanFollowing()
	for q := range t.pairs {
		t.scanPair(q)
	}
	for _, r := range t.works.rules.lone {
		r.scan(t)
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

// forbidAll forbids every tempo for a rule that bites on a channel, or on a
// whole step, channel −1.
func (t *Turn) forbidAll(k Kind, channel int) {
	t.forbid(cause{k.order, int32(channel), -1, -1}, 0, math.Inf(1), 0)
}
