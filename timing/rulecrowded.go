package timing

import (
	"fmt"
	"pinwright/wheel/say"
)

// Crowded: the lever has not fallen back.
var Crowded = Kind{&kindFacts{
	name:   "crowded",
	mark:   "M5 2v12M11 2v12M2 5h12M2 11h12",
	missed: "the lever is not back",
	miss:   missLater,
}}

type crowded struct{}

func (crowded) kind() Kind { return Crowded }

// asks takes D > h/c and (D − h/c) p ≥ return.
func (crowded) asks(c *Channel) (arcSteps, needS float64) { return c.Hold, c.Return }

func (crowded) known(c *Channel) bool { return c.Known.has(holdFigure | returnFigure) }

func (crowded) sentence(w *Works, f Finding) string {
	c := &w.Channels[f.Channel]
	if steps := w.stepsOn(f); float64(steps) <= c.Hold {
		return fmt.Sprintf("%s: the next pin comes %s later, while a pin holds the lever for %s steps",
			w.pinWords(f), say.Count(steps, "step", "steps"), figure(c.Hold))
	}
	gap, need := Milliseconds(f.GapS, f.NeedS)
	return fmt.Sprintf("%s: the lever has %s to fall back before the next pin; it needs %s", w.pinWords(f), gap, need)
}

func (r crowded) limitSentence(w *Works, f Finding) string {
	if float64(w.stepsOn(f)) <= w.Channels[f.Channel].Hold {
		return r.sentence(w, f)
	}
	return fmt.Sprintf("%s: any faster, the lever has less than the %s it needs to fall back", w.pinWords(f), say.MS(f.NeedS*1000))
}

// mends take (D − h/c) p ≥ return for the return and for the hold. A pin that let
// go of the lever before full push would trip nothing, so the hold stays as long
// as the reach.
func (crowded) mends(m *mender, r Rung, p float64) (mends []Mend) {
	gap := float64(m.rows[r.Channel].leastGap())
	c, file := &m.works.Channels[r.Channel], &m.works.Machine.Channels[r.Channel].Trip
	if free := (gap - c.Hold) * p * 1000; free > 0 {
		mends = append(mends, Mend{Path: m.path(r.Channel, "trip.return_ms"), From: file.ReturnMS.Or(0), To: free})
	}
	hold := Mend{Path: m.path(r.Channel, "trip.hold_mm"), From: file.HoldMM.Or(0), To: (gap - max(c.Return/p, spareSteps)) * m.works.Machine.Wheel.ArcMM()}
	if hold.To >= 0 && hold.Workshop() >= file.ReachMM.Or(0) {
		mends = append(mends, hold)
	}
	return mends
}
