package timing

import (
	"fmt"
	"pinwright/wheel/say"
)

// Unclear: the plate still has the last marble.
var Unclear = Kind{&kindFacts{
	name: "unclear",
	mark: "M2 11h12M8 2v6M5 5.5 8 8.5l3-3",
}}

type unclear struct{}

func (unclear) kind() Kind { return Unclear }

// asks takes D p ≥ clear.
func (unclear) asks(c *Channel) (arcSteps, needS float64) { return 0, c.Clear }

func (unclear) sentence(w *Works, f Finding) string {
	gap, need := Milliseconds(f.GapS, f.NeedS)
	return fmt.Sprintf("%s: next strike after %s, the plate is clear after %s", w.pinWords(f), gap, need)
}

func (unclear) limitSentence(w *Works, f Finding) string {
	return fmt.Sprintf("%s: any faster, the next strike comes before the plate is clear, which takes %s", w.pinWords(f), say.MS(f.NeedS*1000))
}

// mend takes D p ≥ clear, with restitution e of clear = 2 e v/g. The
// marble is in its exit sooner by as much, where it must not meet another:
// then only a still shorter time will do.
func (unclear) mend(m *mender, r Rung, p float64) *Mend {
	c, file := &m.works.Channels[r.Channel], &m.works.Machine.Channels[r.Channel].Strike
	mend := Mend{Path: m.path(r.Channel, "strike.clear_ms"), From: file.ClearMS.Or(0)}
	per := 1000. // of the figure to a second
	if file.FromBounce() {
		mend.Path, mend.From = m.path(r.Channel, "strike.restitution"), file.Restitution.Or(0)
		per = Gravity / (2 * c.StrikeSpeed)
	}
	shift := float64(m.rows[r.Channel].leastGap())*p - c.Clear
	m.forbidShifts(r.Channel, true, r.Cause, p, -c.Clear, shift)
	to, ok := m.shifts.freeBelow(shift, func(s float64) float64 { return grain((c.Clear+s)*per) / per })
	if mend.To = (c.Clear + to) * per; !ok || mend.To <= 0 {
		return nil
	}
	return &mend
}
