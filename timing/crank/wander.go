package crank

import "math"

// How much turning a wander is estimated from. Tempos of neighbouring beats are so
// alike that 96 beats say no more than 7 independent ones would: the standard
// error is then about 28 % of the wander. It halves with four times the beats.
const (
	MinWanderBeats = 96
	MinWanderSpans = 6 // of joinedBeats or more
)

// beatCorrelation is that of one beat's tempo with the next in the model of a
// hand on the crank: a first-order autoregression.
const beatCorrelation = 0.9

// joinedBeats is the least number of beats that are looked at as one. A time that
// is 20 ms wrong, from a tapping hand or a sensor that is polled, makes the tempo
// of one beat wrong by several per cent and that of eight by an eighth of it. The
// hand's tempo changes little in between, so that hardly anything is lost: from 96
// beats the standard error is 28 % of the wander instead of 23 %.
const joinedBeats = 8

// passed is how many beats went by between two passings, and how long they took.
type passed struct{ beats, seconds float64 }

// spansOfTurns are spans of whole turns of the crank, one turn having so many
// beats: as few of them as make joinedBeats. Over whole turns a ripple is always
// the same, however uneven the crank or the sensor's disc is within one, so that
// none of it is taken for wander. Where no passing lies at the end of a turn, its
// time is read off the line between the two around it, if they are no more than a
// quarter of a turn apart, or the next turn that ends at a passing is waited for;
// ok is false where that takes too long. What is left over at the end is left out.
func spansOfTurns(passings []Passing, turnBeats float64) (spans []passed, ok bool) {
	const near = 0.02 // of a turn: a number that was rounded, or a pulse that is late
	unit := math.Ceil(joinedBeats/turnBeats - 1e-9)
	from := passings[0]
	for i, p := range passings {
		for turns := (p.Beats - from.Beats) / turnBeats; turns >= unit-near; turns = (p.Beats - from.Beats) / turnBeats {
			to := p
			if over := (turns - unit) * turnBeats; math.Abs(turns-math.Round(turns)) > near {
				before := passings[i-1]
				apart := p.Beats - before.Beats
				if apart > turnBeats/4 {
					if turns > 4*unit {
						return nil, false
					}
					break
				}
				to = Passing{p.Beats - over, p.AtS - (p.AtS-before.AtS)*over/apart}
			}
			spans = append(spans, passed{to.Beats - from.Beats, to.AtS - from.AtS})
			from = to
		}
	}
	return spans, len(spans) > 0
}

// findWander finds the wander of passings, if there are enough of them, with turns
// of so many beats; 0 where that is not known.
func (m *Measured) findWander(passings []Passing, turnBeats float64) {
	m.WanderOK = false
	if n := len(passings); n == 0 || passings[n-1].Beats-passings[0].Beats < MinWanderBeats-1e-6 {
		return
	}
	var spans []passed
	whole := false
	if turnBeats > 0 {
		spans, whole = spansOfTurns(passings, turnBeats)
	}
	if !whole {
		spans = joined(passings)
	}
	if len(spans) < MinWanderSpans {
		return
	}
	m.WanderOK, m.WanderMixed, m.WanderU = true, !whole, 0
	if m.Wander, m.WanderSE = wander(spans); m.Wander > 0 {
		m.WanderU = m.Wander * deviationDoubt(m.Wander*m.Wander/(2*m.WanderSE*m.WanderSE))
	}
}

// joined are the spans between passings where turns of the crank are not known: as
// many of them taken together as make joinedBeats; what is left over goes with the
// last.
func joined(passings []Passing) []passed {
	var spans []passed
	from := passings[0]
	for _, p := range passings[1:] {
		if p.Beats-from.Beats >= joinedBeats {
			spans = append(spans, passed{p.Beats - from.Beats, p.AtS - from.AtS})
			from = p
		}
	}
	if n, p := len(spans), passings[len(passings)-1]; n > 0 {
		spans[n-1].beats += p.Beats - from.Beats
		spans[n-1].seconds += p.AtS - from.AtS
	}
	return spans
}

// wander works out the standard deviation σ of the beat's tempo, as a fraction,
// and its standard error from spans that follow each other without a gap.
//
// Tempos of beats are T (1 + x), x a first-order autoregression of standard
// deviation σ and correlation ρ = 0.9 from beat to beat. Of a span of k beats only
// the mean y of their x shows, and of T only the mean of all K beats. With the
// weights w = k/K what is seen is
//
//	Q = Σ w (y − ȳ)²,  ȳ = Σ w y
//
// As ȳ is the mean of all K beats, and V(k) σ² the variance of the mean of k, its
// expectation is
//
//	E Q = σ² (Σ w V(k) − V(K))
//
// by which Q is divided, so that the estimate of σ² has no bias at any length. (The
// mean follows the wander: of 8 beats one by one, V(8) = 0.773 and E Q = 0.227 σ².)
// For normal x, with C σ² the covariance of the y and c = C w,
//
//	Var Q = 2 σ⁴ (Σᵢⱼ wᵢ wⱼ Cᵢⱼ² − 2 Σ w c² + V(K)²)
//
// and the standard error of σ is √Var Q/(2 E Q) of it (variance of a quadratic form
// and propagation of errors; textbook formulas, from memory).
func wander(spans []passed) (sd, se float64) {
	beats, mean := 0.0, 0.0
	for _, s := range spans {
		beats += s.beats
	}
	for _, s := range spans {
		mean += s.beats / beats * 60 * s.beats / s.seconds
	}
	seen, expected := 0.0, -meanVariance(beats)
	for _, s := range spans {
		x := 60*s.beats/s.seconds/mean - 1
		seen += s.beats / beats * x * x
		expected += s.beats / beats * meanVariance(s.beats)
	}
	withMean := make([]float64, len(spans)) // c
	variance := 0.0
	eachPair(spans, func(i, j int, c float64) {
		withMean[i] += spans[j].beats / beats * c
		variance += 2 * spans[i].beats * spans[j].beats / (beats * beats) * c * c
	})
	for i, s := range spans {
		variance -= 4 * s.beats / beats * withMean[i] * withMean[i]
	}
	variance += 2 * meanVariance(beats) * meanVariance(beats)
	sd = math.Sqrt(seen / expected)
	return sd, sd * math.Sqrt(variance) / (2 * expected)
}

// meanVariance is V(k), the variance of the mean of k beats over that of one:
//
//	(k (1 − ρ²) − 2ρ (1 − ρᵏ)) / (k² (1 − ρ)²)
//
// (the variance of the mean of such a series; textbook formula, from memory).
func meanVariance(k float64) float64 {
	const r = beatCorrelation
	return (k*(1-r*r) - 2*r*(1-math.Pow(r, k))) / (k * k * (1 - r) * (1 - r))
}

// eachPair calls use with the covariance of the means of every two spans, in both
// orders, over the variance of one beat, as far as it matters. For g beats between
// spans of a and b beats it is ρᵍ⁺¹ (1 − ρᵃ)(1 − ρᵇ)/(a b (1 − ρ)²): two geometric sums.
func eachPair(spans []passed, use func(i, j int, covariance float64)) {
	const r = beatCorrelation
	fades, sums := make([]float64, len(spans)), make([]float64, len(spans))
	for i, s := range spans {
		fades[i] = math.Pow(r, s.beats)
		sums[i] = (1 - fades[i]) / (s.beats * (1 - r))
	}
	for i, s := range spans {
		use(i, i, meanVariance(s.beats))
		fade := r * sums[i]
		for j := i + 1; j < len(spans) && fade > 1e-15; j++ {
			use(i, j, fade*sums[j])
			use(j, i, fade*sums[j])
			fade *= fades[j]
		}
	}
}
