package timing

import "pinwright/wheel"

// groupRule is a rule between two pins of one channel that asks for the time which
// one figure of the file says.
type groupRule interface {
	followRule
	// asksFor is the key of that figure; ok is false where the time follows from
	// other figures, or is not known.
	asksFor(c *wheel.Channel) (key string, ok bool)
}

func (crowded) asksFor(c *wheel.Channel) (string, bool) {
	return "trip.return_ms", c.Trip.ReturnMS.IsKnown()
}

func (unready) asksFor(c *wheel.Channel) (string, bool) {
	return "gate.reload_ms", c.Gate.ReloadMS.IsKnown() && !c.Holds()
}

func (unclear) asksFor(c *wheel.Channel) (string, bool) {
	return "strike.clear_ms", c.Strike.ClearMS.IsKnown() && !c.Holds()
}

// leastFactor is the least by which it is worth saying that all figures of a
// group be multiplied: nobody makes every gate twenty times as quick.
const leastFactor = 0.05

// group is the factor of one figure of all channels of a kind that lifts the
// limits of all of them to the next limit of another kind or rule; at most one
// mend. Where only one of them has such a limit, its own figure will do.
func (m *mender) group(r Rung, rungs []Rung) []Mend {
	rule, ok := m.works.rule(r.Kind).(groupRule)
	if !ok || r.Channel != r.Other || m.atEveryTempo(r.Cause) {
		return nil
	}
	machine := m.works.Machine
	kind := machine.Channels[r.Channel].Kind
	in := func(c Cause) bool {
		if c.Kind != r.Kind || c.Channel != c.Other || machine.Channels[c.Channel].Kind != kind {
			return false
		}
		_, ok := rule.asksFor(&machine.Channels[c.Channel])
		return ok
	}
	key, ok := rule.asksFor(&machine.Channels[r.Channel])
	if !ok {
		return nil
	}
	mend := Mend{Kind: OfGroup, Path: "kind:" + string(kind) + "." + key, From: 1, To: 1, Reaches: machine.Limits.TempoMaxBPM}
	for _, other := range rungs {
		if other.BPM-r.BPM >= leastBand && (!in(other.Cause) || m.atEveryTempo(other.Cause)) {
			mend.Reaches = other.BPM
			break
		}
	}
	p := machine.Wheel.StepPeriod(mend.Reaches)
	limited := 0
	for i := range machine.Channels {
		c := Cause{r.Kind, i, i, -1}
		gap := float64(m.rows[i].leastGap())
		if gap == 0 || !in(c) || m.atEveryTempo(c) {
			continue
		}
		for _, a := range m.works.rules.asks[i] {
			if enough := (gap - a.arc) * p; a.kind == r.Kind && a.needS > enough {
				limited++
				mend.To = min(mend.To, enough/a.needS)
			}
		}
	}
	if limited < 2 || mend.To < leastFactor || mend.To >= 1 {
		return nil
	}
	return m.resolved(mend, r.Cause, p)
}

// resolved is a group's mend with what to try, if the whole machine agrees to it.
func (m *mender) resolved(mend Mend, c Cause, p float64) []Mend {
	for _, factor := range []float64{mend.To, mend.Workshop()} {
		groups, err := m.works.Machine.Resolve(wheel.Setting{Path: mend.Path, Times: true, Value: factor})
		if err != nil {
			return nil
		}
		if mend.Sets = wheel.SetsOf(groups); !m.agrees(c, p, mend.Sets...) {
			return nil
		}
	}
	return []Mend{mend}
}
