package timing

import (
	"fmt"
	"slices"

	"pinwright/wheel"
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

func (unclear) known(c *Channel) bool { return c.Known.has(clearFigure) }

// groups are the strikes on each plate that several channels share.
func (unclear) groups(w *Works) [][]Passage {
	var groups [][]Passage
	for _, channels := range platesOf(w.Machine) {
		group := make([]Passage, len(channels))
		for k, i := range channels {
			c := &w.Channels[i]
			group[k] = Passage{Lane: -1, Channel: i, Enter: c.Strike, Time: c.Clear, SpeedIn: c.StrikeSpeed, Known: c.StrikeKnown}
		}
		groups = append(groups, group)
	}
	return groups
}

// platesOf lists the channels of every plate that two or more strike.
func platesOf(m *wheel.Machine) (plates [][]int) {
	at := map[string]int{}
	for i := range m.Channels {
		c := &m.Channels[i]
		if c.Plate == "" || c.Holds() {
			continue
		}
		n, is := at[c.Plate]
		if !is {
			n = len(plates)
			at[c.Plate], plates = n, append(plates, nil)
		}
		plates[n] = append(plates[n], i)
	}
	return slices.DeleteFunc(plates, func(channels []int) bool { return len(channels) < 2 })
}

// need is the time after which the plate is clear of the first marble.
func (unclear) need(w *Works, first, _ *Passage) float64 { return w.Channels[first.Channel].Clear }

// ownToo is false: strikes of one channel follow each other as its pins do.
func (unclear) ownToo() bool { return false }

func (unclear) afterStrikes(_, _ *Passage) bool { return false }

func (unclear) sentence(w *Works, f Finding) string {
	gap, need := Milliseconds(f.GapS, f.NeedS)
	if f.Other != f.Channel {
		return fmt.Sprintf("%s: %s strikes the same plate %s later, %s; the plate is clear after %s",
			w.pinWords(f), w.Machine.Channels[f.Other].Name, gap, w.Machine.Wheel.PlaceText(f.OtherStep), need)
	}
	return fmt.Sprintf("%s: the next strike comes after %s; the plate is clear after %s", w.pinWords(f), gap, need)
}

func (unclear) limitSentence(w *Works, f Finding) string {
	if f.Other != f.Channel {
		return fmt.Sprintf("%s: any faster, %s, %s, strikes the same plate before it is clear, which takes %s",
			w.pinWords(f), w.Machine.Channels[f.Other].Name, w.Machine.Wheel.PlaceText(f.OtherStep), say.MS(f.NeedS*1000))
	}
	return fmt.Sprintf("%s: any faster, the next strike comes before the plate is clear, which takes %s", w.pinWords(f), say.MS(f.NeedS*1000))
}

// mends take D p ≥ clear, with restitution e of clear = 2 e v/g. The
// marble is in its exit sooner by as much, where it must not meet another:
// then only a still shorter time will do. On a plate that channels share either
// one's latch will do as well.
func (unclear) mends(m *mender, r Rung, p float64) []Mend {
	if r.Channel != r.Other {
		return slices.Concat(m.mendPlate(r, p), m.mendLatch(r.Where.Other, r.Cause, p), m.mendLatch(r.Where.Channel, r.Cause, p))
	}
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
	return []Mend{mend}
}

// mendPlate halves its way to the longest time to clear of the marble that
// strikes a shared plate first, at which the next never strikes too soon at a
// period above p, and takes it if the whole machine agrees.
func (m *mender) mendPlate(r Rung, p float64) []Mend {
	q, ok := m.works.pairOf(r.Cause)
	if !ok {
		return nil
	}
	l := m.works.leadOf(q)
	m.listOccurring(l, q, p)
	first, need := r.Where.Channel, &l.ahead
	if first != q.a.Channel {
		need = &l.behind
	}
	file := &m.works.Machine.Channels[first].Strike
	clear, ok := file.ClearMS.Get()
	if !ok {
		return nil
	}
	apart := func(ms float64) bool {
		*need = ms / 1000
		return m.apart(l, p)
	}
	if !apart(0) {
		return nil
	}
	mend := Mend{Path: m.path(first, "strike.clear_ms"), From: clear, To: halve(0, clear, apart)}
	for _, ms := range []float64{mend.To, mend.Workshop()} {
		if !m.agrees(r.Cause, p, wheel.Set{Path: mend.Path, Value: ms}) {
			return nil
		}
	}
	return []Mend{mend}
}
