package timing

import "pinwright/wheel"

// DefaultMargin is the part of the highest safe tempo that a museum keeps as a
// margin where it says nothing else. Common practice.
const DefaultMargin = 0.1

// WanderMargins is how many standard deviations of the crank's wander the
// margin holds besides: a normal variate is above three in 1 of 741 beats.
const WanderMargins = 3

// Window is a tempo window, and what ends it.
type Window struct {
	wheel.TempoWindow
	Own    float64 // the museum's margin, a part of MaxSafeBPM
	Wander float64 // the crank's, of which WanderMargins are kept besides

	Low  LowEnd
	High HighEnd
	// LowChord and HighChord spread by flam_ms at the end and by more beyond it,
	// where Low is SpreadBelow and High is SpreadAbove. Where chords hold together
	// at no tempo they are the widest at the machine's lowest and highest.
	LowChord, HighChord ChordFlam
	// Stop is what breaks above MaxSafeBPM or, where that is 0, at the machine's
	// lowest tempo. StopOK is false where nothing does: MaxSafeBPM is the
	// machine's highest tempo then.
	Stop   Finding
	StopOK bool
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
	SafetyAbove HighEnd = iota // the highest safe tempo less its margin
	SpreadAbove                // a chord spreads
)

// Margin is the part of the highest safe tempo that is kept off, 0 … 1:
//
//	own + 3 wander
func (w Window) Margin() float64 { return min(1, w.Own+WanderMargins*w.Wander) }

// Window is the pinning's tempo window. It reaches from the slowest tempo at
// which every chord stays within flam_ms up to
//
//	highest safe tempo × (1 − margin − 3 wander),
//
// or to the fastest at which chords hold together where that is less. margin is
// the museum's own, 0 … 1, wander the machine's. Both ends are exact.
func (t *Turn) Window(margin float64) Window {
	w := t.window(margin)
	w.Slowest, w.Fastest, w.Closed = t.works.lowSentence(w), t.works.highSentence(w), t.works.closedSentence(w)
	return w
}

func (t *Turn) window(margin float64) Window {
	limits := t.works.Machine.Limits
	w := Window{Own: margin, Wander: limits.Wander.Or(0)}
	bands := t.Bands()
	if bpm, ok := maxSafe(bands, limits.TempoMinBPM); ok {
		w.MaxSafeBPM = bpm
		if by := bands[0].StoppedBy; by != nil {
			w.Stop, w.StopOK = t.Where(*by, bpm)
		}
	} else {
		w.Stop, w.StopOK = t.First(limits.TempoMinBPM)
	}
	w.TopBPM = w.MaxSafeBPM * (1 - w.Margin())
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
	w.Open = w.MaxSafeBPM > 0 && w.ToBPM >= w.FromBPM
	return w
}

// widest is the chord that is spread most at a tempo.
func (t *Turn) widest(bpm float64) ChordFlam {
	if chords := t.Chords(bpm); len(chords) > 0 {
		return chords[0]
	}
	return ChordFlam{}
}
