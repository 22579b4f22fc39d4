package arrange

import (
	"math"
	"slices"
	"sort"
)

// Straighten moves a place in a swung beat to where it stands in a straight
// one. Of each beat the part before swing, 0 < swing < 1, becomes the first half
// and the rest the second:
//
//	[0, swing] → [0, ½],  [swing, 1] → [½, 1]
//
// both evenly. beatFraction counts in beats; of numbers outside 0 … 1 the whole
// beats stay. Where swing is out of range the place stays as it is.
func Straighten(beatFraction, swing float64) float64 {
	if !(swing > 0 && swing < 1) {
		return beatFraction
	}
	beat := math.Floor(beatFraction)
	f := beatFraction - beat
	if f < swing {
		return beat + f/swing/2
	}
	return beat + 1 - (1-f)/(1-swing)/2
}

// Feel is how a song divides its beats.
//
// It is judged by beats that have onsets within, so neither within 1/24 of a
// beat of the beat's start nor of its end. Such a beat is swung where the only
// one within lies at 0.55 to 0.72, straight where all lie within 1/24 of a
// quarter, half or three quarters (or closely on eighths), and else in thirds
// where all lie within 1/24 of a sixth, third, half, two thirds or five sixths.
// Thresholds are chosen, not measured:
//
//   - swung: two thirds of these beats are, four fifths of those within 1/24 of
//     their median, the swing, and for one that is in thirds, but not swung, ten
//     are swung;
//   - else triplets: a twentieth of these beats are in thirds, and all but a
//     tenth in thirds or straight;
//   - else straight: all but a tenth are straight;
//   - else free.
type Feel string

const (
	Straight Feel = "straight"
	Triplets Feel = "triplets"
	Swung    Feel = "swung"
	Free     Feel = "free"
)

const near = 1. / 24 // beats

var (
	quarters = []float64{1. / 4, 1. / 2, 3. / 4}
	eighths  = []float64{1. / 8, 1. / 4, 3. / 8, 1. / 2, 5. / 8, 3. / 4, 7. / 8}
	sixths   = []float64{1. / 6, 1. / 3, 1. / 2, 2. / 3, 5. / 6}
)

func feelOf(onsets []onset) (feel Feel, swing float64) {
	var beats, straight, thirds, triplets int // triplets: thirds that are not swung
	var swings []float64
	var within []float64
	for len(onsets) > 0 {
		within, onsets = nextBeat(onsets, within[:0])
		if len(within) == 0 {
			continue
		}
		beats++
		swung := len(within) == 1 && within[0] >= 0.55 && within[0] <= 0.72
		if swung {
			swings = append(swings, within[0])
		}
		s, t := offMarks(within, quarters), offMarks(within, sixths)
		switch {
		case s <= near && s <= t, offMarks(within, eighths) <= toleranceBeats:
			straight++
		case t <= near:
			thirds++
			if !swung {
				triplets++
			}
		}
	}
	if beats == 0 {
		return Straight, 0.5
	}
	if median := medianOf(swings); 3*len(swings) >= 2*beats && 10*triplets <= len(swings) {
		tight := 0
		for _, f := range swings {
			if math.Abs(f-median) <= near {
				tight++
			}
		}
		if 5*tight >= 4*len(swings) {
			return Swung, median
		}
	}
	switch {
	case thirds > 0 && 20*thirds >= beats && 10*(straight+thirds) >= 9*beats:
		return Triplets, 0.5
	case 10*straight >= 9*beats:
		return Straight, 0.5
	}
	return Free, 0.5
}

// nextBeat takes the onsets of the first one's beat off the front, and appends
// where those within it lie.
func nextBeat(onsets []onset, within []float64) (places []float64, left []onset) {
	bar, beat := onsets[0].bar, math.Floor(onsets[0].inBar)
	n := sort.Search(len(onsets), func(i int) bool {
		return onsets[i].bar > bar || onsets[i].inBar >= beat+1
	})
	for _, o := range onsets[:n] {
		if f := o.inBar - beat; f > near && f < 1-near {
			within = append(within, f)
		}
	}
	return within, onsets[n:]
}

// offMarks is how far the farthest place is from the nearest mark.
func offMarks(places, marks []float64) float64 {
	worst := 0.0
	for _, f := range places {
		least := math.Inf(1)
		for _, mark := range marks {
			least = min(least, math.Abs(f-mark))
		}
		worst = max(worst, least)
	}
	return worst
}

func medianOf(values []float64) float64 {
	if len(values) == 0 {
		return 0
	}
	slices.Sort(values)
	n := len(values)
	return (values[(n-1)/2] + values[n/2]) / 2
}
