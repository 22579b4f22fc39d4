package arrange

import (
	"fmt"
	"math"
	"slices"

	"pinwright/wheel"
)

// Readvanced is what became of a pinning whose advances were chosen again. Its
// spreads are those of the pins as they stand, each by its own step − aim.
type Readvanced struct {
	Pinning *wheel.Pinning
	// SpreadS and WasS are the worst spread of all strikes, of one chord or not,
	// over the range, in seconds: of the new pinning and of the old.
	SpreadS, WasS float64
	// FlamS and WasFlamS are the same of the widest chord.
	FlamS, WasFlamS float64
	Moved           int         // pins on another step
	Merged          []wheel.Pin // notes that fell on one pin with another of their channel, as they stood
}

// Stays reports whether nothing moves: as it is, the pinning does as well as any
// advances in whole steps.
func (r *Readvanced) Stays() bool { return r.Moved == 0 && len(r.Merged) == 0 }

// Readvance chooses the advances of a pinning's channels again, over a range of
// tempos in beats per minute, see [AdvancesOver]. Each pin keeps its aim; its
// step becomes the one nearest to
//
//	aim − new advance (mod N),
//
// halves going up. Where that brings neither all strikes nor those of any chord
// nearer together than they are, it is the pinning as it is. The pinning that was
// given stays as it is. The error is a range that is none, or [wheel.Problems]
// where the pinning does not fit the machine.
func Readvance(mech Spreads, p *wheel.Pinning, fromBPM, toBPM float64) (*Readvanced, error) {
	m := mech.Description()
	if err := p.CheckOn(m).Err(); err != nil {
		return nil, err
	}
	if err := checkRange(m, fromBPM, toBPM); err != nil {
		return nil, err
	}
	channels := pinnedChannels(m, p)
	if choices(mech, channels, fromBPM, toBPM) > maxChoices {
		return nil, fmt.Errorf("from %s to %s BPM there are too many choices of advances to go through; take a narrower range", wheel.Number(fromBPM), wheel.Number(toBPM))
	}
	adv, _ := AdvancesOver(mech, channels, fromBPM, toBPM)
	r := advanced(m, p, channels, adv)
	var err error
	if r.WasS, r.WasFlamS, err = spreadsOver(mech, p, fromBPM, toBPM); err != nil {
		return nil, err
	}
	if r.SpreadS, r.FlamS, err = spreadsOver(mech, r.Pinning, fromBPM, toBPM); err != nil {
		return nil, err
	}
	if r.WasS <= r.SpreadS+sameSpreadS && r.WasFlamS <= r.FlamS+sameSpreadS {
		return &Readvanced{Pinning: p.Clone(), SpreadS: r.WasS, WasS: r.WasS, FlamS: r.WasFlamS, WasFlamS: r.WasFlamS}, nil
	}
	return r, nil
}

// advanced is a pinning with other advances, every aim kept.
func advanced(m *wheel.Machine, p *wheel.Pinning, channels, adv []int) *Readvanced {
	n := *p
	n.Advance = map[string]int{}
	for i, c := range channels {
		if adv[i] != 0 {
			n.Advance[m.Channels[c].ID] = adv[i]
		}
	}
	r := &Readvanced{Pinning: &n}
	n.Pins = make([]wheel.Pin, 0, len(p.Pins))
	type hole struct {
		channel string
		step    int
	}
	taken := make(map[hole]bool, len(p.Pins))
	for _, pin := range p.Pins {
		moved := pin
		moved.Step = m.Wheel.Wrap(int(math.Floor(p.AimOf(pin)+0.5)) - n.Advance[pin.Channel])
		if taken[hole{moved.Channel, moved.Step}] {
			r.Merged = append(r.Merged, pin)
			continue
		}
		taken[hole{moved.Channel, moved.Step}] = true
		if moved.Step != pin.Step {
			r.Moved++
		}
		n.Pins = append(n.Pins, moved)
	}
	n.Sort()
	return r
}

// spreadsOver is the worst spread, over a range of tempos, of all strikes of a
// pinning and of those of its widest chord, in seconds. Every error is affine in
// the step period, so both are convex in it and worst at one of the range's ends.
func spreadsOver(mech Spreads, p *wheel.Pinning, fromBPM, toBPM float64) (allS, flamS float64, err error) {
	for _, bpm := range [2]float64{fromBPM, toBPM} {
		all, flam, err := mech.Spreads(p, bpm)
		if err != nil {
			return 0, 0, err
		}
		allS, flamS = max(allS, all), max(flamS, flam)
	}
	return allS, flamS, nil
}

// maxChoices is how much a search for advances may go through: far more than a
// machine with falls of seconds asks for, and done in a few seconds.
const maxChoices = 4e6

// choices is how much [AdvancesOver] has to go through: for each channel that may
// be the earliest, the advances of all that come near it.
func choices(mech Lags, channels []int, fromBPM, toBPM float64) float64 {
	spread := math.Inf(1)
	for _, bpm := range [2]float64{fromBPM, toBPM} {
		adv, _ := Advances(mech, channels, bpm)
		spread = min(spread, advancesSpread(mech, channels, adv, fromBPM, toBPM))
	}
	n := float64(len(channels))
	return n * n * (spread/mech.Description().Wheel.StepPeriod(fromBPM) + 1)
}

func checkRange(m *wheel.Machine, fromBPM, toBPM float64) error {
	for _, bpm := range [2]float64{fromBPM, toBPM} {
		if !(bpm >= m.Limits.TempoMinBPM && bpm <= m.Limits.TempoMaxBPM) {
			return fmt.Errorf("the range of tempo has %s BPM in it; it should lie within the machine's, %s to %s BPM",
				wheel.Number(bpm), wheel.Number(m.Limits.TempoMinBPM), wheel.Number(m.Limits.TempoMaxBPM))
		}
	}
	if fromBPM > toBPM {
		return fmt.Errorf("the range of tempo goes from %s down to %s BPM; the slower one comes first", wheel.Number(fromBPM), wheel.Number(toBPM))
	}
	return nil
}

// pinnedChannels is the channels that a pinning has pins on, in the order of the
// machine file.
func pinnedChannels(m *wheel.Machine, p *wheel.Pinning) []int {
	var channels []int
	for i := range m.Channels {
		if slices.ContainsFunc(p.Pins, func(pin wheel.Pin) bool { return pin.Channel == m.Channels[i].ID }) {
			channels = append(channels, i)
		}
	}
	return channels
}

// advancesSpread is the worst spread over a range of tempos that advances leave,
// in seconds, where every pin of a channel has its advance. It lies at one of the range's ends.
func advancesSpread(mech Lags, channels, adv []int, fromBPM, toBPM float64) float64 {
	worst := 0.0
	for _, bpm := range [2]float64{fromBPM, toBPM} {
		p := mech.Description().Wheel.StepPeriod(bpm)
		low, high := math.Inf(1), math.Inf(-1)
		for i, c := range channels {
			reach, seconds := mech.Lag(c)
			e := p*(reach-float64(adv[i])) + seconds
			low, high = min(low, e), max(high, e)
		}
		worst = max(worst, high-low)
	}
	return worst
}
