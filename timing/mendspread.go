package timing

import (
	"slices"

	"pinwright/wheel"
)

// leastGain is by how much keep-below has to rise, in beats per minute, so that
// less spread is worth saying.
const leastGain = 0.1

// spreads are the spreads that hold the tempo to keep below down, at half of what
// they are: those of a rung's own channels, one by one, and of all channels of
// their kind. One that the file does not state is not known: measuring it comes
// before mending it.
func (m *mender) spreads(r Rung) (mends []Mend) {
	if r.Channel < 0 || m.marks().KeepBelowBPM == nil {
		return nil
	}
	if m.scattered == nil {
		m.scattered = newScatter(m.works, m.works.sources()) // its figures are moved: not the one that others use
	}
	of := []int{r.Channel}
	if r.Other >= 0 && r.Other != r.Channel {
		of = append(of, r.Other)
	}
	for _, use := range []use{useReload, useLatch} {
		for _, channel := range of {
			mends = append(mends, m.halved(use, m.works.Machine.Channels[channel].ID, []int{channel})...)
		}
		kind := m.works.Machine.Channels[r.Channel].Kind
		var group []int
		for i := range m.works.Channels {
			if m.works.Machine.Channels[i].Kind == kind && m.rows[i].pins > 0 {
				group = append(group, i)
			}
		}
		if len(group) > 1 {
			mends = append(mends, m.halved(use, "", group)...)
		}
	}
	return mends
}

// spreadKeys are the figures that vary from drop to drop, and those by which the
// file states how much.
var spreadKeys = map[use][2]string{useReload: {"gate.reload_ms", "gate.reload_sd_ms"}, useLatch: {"trip.latch_ms", "trip.jitter_ms"}}

// halved is half the spread of one figure of some channels, if that is known and
// wins anything; at most one mend. Without an id they are all those of a kind.
func (m *mender) halved(of use, id string, channels []int) []Mend {
	keys := spreadKeys[of]
	doubts := m.works.Machine.Doubts()
	all := slices.Clone(m.scattered.all)
	mend, figures := Mend{Kind: OfSpread}, 0
	for k := range all {
		x := &all[k]
		if x.use != of || x.s == 0 || !slices.Contains(channels, x.channel) {
			continue
		}
		d := doubts.Channel(x.channel, keys[0])
		if d.SDSource != wheel.InFile && d.SDSource != wheel.IsMeasured {
			continue
		}
		one := Mend{From: x.s, To: x.s / 2}
		one.To = one.Workshop()
		mend.From, mend.To = max(mend.From, one.From), max(mend.To, one.To)
		x.s = one.To
		if mend.Path = m.path(x.channel, keys[0]); d.SDSource == wheel.InFile {
			mend.Sets = append(mend.Sets, wheel.Set{Path: m.path(x.channel, keys[1]), Value: one.To})
		}
		figures++
	}
	if figures == 0 || id == "" && figures == 1 {
		return nil
	}
	if id == "" {
		mend.Path = "kind:" + string(m.works.Machine.Channels[channels[0]].Kind) + "." + keys[0]
	}
	if len(mend.Sets) < figures {
		mend.Sets = nil // what was measured is not tried by a set
	}
	mend.Gains = Gains{Before: *m.marks(), After: m.Turn.marks(newScatter(m.works, all), m.tempo)}
	if mend.KeepBelowGain() < leastGain {
		return nil
	}
	return []Mend{mend}
}
