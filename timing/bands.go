package timing

import (
	"cmp"
	"slices"

	"pinwright/wheel"
)

// leastBand is the width of the narrowest band in the list, in beats per minute.
const leastBand = 0.01

// Cause is a rule and where it bites. Indices are −1 where they do not apply:
// Lane where no lane is in question, Other where one pin is enough, Channel for
// a rule about whole steps.
type Cause struct {
	Kind                 Kind
	Channel, Other, Lane int
}

func (c Cause) pack() cause {
	return cause{c.Kind.order, int32(c.Channel), int32(c.Other), int32(c.Lane)}
}

func (w *Works) unpack(c cause) Cause {
	return Cause{w.rules.all[c.rule].kind(), int(c.channel), int(c.other), int(c.lane)}
}

// Band is a range of tempo, in beats per minute, with no broken rule. Its ends
// are safe.
type Band struct {
	From, To  float64
	StoppedBy *Cause // what is broken just above To; nil at the machine's top tempo
}

// Limit is the lowest tempo above which a cause is broken (at which it is,
// where that is the machine's lowest).
type Limit struct {
	Cause
	BPM   float64
	NeedS float64 // what the rule asks for, in seconds; 0 for one that tempo does not matter to
}

// Bands are the tempos in the machine's range at which no rule is broken,
// lowest first, exact. Bands narrower than 0.01 BPM are left out. There are none
// while a figure is unknown.
func (t *Turn) Bands() []Band {
	if !t.isKnown() {
		return []Band{}
	}
	t.scan()
	return t.bands()
}

func (t *Turn) bands() []Band {
	m := t.works.Machine
	shortest, longest := t.periods()
	tempo := func(p float64) float64 {
		switch p { // the machine's own figures, without a rounding there and back
		case longest:
			return m.Limits.TempoMinBPM
		case shortest:
			return m.Limits.TempoMaxBPM
		}
		return m.Wheel.Tempo(p)
	}
	bands := []Band{}
	above := longest
	emit := func(p float64, by *Cause) {
		b := Band{tempo(above), tempo(p), by}
		if b.To-b.From >= leastBand {
			bands = append(bands, b)
		}
	}
	for i := len(t.cover.spans) - 1; i >= 0; i-- {
		s := t.cover.spans[i]
		if s.to < above {
			c := t.works.unpack(s.cause)
			emit(s.to, &c)
		}
		above = max(s.from, shortest)
	}
	if above > shortest {
		emit(shortest, nil)
	}
	return bands
}

// MaxSafe is the highest safe tempo in beats per minute: the top of the band
// that starts at the machine's lowest tempo. ok is false where there is none,
// and while a figure is unknown.
func (t *Turn) MaxSafe() (bpm float64, ok bool) {
	return maxSafe(t.Bands(), t.works.Machine.Limits.TempoMinBPM)
}

func maxSafe(bands []Band, lowest float64) (float64, bool) {
	if len(bands) == 0 || bands[0].From != lowest {
		return 0, false
	}
	return bands[0].To, true
}

// MaxSafe is [Turn.MaxSafe] of a pinning; ok is false too where the pinning
// does not fit the machine.
func (w *Works) MaxSafe(p *wheel.Pinning) (bpm float64, ok bool) {
	t, err := w.Turn(p)
	if err != nil {
		return 0, false
	}
	return t.MaxSafe()
}

// Limits are the tempos in the machine's range at which each cause first
// bites, lowest first; ties in the order of kinds, then of the machine file.
// Causes whose figures are not all known are left out.
func (t *Turn) Limits() []Limit {
	t.scan()
	return t.limits()
}

func (t *Turn) limits() []Limit {
	_, longest := t.periods()
	m := t.works.Machine
	limits := make([]Limit, 0, len(t.first))
	for _, b := range t.first {
		if !t.works.causeKnown(b.cause) {
			continue
		}
		bpm := m.Wheel.Tempo(b.below)
		if b.below == longest {
			bpm = m.Limits.TempoMinBPM
		}
		limits = append(limits, Limit{t.works.unpack(b.cause), bpm, b.least})
	}
	slices.SortFunc(limits, func(a, b Limit) int {
		return cmp.Or(cmp.Compare(a.BPM, b.BPM), cmp.Compare(a.Kind.order, b.Kind.order),
			cmp.Compare(a.Channel, b.Channel), cmp.Compare(a.Other, b.Other), cmp.Compare(a.Lane, b.Lane))
	})
	return limits
}
