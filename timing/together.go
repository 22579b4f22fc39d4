package timing

import (
	"cmp"
	"math"
	"slices"
)

// chord is the pins that share an aim, on two channels or more. The error of
// each, strike − p·aim, is slope·p + offset.
type chord struct {
	aim     float64 // 0 ≤ aim < N
	members []member
}

type member struct {
	channel, step int
	slope, offset float64 // steps, seconds
	mute          bool    // of a channel that holds: it strikes nothing
}

// late is the error of a pin at step period p, strike − p·aim, in seconds.
func (m member) late(p float64) float64 { return m.slope*p + m.offset }

// aimGrain is how near two aims are to be one, in steps.
const aimGrain = 1e-6

// loadChords finds the chords of the pinning last loaded, the first time that
// something asks for them.
func (t *Turn) loadChords() {
	if t.chorded || t.pinning == nil {
		return
	}
	t.chorded = true
	n := t.works.Machine.Wheel.Steps
	index := t.works.index()
	byAim := make(map[int64][]member, len(t.pinning.Pins))
	t.members = t.members[:0]
	for _, pin := range t.pinning.Pins {
		aim := inTurn(t.pinning.AimOf(pin), n)
		grain := int64(math.Round(aim/aimGrain)) % int64(math.Round(float64(n)/aimGrain))
		ch := index[pin.Channel]
		reach, seconds := t.works.Lag(ch)
		m := member{ch, pin.Step, reach + t.pinning.Offset(pin, n), seconds, t.works.Channels[ch].Holds}
		t.members = append(t.members, m)
		if !m.mute {
			byAim[grain] = append(byAim[grain], m)
		}
	}
	t.chords = t.chords[:0]
	for grain, members := range byAim {
		if slices.ContainsFunc(members, func(m member) bool { return m.channel != members[0].channel }) {
			t.chords = append(t.chords, chord{float64(grain) * aimGrain, members})
		}
	}
	slices.SortFunc(t.chords, func(a, b chord) int { return cmp.Compare(a.aim, b.aim) }) // no two have one aim
}

// spread is the chord's flam at step period p, in seconds.
func (c *chord) spread(p float64) float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for _, m := range c.members {
		e := m.late(p)
		low, high = min(low, e), max(high, e)
	}
	return high - low
}

// Flam is the widest spread of errors of any chord at a tempo, in seconds; 0
// where there are no chords.
func (t *Turn) Flam(tempoBPM float64) float64 {
	t.loadChords()
	p := t.works.Machine.Wheel.StepPeriod(tempoBPM)
	worst := 0.0
	for i := range t.chords {
		worst = max(worst, t.chords[i].spread(p))
	}
	return worst
}

// Together is the range of tempo, within the machine's, in which every chord
// stays within flam_ms: one interval, exact, because errors are affine in the
// step period. ok is false where there is no such tempo. A pinning without
// chords holds together at every tempo.
func (t *Turn) Together() (fromBPM, toBPM float64, ok bool) {
	t.loadChords()
	m := t.works.Machine
	shortest, longest := t.periods()
	least, most := shortest, longest
	flam := m.Limits.FlamMS / 1000
	for i := range t.chords {
		ms := t.chords[i].members
		for j := range ms {
			for k := range j {
				from, to := within(ms[j].slope-ms[k].slope, ms[j].offset-ms[k].offset, flam)
				least, most = max(least, from), min(most, to)
			}
		}
	}
	if least > most+met {
		return 0, 0, false
	}
	least = min(least, most)
	fromBPM, toBPM = m.Limits.TempoMinBPM, m.Limits.TempoMaxBPM
	if most < longest {
		fromBPM = m.Wheel.Tempo(most)
	}
	if least > shortest {
		toBPM = m.Wheel.Tempo(least)
	}
	return fromBPM, toBPM, true
}

// within is the closed interval of p ≥ 0 in which |slope·p + offset| ≤ bound,
// a bound met within a nanosecond being met.
func within(slope, offset, bound float64) (from, to float64) {
	if math.Abs(slope) < 1e-12 {
		if math.Abs(offset) <= bound+met {
			return 0, math.Inf(1)
		}
		return math.Inf(1), math.Inf(-1)
	}
	a, b := (-bound-offset)/slope, (bound-offset)/slope
	return min(a, b), max(a, b)
}
