package timing

import "math"

// BeyondFlam is the share of chords that have to be expected to be spread wider
// than flam_ms in a turn at a tempo, 0 to 1: strikes scatter as pins are not
// quite in their places and latches vary. It is 0 where there are no chords.
func (t *Turn) BeyondFlam(tempoBPM float64) float64 {
	t.loadChords()
	if len(t.chords) == 0 {
		return 0
	}
	sc := t.works.scatter()
	p := t.works.Machine.Wheel.StepPeriod(tempoBPM)
	flam := t.works.Machine.Limits.FlamMS / 1000
	sum, c := 0.0, &t.spreads
	c.known = c.known[:0]
	for i := range t.chords {
		c.times = c.times[:0]
		for _, m := range t.chords[i].members {
			c.times = append(c.times, struck{m.late(p), math.Hypot(p*sc.pin, sc.own[m.channel].latch.s)})
		}
		sum += c.beyondOnce(flam)
	}
	return sum / float64(len(t.chords))
}

// struck is a time that is normal about its mean.
type struck struct{ mean, sd float64 }

// spreads finds out how far some times are spread.
type spreads struct {
	times []struck
	below []float64 // the chance of each time to be below each node
	known []knownSpread
}

// knownSpread is the chance of some times to be too far apart. Most chords of a
// song come again.
type knownSpread struct {
	times  uint64
	beyond float64
}

// beyondOnce is beyond, worked out once for the same times in any order.
func (c *spreads) beyondOnce(width float64) float64 {
	times := uint64(0)
	for _, a := range c.times {
		h := (math.Float64bits(a.mean)^0x9e3779b97f4a7c15)*0xff51afd7ed558ccd + math.Float64bits(a.sd)
		h = (h ^ h>>33) * 0xc4ceb9fe1a85ec53
		times += h ^ h>>29
	}
	for _, k := range c.known {
		if k.times == times {
			return k.beyond
		}
	}
	beyond := c.beyond(width)
	c.known = append(c.known, knownSpread{times, beyond})
	return beyond
}

const (
	surely    = 1e-6 // chords with less of a chance to be too wide hold together
	nodesToSD = 3    // nodes to the least deviation
	mostNodes = 2000 // what has less of a deviation than these can tell gets more
)

// beyond is the chance that the earliest and the latest of the times are more
// than width apart. The earliest is at x with the density of each in turn, and
// all others within width after it:
//
//	P(spread ≤ w) = Σᵢ ∫ φᵢ(x) Πⱼ (Φⱼ(x + w) − Φⱼ(x)) dx,  j ≠ i
//
// The trapezoid rule is all but exact for it: what is integrated is analytic
// and falls off as a normal density does.
func (c *spreads) beyond(width float64) float64 {
	pairs, most := 0.0, 0.0
	for i, a := range c.times {
		most = max(most, a.sd)
		for _, b := range c.times[:i] {
			sd, apart := math.Hypot(a.sd, b.sd), a.mean-b.mean
			pairs += tail(deviations(apart-width, sd)) + tail(deviations(-apart-width, sd))
		}
	}
	if len(c.times) <= 2 || pairs < surely || most == 0 {
		return min(pairs, 1)
	}
	return min(max(1-c.within(width), 0), 1)
}

func (c *spreads) within(width float64) float64 {
	const end = 6.5 // deviations
	from, to, sd := math.Inf(1), math.Inf(-1), math.Inf(1)
	for _, a := range c.times {
		from, to, sd = min(from, a.mean-end*a.sd), max(to, a.mean+end*a.sd), min(sd, a.sd)
	}
	finest := (to - from + width) / mostNodes * nodesToSD
	sd = max(sd, finest)
	on := max(int(math.Ceil(width/sd*nodesToSD)), 1) // nodes to the width
	step := width / float64(on)
	nodes := int((to-from)/step) + 1
	c.below = c.below[:0]
	for _, a := range c.times {
		for n := range nodes + on {
			c.below = append(c.below, tail((from+float64(n)*step-a.mean)/max(a.sd, finest)))
		}
	}
	sum := 0.0
	for n := range nodes {
		for i, a := range c.times {
			sd := max(a.sd, finest)
			z := (from + float64(n)*step - a.mean) / sd
			if math.Abs(z) > end {
				continue
			}
			others := 1.0
			for j := range c.times {
				if own := c.below[j*(nodes+on):]; j != i {
					others *= own[n+on] - own[n]
				}
			}
			sum += step / sd / math.Sqrt(2*math.Pi) * math.Exp(-z*z/2) * others
		}
	}
	return sum
}
