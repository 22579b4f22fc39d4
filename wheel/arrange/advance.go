package arrange

import (
	"cmp"
	"math"
	"slices"
)

// sameSpreadS is how near two spreads are to count as equal, in seconds: far
// above rounding, far below hearing.
const sameSpreadS = 1e-12

// Advances returns the advance of each of the channels, in whole steps, with
// which their strikes are nearest together at a tempo in beats per minute, and
// the spread that is left, in seconds. At step period p an advance of A leaves
// channel c the error
//
//	e(c) − p A(c),  e(c) = p reach(c)/arc + seconds from full push to strike
//
// and the spread is the largest error less the smallest. It depends on the
// errors modulo p alone: on a circle p round, the errors lie closest when the
// circle is cut in the widest gap between two neighbours. The answer is exact.
//
// Adding one number to all advances leaves the spread as it is, so none of them
// is negative and one is 0; of several widest gaps, equal within 10⁻¹² s, it
// takes the one with the smallest sum of advances.
//
// channels are indices in the machine's file; the tempo is above 0.
func Advances(mech Lags, channels []int, tempoBPM float64) (adv []int, spreadS float64) {
	if len(channels) == 0 {
		return nil, 0
	}
	p := mech.Description().Wheel.StepPeriod(tempoBPM)
	lags := make([]lag, len(channels))
	for i, c := range channels {
		reach, seconds := mech.Lag(c)
		e := p*reach + seconds
		whole := math.Floor(e / p)
		lags[i] = lag{index: i, errorS: e, whole: int(whole), restS: e - p*whole}
	}
	slices.SortFunc(lags, func(a, b lag) int { return cmp.Or(cmp.Compare(a.restS, b.restS), a.index-b.index) })
	start, base := cutCircle(lags, p)
	adv = make([]int, len(channels))
	low, high := math.Inf(1), math.Inf(-1)
	for i, l := range lags {
		a := l.whole - base
		if i < start {
			a--
		}
		adv[l.index] = a
		left := l.errorS - p*float64(a)
		low, high = min(low, left), max(high, left)
	}
	return adv, high - low
}

// lag is a channel's error without advance, errorS = whole × p + restS.
type lag struct {
	index  int
	errorS float64
	whole  int
	restS  float64
}

// cutCircle returns which of the lags, in order of restS, comes first when the
// circle is cut: those before it belong to the step before. base is the least
// whole number of steps that then remains.
func cutCircle(lags []lag, p float64) (start, base int) {
	n := len(lags)
	gap := func(i int) float64 { // before lag i
		if i == 0 {
			return lags[0].restS + p - lags[n-1].restS
		}
		return lags[i].restS - lags[i-1].restS
	}
	widest := gap(0)
	for i := range lags {
		widest = max(widest, gap(i))
	}
	least := make([]int, n+1) // of whole from lag i on
	least[n] = math.MaxInt
	for i := n - 1; i >= 0; i-- {
		least[i] = min(least[i+1], lags[i].whole)
	}
	before, bestSum := math.MaxInt, math.MaxInt
	for i := range lags {
		if gap(i) >= widest-sameSpreadS {
			floor := min(least[i], before)
			if sum := -i - n*floor; sum < bestSum { // plus the sum of whole, the same for all
				start, base, bestSum = i, floor, sum
			}
		}
		before = min(before, lags[i].whole-1)
	}
	return start, base
}
