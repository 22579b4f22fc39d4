package timing

import (
	"math"
	"math/bits"
)

// risk is a fault that some pins can make, alike but for where on the wheel
// they are: two channels and a difference in steps.
type risk struct {
	odds
	count float64 // of places on the wheel
	jam   bool
	cause cause
	apart int32 // steps from the first channel's pin to the other's
	ask   int32 // which of a channel's asks, of pins that follow each other; −1 of marbles
	a, b  int32 // moments, of marbles
}

// risks is all that can go wrong with the pins on the wheel at step periods
// from shortest to longest.
type risks struct {
	sc      *scatter
	list    []risk
	certain float64 // spoilt notes of which no tempo is free
	sure    []sure
	gaps    []int32 // by steps: how many gaps of a channel are so long
	strikes []strikeAt
}

// sure is a place that spoils notes at every tempo.
type sure struct {
	cause       cause
	count       float64
	step, apart int // the first place, and how many steps on its other pin is; 0: none
}

// find lists the risks of the pins on the wheel at step periods from shortest
// to longest, but for those that are far from happening at any of them.
func (k *risks) find(t *Turn, sc *scatter, shortest, longest float64) {
	k.sc, k.list, k.sure, k.certain = sc, k.list[:0], k.sure[:0], 0
	k.findSure(t)
	for i := range t.rows {
		if !t.works.Channels[i].Resting {
			k.findFollowing(t, i, shortest, longest)
		}
	}
	for q := range t.pairs {
		if q.of.kind == Meeting && k.drops(t, q.a.Channel) && k.drops(t, q.b.Channel) {
			k.findPair(t, q, shortest, longest)
		}
	}
	for _, channels := range sc.plates {
		if shortest == longest {
			k.findStrikes(t, channels, shortest)
		} else {
			k.findPlate(t, channels, shortest, longest)
		}
	}
}

// drops reports whether a channel has pins that drop marbles.
func (k *risks) drops(t *Turn, channel int) bool {
	return t.rows[channel].pins > 0 && !t.works.Channels[channel].Resting && !t.works.Channels[channel].Holds
}

// findSure counts what rules of steps and single pins find: those know no
// chance.
func (k *risks) findSure(t *Turn) {
	for _, r := range t.works.rules.lone {
		t.found = r.find(t, t.found[:0])
		for i := range t.found {
			f := &t.found[i]
			c := f.Cause().pack()
			if n := len(k.sure); n == 0 || k.sure[n-1].cause != c {
				k.sure = append(k.sure, sure{cause: c, step: f.Step})
			}
			k.sure[len(k.sure)-1].count++
			k.certain++
		}
	}
}

// findFollowing lists the risks between pins of one channel that follow each
// other, by how far they are apart.
func (k *risks) findFollowing(t *Turn, i int, shortest, longest float64) {
	r := &t.rows[i]
	if r.pins == 0 {
		return
	}
	if len(k.gaps) <= r.n {
		k.gaps = make([]int32, r.n+1)
	}
	least := r.n
	for at := r.next(0); at < r.n; {
		after := r.next(at + 1)
		k.gaps[after-at]++
		least = min(least, after-at)
		at = after
	}
	sc := k.sc
	asks := t.works.rules.asks[i]
	for d, left := least, r.pins; left > 0; d++ {
		count := float64(k.gaps[d])
		left -= int(k.gaps[d])
		k.gaps[d] = 0
		if count == 0 {
			continue
		}
		for n := range asks {
			a := &asks[n]
			if t.works.Channels[i].Holds && a.kind != Crowded {
				continue // no marble: the lever is all that counts
			}
			c := cause{a.kind.order, int32(i), int32(i), -1}
			if float64(d) <= a.arc {
				k.sure = append(k.sure, sure{c, count, r.firstGap(d), d})
				k.certain += count
				continue
			}
			f := risk{
				odds:  odds{rise: float64(d) - a.arc, ahead: a.needS, behind: math.Inf(1)},
				count: count, cause: c, apart: int32(d), ask: int32(n), a: -1, b: -1,
			}
			f.variance = sc.varianceOf(&f, r.n)
			k.add(f, shortest, longest)
		}
	}
}

// firstGap is the first step from which the next pin is d steps on.
func (r *row) firstGap(d int) int {
	for at := r.next(0); at < r.n; {
		after := r.next(at + 1)
		if after-at == d {
			return at
		}
		at = after
	}
	return -1
}

// findPair lists the risks of two passages, by how many steps the second's pin
// is later.
func (k *risks) findPair(t *Turn, q pair, shortest, longest float64) {
	sc := k.sc
	l := t.works.leadOf(q)
	ra, rb := &t.rows[q.a.Channel], &t.rows[q.b.Channel]
	f := risk{
		odds: odds{offset: l.offset, ahead: l.ahead, behind: l.behind},
		jam:  true, cause: q.cause(), ask: -1, a: int32(sc.moment(q.a)), b: int32(sc.moment(q.b)),
	}
	between := sc.apart(int(f.a), int(f.b))
	perP2 := sc.reaches(q.a.Channel, q.b.Channel)
	k.findApart(f, l, variance{between, perP2}, ra, rb, shortest, longest)
}

// findApart lists what two channels risk, by how many steps the second's pin is
// later. The variance is but for the pins' places.
func (k *risks) findApart(f risk, l lead, v variance, ra, rb *row, shortest, longest float64) {
	sc := k.sc
	widest := math.Sqrt(v.fixed + max(f.aheadClear, f.behindClear) + (v.perP2+2*sc.pin*sc.pin)*longest*longest)
	from, to := sc.differences(l, widest, shortest, longest)
	if ra == rb {
		from = max(from, 1)
	}
	for d := from; d <= to; d++ {
		f.rise, f.apart = float64(d)+l.rho, int32(d)
		f.variance = v
		if ra != rb || d%ra.n != 0 {
			f.perP2 += 2 * sc.pin * sc.pin
		}
		if sc.atMost(&f.odds, shortest, longest, sc.crank.least(), sc.crank.most()) == 0 {
			continue
		}
		if count := ra.differences(rb, wrap(d, ra.n)); count > 0 {
			f.count = float64(count)
			k.list = append(k.list, f)
		}
	}
}

// differences is how many steps of r have a pin, and so has, in other, the step
// d later, d in 0 … n−1.
func (r *row) differences(other *row, d int) (count int) {
	size, shift := r.size(), uint(d&63)
	own, late := r.words[:size], other.words[d>>6:]
	late = late[:size+1]
	for i, w := range own[:size-1] {
		count += bits.OnesCount64(w & (late[i]>>shift | late[i+1]<<(64-shift)))
	}
	return count + bits.OnesCount64(r.own(size-1)&other.word(size-1, d))
}

// leastSurely is the least share of a lead that is taken to be beyond the
// crank's wander.
const leastSurely = 0.05

// differences is the range of steps at which two passages may come to a fault
// at some step period from shortest to longest, widest being the lead's
// deviation at the longest but for the crank's wander. A lead of y seconds
// turned by the wheel wanders by wander·y, so that
//
//	y (1 − far·wander) < ahead − offset + far·widest
//
// and so on the other side. Of a crank that wanders by more than a tenth nothing
// would be far: there, leads beyond twenty times that are left out.
func (sc *scatter) differences(l lead, widest, shortest, longest float64) (from, to int) {
	shortest, longest = shortest*sc.crank.least(), longest*sc.crank.most()
	most := func(room float64) float64 {
		if room > 0 {
			return room / max(1-far*sc.wander, leastSurely) / shortest
		}
		return room / (1 + far*sc.wander) / longest
	}
	to = int(math.Floor(most(l.ahead-l.offset+far*widest) - l.rho))
	from = int(math.Ceil(-most(l.behind+l.offset+far*widest) - l.rho))
	return from, to
}

// varianceOf is a risk's variance but for the crank's wander, on a wheel of n
// steps. A pin that follows itself is where it is.
func (sc *scatter) varianceOf(f *risk, n int) (v variance) {
	one, two := int(f.cause.channel), int(f.cause.other)
	if f.ask >= 0 {
		v = sc.asks[one][f.ask]
	} else {
		v = variance{sc.apart(int(f.a), int(f.b)), sc.reaches(one, two)}
	}
	if one != two || int(f.apart)%n != 0 {
		v.perP2 += 2 * sc.pin * sc.pin
	}
	return v
}

// vary gives a risk the variances of a scatter.
func (f *risk) vary(sc *scatter, n int) (changed bool) {
	was := f.odds
	f.variance = sc.varianceOf(f, n)
	if f.eitherWay {
		f.aheadClear, f.behindClear = sc.own[f.cause.channel].clear.both(), sc.own[f.cause.other].clear.both()
	}
	return f.odds != was
}

// add lists a risk unless it is far from happening.
func (k *risks) add(f risk, shortest, longest float64) {
	if k.sc.atMost(&f.odds, shortest, longest, k.sc.crank.least(), k.sc.crank.most()) > 0 {
		k.list = append(k.list, f)
	}
}
