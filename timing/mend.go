package timing

import (
	"math"

	"pinwright/wheel"
)

// Mend is a change of the machine that lifts a limit, and what it wins. Of a
// figure and of a group To is just enough: with it set, the limit no longer bites
// below Reaches, and nothing else bites there that did not bite before, or bites
// sooner than before. Less spread lifts no limit: it brings the tempo to keep below
// nearer to it. A margin, such as the marbles' clearance or a limit of the house,
// is never spent.
type Mend struct {
	Kind MendKind
	// Path is that of the figure; of a group as [wheel.Setting] has it; of spread
	// that of the figure that varies, or the group's.
	Path     string
	From, To float64     // in the figure's unit; of a group, factors
	Reaches  float64     // BPM
	Sets     []wheel.Set // what to try, rounded; none where a spread was measured
	Gains
}

// MendKind is what a mend changes.
type MendKind uint8

const (
	OfFigure MendKind = iota // one figure
	OfGroup                  // the same figure of all channels of a kind, by a factor
	OfSpread                 // how far drops differ from each other
)

// Workshop is To rounded to a figure that hands can set, on the side that is
// more than enough: to whole ones from 50 up, to tenths below, and finer where
// a tenth would be coarse; a factor to hundredths. Whatever the limits of [Mend]
// say holds for it too.
func (m Mend) Workshop() float64 {
	if m.Kind == OfGroup {
		return math.Floor(m.To*100+1e-9) / 100
	}
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

// mender works out what would lift the limits of a turn as last scanned.
type mender struct {
	*Turn
	tempo     float64           // at which mends are compared, BPM
	before    *Marks            // how things stand, once it was asked for
	scattered *scatter          // of the machine as it is, to be changed, likewise
	longest   float64           // step period of the machine's tempos
	below     map[cause]float64 // the period below which each cause bites now
	shifts    cover
	occur     []int // differences in steps of a pair that occur
}

func newMender(t *Turn, tempoBPM float64) *mender {
	t.scan()
	m := &mender{Turn: t, tempo: tempoBPM, below: make(map[cause]float64, len(t.first))}
	_, m.longest = t.periods()
	for _, b := range t.first {
		m.below[b.cause] = b.below
	}
	return m
}

// figures are the figures each of which lifts a rung's limit to the next. There
// are none for a limit that no tempo is free of: not the machine breaks it, but
// the pins.
func (m *mender) figures(r Rung) []Mend {
	rule, ok := m.works.rule(r.Kind).(tempoRule)
	if !ok || m.atEveryTempo(r.Cause) {
		return nil
	}
	mends := rule.mends(m, r, m.works.Machine.Wheel.StepPeriod(r.Next))
	kept := mends[:0]
	for _, mend := range mends {
		if mend.To == mend.From {
			continue
		}
		mend.Reaches = r.Next
		mend.Sets = []wheel.Set{{Path: mend.Path, Value: mend.Workshop()}}
		kept = append(kept, mend)
	}
	return kept
}

// atEveryTempo reports whether a cause is broken however slowly the wheel turns.
func (m *mender) atEveryTempo(c Cause) bool {
	rule := m.works.rule(c.Kind)
	if _, ok := rule.(followRule); ok && c.Channel == c.Other {
		gap := float64(m.rows[c.Channel].leastGap())
		for _, a := range m.works.rules.asks[c.Channel] {
			if a.kind == c.Kind {
				return gap <= a.arc
			}
		}
	}
	if _, ok := rule.(pairRule); !ok {
		return true
	}
	q, ok := m.works.pairOf(c)
	if !ok {
		return true
	}
	// Only where the wheel does not turn between them does the lead of two
	// marbles not depend on its speed.
	l := m.works.leadOf(q)
	d := -l.rho
	if d != math.Trunc(d) || -l.behind >= l.offset || l.offset >= l.ahead || q.a.Channel == q.b.Channel && d == 0 {
		return false
	}
	ra := &m.rows[q.a.Channel]
	return ra.differ(&m.rows[q.b.Channel], wrap(int(d), ra.n))
}

func (m *mender) path(channel int, key string) string {
	return "channels." + m.works.Machine.Channels[channel].ID + "." + key
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

// agrees holds a change against the whole computation: cause c is gone at
// periods above p, and no other bites there that did not, or sooner.
func (m *mender) agrees(c Cause, p float64, sets ...wheel.Set) bool {
	w, err := m.works.With(sets...)
	if err != nil {
		return false
	}
	t := Turn{works: w, rows: m.rows, trips: m.trips}
	t.scan()
	gone := c.pack()
	for _, b := range t.first {
		most := p
		if b.cause != gone {
			most = max(p, m.below[b.cause])
		}
		if b.below > most*(1+sameTempo) {
			return false
		}
	}
	return true
}
