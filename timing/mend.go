package timing

import (
	"fmt"
	"math"

	"pinwright/wheel"
)

// Mend is a figure of the machine, by the path of [wheel.Figure], and the
// value of it that is just enough to lift a limit: with To set, the limit
// no longer bites below Reaches, and nothing else bites there that did not bite
// before, or bites sooner than before.
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
	longest float64           // step period of the machine's tempos
	below   map[cause]float64 // the period below which each cause bites now
	shifts  cover
	occur   []int // differences in steps of a pair that occur
}

func newMender(t *Turn) *mender {
	m := &mender{Turn: t, below: make(map[cause]float64, len(t.first))}
	_, m.longest = t.periods()
	for _, b := range t.first {
		m.below[b.cause] = b.below
	}
	return m
}

// mend finds a figure that lifts a rung's limit to the next.
func (m *mender) mend(r Rung) *Mend {
	p := m.works.Machine.Wheel.StepPeriod(r.Next)
	rule, ok := m.works.rule(r.Kind).(tempoRule)
	if !ok {
		return nil
	}
	mend := rule.mend(m, r, p)
	if mend == nil || mend.To == mend.From {
		return nil
	}
	mend.Reaches = r.Next
	return mend
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
func (m *mender) agrees(set wheel.Set, c Cause, p float64) bool {
	w, err := m.works.With(set)
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
	if r.Lane < 0 && r.Channel == r.Other {
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
