package timing

import (
	"cmp"
	"math"
	"slices"
)

// ChordFlam is a chord and how far its strikes are spread at a tempo.
type ChordFlam struct {
	Aim     float64 // where it should sound, in steps from the seam
	Step    int     // the step nearest its aim
	SpreadS float64 // from the earliest strike to the latest, in seconds
	Members []ChordMember
}

// ChordMember is a pin of a chord. Its error is counted as by
// [Turn.ErrorsByChannel].
type ChordMember struct {
	Channel, Step int
	ErrorS        float64 // late if positive
}

// ChannelError is how early and late a channel's strikes are, in seconds.
type ChannelError struct {
	Channel                   int
	Pins                      int
	MeanS, EarliestS, LatestS float64 // late if positive
}

// Chords is every chord of the pinning last loaded at a tempo, the widest
// first, its members earliest first. The spread of the first is [Turn.Flam].
func (t *Turn) Chords(tempoBPM float64) []ChordFlam {
	t.loadChords()
	p := t.works.Machine.Wheel.StepPeriod(tempoBPM)
	middle := t.middle(p)
	n := 0
	for i := range t.chords {
		n += len(t.chords[i].members)
	}
	all, members := make([]ChordFlam, len(t.chords)), make([]ChordMember, 0, n)
	for i := range t.chords {
		c, from := &t.chords[i], len(members)
		for _, m := range c.members {
			members = append(members, ChordMember{m.channel, m.step, m.late(p) - middle})
		}
		own := slices.Clip(members[from:])
		slices.SortFunc(own, func(a, b ChordMember) int {
			return cmp.Or(cmp.Compare(a.ErrorS, b.ErrorS), a.Channel-b.Channel, a.Step-b.Step)
		})
		all[i] = ChordFlam{c.aim, wrap(int(math.Round(c.aim)), t.works.Machine.Wheel.Steps), c.spread(p), own}
	}
	slices.SortStableFunc(all, func(a, b ChordFlam) int { return cmp.Compare(b.SpreadS, a.SpreadS) })
	return all
}

// ErrorsByChannel is how early and late each channel with pins strikes at a
// tempo, in the order of the machine file. A common constant does not matter
// to the ear, so errors count from the pinning's middle: half way between
// the earliest and the latest error of all its pins.
func (t *Turn) ErrorsByChannel(tempoBPM float64) []ChannelError {
	t.loadChords()
	p := t.works.Machine.Wheel.StepPeriod(tempoBPM)
	middle := t.middle(p)
	channels := make([]ChannelError, len(t.rows))
	for _, m := range t.members {
		if m.mute {
			continue
		}
		c, e := &channels[m.channel], m.late(p)-middle
		if c.Pins == 0 {
			c.Channel, c.EarliestS, c.LatestS = m.channel, e, e
		}
		c.Pins++
		c.MeanS += (e - c.MeanS) / float64(c.Pins)
		c.EarliestS, c.LatestS = min(c.EarliestS, e), max(c.LatestS, e)
	}
	return slices.DeleteFunc(channels, func(c ChannelError) bool { return c.Pins == 0 })
}

// middle is half way between the earliest and the latest error of all pins at
// step period p, in seconds; 0 where there are none.
func (t *Turn) middle(p float64) float64 {
	low, high := math.Inf(1), math.Inf(-1)
	for _, m := range t.members {
		if !m.mute {
			e := m.late(p)
			low, high = min(low, e), max(high, e)
		}
	}
	if low > high {
		return 0
	}
	return (low + high) / 2
}
