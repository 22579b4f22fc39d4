package window

import (
	"math"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/arrange"
	"pinwright/wheel/say"
)

// Held are the ranges of tempo in which some choice of advances holds all strikes
// of a pinning together, see [arrange.HeldTempos], their ends rounded inward.
// There are none where it has no pins.
func Held(works *timing.Works, p *wheel.Pinning) []arrange.TempoRange {
	if len(p.Pins) == 0 {
		return nil
	}
	held := arrange.HeldTempos(works, p)
	for i, h := range held {
		held[i].FromBPM, held[i].ToBPM = say.Within(h.FromBPM, h.ToBPM)
	}
	return held
}

// ProposedRange is a range to set a pinning for where none is asked for: the
// slowest of those held. Where there is none it goes from two thirds of the
// pinning's tempo, or of the fastest for visitors where that is less, up to it.
func ProposedRange(l wheel.Limits, held []arrange.TempoRange, win timing.Window, tempoBPM float64) arrange.TempoRange {
	if len(held) > 0 {
		return held[0]
	}
	top := tempoBPM
	if win.TopBPM > l.TempoMinBPM {
		top = min(top, win.TopBPM)
	}
	top = min(max(top, l.TempoMinBPM), l.TempoMaxBPM)
	from, to := say.Within(max(math.Ceil(top*2/3), l.TempoMinBPM), top)
	return arrange.TempoRange{FromBPM: from, ToBPM: to}
}

// Slow is what setting a pinning for a range of tempos gives.
type Slow struct {
	Range arrange.TempoRange
	// Readvanced has the pinning so set, what moves, and how far strikes are
	// spread over the range as they were and as they would be.
	*arrange.Readvanced
	Window timing.Window // of the pinning so set
	// ChordS and WasChordS are how far its widest chord is spread at the slower
	// end of the range, in seconds: so set, and as it is.
	ChordS, WasChordS float64
	TempoBPM          float64 // to turn it at
}

// SetForSlow chooses the advances of a pinning for a range of tempos in beats per
// minute, see [arrange.Readvance]. margin is the house's. The error says what is
// wrong with the range, or that the pinning does not fit the machine.
func SetForSlow(works *timing.Works, p *wheel.Pinning, r arrange.TempoRange, margin float64) (*Slow, error) {
	set, err := arrange.Readvance(works, p, r.FromBPM, r.ToBPM)
	if err != nil {
		return nil, err
	}
	was, err := works.Turn(p)
	if err != nil {
		return nil, err
	}
	turn, err := works.Turn(set.Pinning)
	if err != nil {
		return nil, err
	}
	s := &Slow{Range: r, Readvanced: set, Window: turn.Window(margin), ChordS: turn.Flam(r.FromBPM), WasChordS: was.Flam(r.FromBPM)}
	s.TempoBPM = proposedTempo(r, s.Window.TempoWindow)
	return s, nil
}

// proposedTempo is the middle of a range, of what of it lies in a window where
// any does, or else the window's nearer end: to a tenth where a tenth lies there.
func proposedTempo(r arrange.TempoRange, w wheel.TempoWindow) float64 {
	from, to := r.FromBPM, r.ToBPM
	if w.Open {
		from, to = min(max(from, w.FromBPM), w.ToBPM), max(min(to, w.ToBPM), w.FromBPM)
	}
	low, high := say.Within(from, to)
	middle := (from + to) / 2
	for _, bpm := range []float64{math.Round(middle*10) / 10, low, high} {
		if bpm >= from*(1-wheel.TempoSlack) && bpm <= to*(1+wheel.TempoSlack) {
			return bpm
		}
	}
	return middle
}
