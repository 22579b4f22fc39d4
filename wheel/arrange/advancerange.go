package arrange

import (
	"cmp"
	"math"
	"slices"
)

// AdvancesOver returns the advance of each of the channels, in whole steps, with
// which the worst spread of their strikes over a range of tempos, in beats per
// minute, is the least that whole steps allow, and that spread in seconds.
//
// The error that an advance of A leaves channel c at step period p,
//
//	e(c) = p (reach(c)/arc − A) + seconds from full push to strike,
//
// is affine in p, so the spread, the largest error less the smallest, is convex
// in p and worst at one of the range's ends. With A as one more unknown each
// channel is a row of points (error at one end, error at the other), one for
// every A, all in the direction of the two periods, and what is looked for is
// the smallest square, its sides along the axes, that holds a point of every
// channel. Some channel is earliest at the slow end; for each that could be,
// the points of the others that are not earlier are taken in the order of their
// error there, and the narrowest window at the fast end that has all channels
// is found by going over them once. The answer is exact.
//
// Adding one number to all advances leaves the spread as it is, so none of them
// is negative and one is 0. Of answers equal within 10⁻¹² s it takes one with
// the smallest sum of advances, then the first found in file order.
//
// channels are indices in the machine's file; the tempos are above 0, in either
// order.
func AdvancesOver(mech Lags, channels []int, fromBPM, toBPM float64) (adv []int, spreadS float64) {
	if len(channels) == 0 {
		return nil, 0
	}
	wheel := mech.Description().Wheel
	r := &ranged{slow: wheel.StepPeriod(min(fromBPM, toBPM)), fast: wheel.StepPeriod(max(fromBPM, toBPM))}
	for _, c := range channels {
		reach, seconds := mech.Lag(c)
		r.lags = append(r.lags, rangedLag{r.slow*reach + seconds, r.fast*reach + seconds})
	}
	// What is least at one end bounds the search.
	for _, bpm := range [2]float64{fromBPM, toBPM} {
		a, _ := Advances(mech, channels, bpm)
		r.offer(a)
	}
	for earliest := range r.lags {
		r.from(earliest)
	}
	return r.best, r.spread
}

// ranged is a search for advances over a range.
type ranged struct {
	slow, fast float64 // step periods at the ends, in s
	lags       []rangedLag
	best       []int
	spread     float64
	points     []rangedPoint
	seen       []int // by channel, points in the window
	pick       []int
}

// rangedLag is a channel's errors at the two ends without advance, in s.
type rangedLag struct{ slow, fast float64 }

// rangedPoint is a channel with one advance.
type rangedPoint struct {
	channel, advance int
	slow, fast       float64
}

// offer takes advances if they are better than the best so far.
func (r *ranged) offer(adv []int) {
	least := slices.Min(adv)
	low, high := [2]float64{math.Inf(1), math.Inf(1)}, [2]float64{math.Inf(-1), math.Inf(-1)}
	sum := 0
	moved := make([]int, len(adv))
	for i, a := range adv {
		moved[i] = a - least
		sum += moved[i]
		for end, e := range [2]float64{r.lags[i].slow - r.slow*float64(a), r.lags[i].fast - r.fast*float64(a)} {
			low[end], high[end] = min(low[end], e), max(high[end], e)
		}
	}
	spread := max(high[0]-low[0], high[1]-low[1])
	switch {
	case r.best == nil || spread < r.spread-sameSpreadS:
	case spread > r.spread+sameSpreadS || sum >= sumOf(r.best):
		return
	default:
		spread = min(spread, r.spread)
	}
	r.best, r.spread = moved, spread
}

func sumOf(list []int) int {
	sum := 0
	for _, n := range list {
		sum += n
	}
	return sum
}

// from looks for the best answer in which a channel is earliest at the slow
// end. Its own advance may be 0, as a common one does not matter.
func (r *ranged) from(earliest int) {
	edge := r.lags[earliest].slow
	r.points = r.points[:0]
	for c, l := range r.lags {
		if c == earliest {
			r.points = append(r.points, rangedPoint{c, 0, 0, l.fast})
			continue
		}
		most := math.Floor((l.slow - edge + sameSpreadS) / r.slow)
		for a := most; l.slow-a*r.slow-edge <= r.spread+sameSpreadS; a-- {
			r.points = append(r.points, rangedPoint{c, int(a), l.slow - a*r.slow - edge, l.fast - a*r.fast})
		}
	}
	// The more points at the slow end, the narrower the window at the fast one:
	// where the two meet is the best.
	widths := make([]float64, len(r.points))
	for i, p := range r.points {
		widths[i] = p.slow
	}
	slices.Sort(widths)
	widths = slices.Compact(widths)
	slices.SortFunc(r.points, func(a, b rangedPoint) int {
		return cmp.Or(cmp.Compare(a.fast, b.fast), a.channel-b.channel)
	})
	low, high := 0, len(widths)-1
	for low < high {
		middle := (low + high) / 2
		if r.window(widths[middle]) <= widths[middle] {
			high = middle
		} else {
			low = middle + 1
		}
	}
	for _, i := range [2]int{low, low - 1} {
		if i >= 0 && !math.IsInf(r.window(widths[i]), 1) {
			r.offer(r.pick)
		}
	}
}

// window is the narrowest window at the fast end that has a point of every
// channel, of those within a width at the slow end. It leaves the points'
// advances in pick.
func (r *ranged) window(width float64) float64 {
	n := len(r.lags)
	r.seen = append(r.seen[:0], make([]int, n)...)
	best, missing, start := math.Inf(1), n, 0
	in := func(p rangedPoint) bool { return p.slow <= width }
	var from, to int
	for end, p := range r.points {
		if !in(p) {
			continue
		}
		if r.seen[p.channel]++; r.seen[p.channel] == 1 {
			missing--
		}
		for missing == 0 {
			q := r.points[start]
			if in(q) {
				if v := p.fast - q.fast; v < best {
					best, from, to = v, start, end
				}
				if r.seen[q.channel]--; r.seen[q.channel] == 0 {
					missing++
				}
			}
			start++
		}
	}
	if !math.IsInf(best, 1) {
		r.pick = append(r.pick[:0], make([]int, n)...)
		for _, p := range r.points[from : to+1] {
			if in(p) {
				r.pick[p.channel] = p.advance
			}
		}
	}
	return best
}
