package arrange

import (
	"cmp"
	"math"
	"slices"

	"pinwright/wheel"
)

// TempoRange is a range of tempo in beats per minute in which one choice of
// advances holds the strikes of all channels together.
type TempoRange struct{ FromBPM, ToBPM float64 }

// tempoGrain is how finely tempos are tried, in beats per minute.
const tempoGrain = 0.1

// HeldTempos are the ranges of tempo, within the machine's, in which some choice
// of advances in whole steps holds the strikes of all channels of a pinning within
// flam_ms, slowest first, each as wide as that choice allows; one that lies within
// another is left out. The slower the wheel, the longer a step and the coarser the
// choice, so that slow ranges are few and narrow. Choices are looked for at every
// tenth of a BPM: one that holds over less may be missed. The ends of a range are
// exact, for with the advances A its errors p (reach/arc − A) + F are affine in p.
//
// A pinning without pins has nothing to hold together: one range, the machine's.
func HeldTempos(mech Lags, p *wheel.Pinning) []TempoRange {
	m := mech.Description()
	channels := pinnedChannels(m, p)
	limits, flamS := m.Limits, m.Limits.FlamMS/1000
	if len(channels) == 0 {
		return []TempoRange{{limits.TempoMinBPM, limits.TempoMaxBPM}}
	}
	lags := make([]channelLag, len(channels))
	for i, c := range channels {
		lags[i].steps, lags[i].seconds = mech.Lag(c)
	}
	var ranges []TempoRange
	var last []int
	for i := 0; ; i++ {
		bpm := limits.TempoMinBPM + float64(i)*tempoGrain
		if bpm > limits.TempoMaxBPM {
			return outermost(ranges)
		}
		adv, spread := Advances(mech, channels, bpm)
		if spread > flamS || slices.Equal(adv, last) {
			continue
		}
		last = append(last[:0:0], adv...)
		ranges = append(ranges, heldRange(m, lags, adv, bpm, flamS))
	}
}

// outermost is the ranges that lie within no other, slowest first.
func outermost(ranges []TempoRange) []TempoRange {
	slices.SortFunc(ranges, func(a, b TempoRange) int {
		return cmp.Or(cmp.Compare(a.FromBPM, b.FromBPM), cmp.Compare(b.ToBPM, a.ToBPM))
	})
	kept, reached := ranges[:0], 0.0
	for _, r := range ranges {
		if r.ToBPM > reached {
			kept, reached = append(kept, r), r.ToBPM
		}
	}
	return kept
}

// channelLag is from a pin's step to its strike, see [Lags].
type channelLag struct{ steps, seconds float64 }

// heldRange is the range round a tempo in which advances hold all strikes within
// flamS.
func heldRange(m *wheel.Machine, lags []channelLag, adv []int, bpm, flamS float64) TempoRange {
	least, most := m.Wheel.StepPeriod(m.Limits.TempoMaxBPM), m.Wheel.StepPeriod(m.Limits.TempoMinBPM)
	for i, a := range lags {
		for j, b := range lags[:i] {
			slope, offset := a.steps-float64(adv[i])-b.steps+float64(adv[j]), a.seconds-b.seconds
			if math.Abs(slope) < 1e-12 {
				continue // within flamS at bpm, and so everywhere
			}
			from, to := (-flamS-offset)/slope, (flamS-offset)/slope
			least, most = max(least, min(from, to)), min(most, max(from, to))
		}
	}
	return TempoRange{min(bpm, m.Wheel.Tempo(most)), max(bpm, m.Wheel.Tempo(least))}
}
