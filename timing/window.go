package timing

import "pinwright/wheel"

// DefaultMargin is the part of the red line that a museum keeps as a margin where
// it says nothing else. Common practice.
const DefaultMargin = 0.1

// Window is a tempo window, and what ends it.
type Window struct {
	wheel.TempoWindow
	Own    float64 // the museum's margin, a part of RedLineBPM
	Wander float64 // the crank's, which is counted in RedLineBPM

	Low  LowEnd
	High HighEnd
	// LowChord and HighChord spread by flam_ms at the end and by more beyond it,
	// where Low is SpreadBelow and High is SpreadAbove. Where chords hold together
	// at no tempo they are the widest at the machine's lowest and highest.
	LowChord, HighChord ChordFlam
	// Standing is what the red line comes from.
	Standing Standing
	// Worst is what adds most to the faults that have to be expected just at
	// keep-below or, where there is none, at the machine's lowest tempo. It is
	// there if WorstOK, and looked for where keep-below is below the bare limit.
	Worst   Contribution
	WorstOK bool
}

// LowEnd is what ends a window below.
type LowEnd uint8

const (
	MachineLowest LowEnd = iota // the machine's lowest tempo
	SpreadBelow                 // a chord spreads
)

// HighEnd is what ends a window above.
type HighEnd uint8

const (
	RedLineAbove HighEnd = iota // the red line less its margin
	SpreadAbove                 // a chord spreads
)

// Window is the pinning's tempo window. It reaches from the slowest tempo at
// which every chord stays within flam_ms up to
//
//	red line × (1 − margin),
//
// or to the fastest at which chords hold together where that is less. margin is
// the museum's own, 0 … 1; the crank's wander is in the red line already. While a
// figure is unknown there is no window.
func (t *Turn) Window(margin float64) Window {
	w := t.window(margin)
	w.Slowest, w.Fastest, w.Closed = t.works.lowSentence(w), t.works.highSentence(w), t.works.closedSentence(w)
	return w
}

func (t *Turn) window(margin float64) Window {
	limits := t.works.Machine.Limits
	w := Window{Own: margin, Wander: limits.Wander.Or(0), Standing: t.Standing()}
	if w.Unknown = len(w.Standing.Unknown) > 0; w.Unknown {
		return w
	}
	w.MaxSafeBPM = w.Standing.MaxSafeBPM
	trusted := w.Standing.KeepBelowBPM != nil
	if trusted {
		w.KeepBelowBPM, w.RedLineBPM = *w.Standing.KeepBelowBPM, *w.Standing.RedLineBPM
	}
	if w.MaxSafeBPM > 0 && w.KeepBelowBPM < w.MaxSafeBPM {
		w.Worst, w.WorstOK = t.worst(max(w.KeepBelowBPM, limits.TempoMinBPM))
	}
	w.TopBPM = w.RedLineBPM * (1 - margin)
	from, to, together := t.Together()
	if !together {
		w.Low, w.High = SpreadBelow, SpreadAbove
		w.LowChord, w.HighChord = t.widest(limits.TempoMinBPM), t.widest(limits.TempoMaxBPM)
		return w
	}
	w.FromBPM, w.ToBPM = from, w.TopBPM
	if from > limits.TempoMinBPM {
		w.Low, w.LowChord = SpreadBelow, t.widest(from)
	}
	if to < w.ToBPM {
		w.ToBPM, w.High, w.HighChord = to, SpreadAbove, t.widest(to)
	}
	w.Open = trusted && w.ToBPM >= w.FromBPM
	return w
}

// worst is what adds most to the faults that have to be expected at a tempo.
func (t *Turn) worst(bpm float64) (Contribution, bool) {
	if worst := t.Contributions(bpm, 1); len(worst) > 0 {
		return worst[0], true
	}
	return Contribution{}, false
}

// widest is the chord that is spread most at a tempo.
func (t *Turn) widest(bpm float64) ChordFlam {
	if chords := t.Chords(bpm); len(chords) > 0 {
		return chords[0]
	}
	return ChordFlam{}
}
