package timing

import (
	"fmt"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// Meeting: two marbles nearer than the least spacing in one lane.
var Meeting = Kind{&kindFacts{
	name: "meeting",
	mark: "M9.2 8a3.7 3.7 0 1 0-7.4 0a3.7 3.7 0 1 0 7.4 0M14.2 8a3.7 3.7 0 1 0-7.4 0a3.7 3.7 0 1 0 7.4 0",
}}

type meeting struct{}

func (meeting) kind() Kind { return Meeting }

// groups are the passages of each lane in which marbles cannot pass each other.
func (meeting) groups(w *Works) [][]Passage {
	groups := make([][]Passage, len(w.lanes))
	for i := range w.lanes {
		if !w.lanes[i].open {
			groups[i] = w.lanes[i].passages
		}
	}
	return groups
}

func (meeting) need(w *Works, first, second *Passage) float64 {
	return w.lanes[first.Lane].need(first.SpeedIn, first.Time, second.SpeedIn, w.Spacing())
}

// need is the least lead, in seconds at the lane's mouth, of a marble that
// enters at speed u1 over the next, which enters at u2, so that their centres
// stay s apart along the lane while both are on it.
//
//	min(T₁, max(Δ, T₁ − t₂(L − s)));  T₁ where s ≥ L
//
// T₁ is the first's time through, Δ its time to travel s, t₂(x) the second's
// to travel x. Both move alike, so that their distance only grows or only
// shrinks, and is least at the second's entry or at the first's exit: under one
// acceleration it is linear in time, in a pipe the faster is slowed more.
func (l *lane) need(u1, time1, u2, s float64) float64 {
	if s >= l.length {
		return time1
	}
	return min(time1, max(l.timeTo(s, u1), time1-l.timeTo(l.length-s, u2)))
}

// Need is the least lead in seconds at the mouth of a lane that the marble of
// one passage must have over the marble of another that follows it there.
func (w *Works) Need(first, second Passage) float64 { return meeting{}.need(w, &first, &second) }

// afterStrikes reports whether both marbles have struck.
func (meeting) afterStrikes(first, second *Passage) bool { return first.Exit && second.Exit }

func (meeting) ownToo() bool { return true }

func (meeting) sentence(w *Works, f Finding) string {
	gap, need := Milliseconds(f.GapS, f.NeedS)
	return fmt.Sprintf("%s: its marble enters lane %s %s before %s; they need %s between them",
		w.pinWords(f), w.Machine.Lanes[f.Lane].ID, gap, w.followerWords(f), need)
}

func (meeting) limitSentence(w *Works, f Finding) string {
	return fmt.Sprintf("%s: any faster, its marble and %s, come too near in lane %s: they need %s between them at its mouth",
		w.pinWords(f), w.followerWords(f), w.Machine.Lanes[f.Lane].ID, say.MS(f.NeedS*1000))
}

// followerWords names the marble behind in a finding about two.
func (w *Works) followerWords(f Finding) string {
	place := w.Machine.Wheel.PlaceText(f.OtherStep)
	if f.Channel == f.Other {
		return "the next, of " + place
	}
	return fmt.Sprintf("that of %s, %s", w.Machine.Channels[f.Other].Name, place)
}

// mends are the latch of the channel that follows and of that which leads, where
// both have struck the time to clear of either's plate, and a ramp's slope. The
// clearance is a margin: it mends nothing.
func (meeting) mends(m *mender, r Rung, p float64) (mends []Mend) {
	q, ok := m.works.pairOf(r.Cause)
	if !ok {
		return nil
	}
	if q.a.Channel != q.b.Channel {
		for _, channel := range []int{r.Where.Other, r.Where.Channel} {
			mends = append(mends, m.mendLatch(channel, r.Cause, p)...)
		}
		for _, passage := range []*Passage{q.a, q.b} {
			if passage.Exit {
				mends = append(mends, m.mendClear(passage.Channel, r.Cause, p)...)
			}
		}
	}
	if m.works.Machine.Lanes[r.Lane].Kind == wheel.Ramp {
		mends = append(mends, m.mendSlope(r, q, p)...)
	}
	return mends
}

// listOccurring lists the differences in steps that occur between the pins of
// two passages' channels and at which they meet at a period above p now.
func (m *mender) listOccurring(l lead, q pair, p float64) {
	d, last := l.differences(p, m.longest)
	ra, rb := &m.rows[q.a.Channel], &m.rows[q.b.Channel]
	if q.a.Channel == q.b.Channel {
		d = max(d, 1)
	}
	m.occur = m.occur[:0]
	for ; d <= last; d++ {
		if ra.differ(rb, wrap(d, ra.n)) {
			m.occur = append(m.occur, d)
		}
	}
}

// apart reports whether a pair meets at none of the listed differences at a
// period above p.
func (m *mender) apart(l lead, p float64) bool {
	for _, d := range m.occur {
		if from, to, ok := l.forbidden(d); ok && to > p && from < m.longest {
			return false
		}
	}
	return true
}

// mendSlope halves its way to the least slope of a ramp at which two marbles
// meet at no period above p, and takes it if the whole machine agrees.
func (m *mender) mendSlope(r Rung, q pair, p float64) []Mend {
	file := &m.works.Machine.Lanes[r.Lane]
	marble := &m.works.Machine.Marble
	a, b, l := q.a, q.b, m.works.leadOf(q)
	m.listOccurring(l, q, p)
	s := m.works.Spacing()
	lane := m.works.lanes[r.Lane]
	apart := func(deg float64) bool {
		lane.accel = RampAcceleration(radians(deg), file.Rolling, ContactGapMM(file, marble.DiameterMM), marble.DiameterMM)
		timeA, _, errA := lane.through(a.SpeedIn)
		timeB, _, errB := lane.through(b.SpeedIn)
		if errA != nil || errB != nil {
			return false
		}
		l.ahead, l.behind = lane.need(a.SpeedIn, timeA, b.SpeedIn, s), lane.need(b.SpeedIn, timeB, a.SpeedIn, s)
		return m.apart(l, p)
	}
	from := file.SlopeDeg.Or(0)
	if from >= steepestDeg || !apart(steepestDeg) {
		return nil
	}
	mend := Mend{Path: "lanes." + file.ID + ".slope_deg", From: from, To: halve(steepestDeg, from, apart)}
	for _, deg := range []float64{mend.To, mend.Workshop()} {
		if !m.agrees(r.Cause, p, wheel.Set{Path: mend.Path, Value: deg}) {
			return nil
		}
	}
	return []Mend{mend}
}
