package window

import (
	"fmt"
	"math"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/arrange"
	"pinwright/wheel/say"
)

// Held are the ranges of tempo in which some choice of advances holds all strikes
// of a pinning together, see [arrange.HeldTempos], as far as visitors can be asked
// to turn the pinning so set: up to its own red line less a margin, which is the
// house's. Their ends are rounded inward. There are none where it has no pins, or
// while a figure is unknown. The error says that the pinning does not fit the
// machine.
func Held(works *timing.Works, p *wheel.Pinning, margin float64) ([]arrange.TempoRange, error) {
	o, err := offerOf(works, p, margin)
	if err != nil || o == nil {
		return nil, err
	}
	var held []arrange.TempoRange
	for _, h := range arrange.HeldTempos(works, p) {
		if h, ok := o.trusted(h); ok {
			held = append(held, h)
		}
	}
	return held, nil
}

// ProposedRange is a range to set a pinning for where none is asked for: the
// slowest of those held. Where there is none it goes from two thirds of the
// pinning's tempo, or of the fastest for visitors where that is less, up to it. ok
// is false where no range can be trusted. The error is that of [Held].
func ProposedRange(works *timing.Works, p *wheel.Pinning, held []arrange.TempoRange, win timing.Window, tempoBPM float64) (r arrange.TempoRange, ok bool, err error) {
	if len(held) > 0 {
		return held[0], true, nil
	}
	o, err := offerOf(works, p, win.Own)
	l := works.Machine.Limits
	if err != nil || o == nil || win.TopBPM < l.TempoMinBPM {
		return r, false, err
	}
	top := min(max(min(tempoBPM, win.TopBPM), l.TempoMinBPM), l.TempoMaxBPM)
	from, to := say.Within(max(math.Ceil(top*2/3), l.TempoMinBPM), top)
	r, ok = o.trusted(arrange.TempoRange{FromBPM: from, ToBPM: to})
	return r, ok, nil
}

// offer looks for ranges that can be trusted.
type offer struct {
	works  *timing.Works
	p      *wheel.Pinning
	turn   *timing.Turn
	margin float64
}

// offerOf is nil where nothing can be offered: without pins, or while a figure is
// unknown.
func offerOf(works *timing.Works, p *wheel.Pinning, margin float64) (*offer, error) {
	turn, err := works.Turn(p)
	if err != nil || len(p.Pins) == 0 || len(turn.Unknown()) > 0 {
		return nil, err
	}
	return &offer{works, p, turn, margin}, nil
}

// mostTries is how often a range is cut before it is given up.
const mostTries = 8

// trusted is a range cut so far that visitors can be asked to turn the pinning
// set for it at all its tempos, its ends rounded inward. Other advances bring
// other marbles together, so each range has a red line of its own; one that is cut
// may be given other advances, and is asked again.
func (o *offer) trusted(r arrange.TempoRange) (arrange.TempoRange, bool) {
	for range mostTries {
		if r.FromBPM, r.ToBPM = say.Within(r.FromBPM, r.ToBPM); r.ToBPM < r.FromBPM {
			return r, false
		}
		set, err := arrange.Readvance(o.works, o.p, r.FromBPM, r.ToBPM)
		if err != nil || o.turn.Load(set.Pinning) != nil {
			return r, false
		}
		red, ok := o.turn.RedLine()
		top := red * (1 - o.margin)
		switch {
		case !ok || top < r.FromBPM:
			return r, false
		case r.ToBPM <= top*(1+wheel.TempoSlack):
			return r, true
		}
		r.ToBPM = top
	}
	return r, false
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
	// Distrust says why the pinning so set cannot be trusted over the whole range;
	// empty where it can be.
	Distrust string
}

// SetForSlow chooses the advances of a pinning for a range of tempos in beats per
// minute, see [arrange.Readvance]. margin is the house's. The error says what is
// wrong with the range, that the pinning does not fit the machine, or what has to
// be measured first.
func SetForSlow(works *timing.Works, p *wheel.Pinning, r arrange.TempoRange, margin float64) (*Slow, error) {
	was, err := works.Turn(p)
	if err != nil {
		return nil, err
	}
	if unknown := was.Unknown(); len(unknown) > 0 {
		return nil, wheel.Refuse(wheel.ErrInvalid, "%s", works.UnknownSentence(unknown))
	}
	set, err := arrange.Readvance(works, p, r.FromBPM, r.ToBPM)
	if err != nil {
		return nil, err
	}
	turn, err := works.Turn(set.Pinning)
	if err != nil {
		return nil, err
	}
	s := &Slow{Range: r, Readvanced: set, Window: turn.Window(margin), ChordS: turn.Flam(r.FromBPM), WasChordS: was.Flam(r.FromBPM)}
	s.TempoBPM = proposedTempo(r, s.Window.TempoWindow)
	s.Distrust = distrust(r, s.Window.TempoWindow)
	return s, nil
}

// distrust says why not all tempos of a range can be trusted.
func distrust(r arrange.TempoRange, w wheel.TempoWindow) string {
	switch {
	case w.RedLineBPM == 0:
		return w.Fastest
	case r.ToBPM > w.RedLineBPM*(1+wheel.TempoSlack):
		return fmt.Sprintf("The range goes up to %s BPM, but set for it the pinning has its red line at %s BPM. Choose a range below that.", say.TempoUp(r.ToBPM), say.TempoDown(w.RedLineBPM))
	}
	return ""
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
