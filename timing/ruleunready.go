package timing

import (
	"fmt"
	"math"
	"pinwright/wheel/say"
)

// Unready: the gate has not taken in the next marble.
var Unready = Kind{&kindFacts{
	name:   "unready",
	mark:   "M3 2h10L3 14h10Z",
	missed: "the gate has not reloaded",
	miss:   missBusy,
}}

type unready struct{}

func (unready) kind() Kind { return Unready }

// asks takes D p ≥ reload.
func (unready) asks(c *Channel) (arcSteps, needS float64) { return 0, c.Reload }

func (unready) known(c *Channel) bool { return c.Known.has(reloadFigure) }

func (unready) sentence(w *Works, f Finding) string {
	gap, need := Milliseconds(f.GapS, f.NeedS)
	return fmt.Sprintf("%s: the next pin comes after %s; the gate needs %s", w.pinWords(f), gap, need)
}

func (unready) limitSentence(w *Works, f Finding) string {
	return fmt.Sprintf("%s: any faster, the next pin comes before the gate is ready, which takes %s", w.pinWords(f), say.MS(f.NeedS*1000))
}

// mends take D p ≥ reload. A feed's slope follows from
// reload = √(2d/a), a = g (sin α − k cos α)/(7/5):
//
//	α = asin(s/√(1 + k²)) + atan k,  s = sin α − k cos α = (7/5)·2d/(g reload²)
func (unready) mends(m *mender, r Rung, p float64) []Mend {
	reload := float64(m.rows[r.Channel].leastGap()) * p
	gate := &m.works.Machine.Channels[r.Channel].Gate
	if !gate.FromFeed() {
		return []Mend{{Path: m.path(r.Channel, "gate.reload_ms"), From: gate.ReloadMS.Or(0), To: reload * 1000}}
	}
	d, k := m.works.Machine.Marble.DiameterMM/1000, gate.Rolling
	s := 1.4 * 2 * d / (Gravity * reload * reload)
	sine := s / math.Sqrt(1+k*k)
	if sine > 1 {
		return nil
	}
	slope := (math.Asin(sine) + math.Atan(k)) * 180 / math.Pi
	if slope > 90 {
		return nil
	}
	return []Mend{{Path: m.path(r.Channel, "gate.feed_slope_deg"), From: gate.FeedSlopeDeg.Or(0), To: slope}}
}
