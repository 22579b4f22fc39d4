package web

import (
	"fmt"

	"pinwright/timing"
	"pinwright/wheel"
)

// standing is how fast a pinning can safely be played, and where that ends.
type standing struct {
	bpm  float64
	safe bool
	stop timing.Finding
	at   bool // whether stop says where it ends
}

func standingOf(m worked, turn *timing.Turn) standing {
	var st standing
	st.bpm, st.safe = turn.MaxSafe()
	lowest := m.File.Limits.TempoMinBPM
	if !st.safe {
		if found := turn.Findings(lowest, nil); len(found) > 0 {
			st.stop, st.at = found[0], true
		}
		return st
	}
	if bands := turn.Bands(); len(bands) > 0 && bands[0].StoppedBy != nil {
		st.stop, st.at = turn.Where(*bands[0].StoppedBy, bands[0].To)
	}
	return st
}

// since says what an edit made of the highest safe tempo: "104 → 98 BPM: Bar
// C5, bar 7 beat 2". It is empty where that stays.
func (st standing) since(before standing, m worked) string {
	if st.bpm == before.bpm && st.safe == before.safe {
		return ""
	}
	figure := func(s standing) string {
		if !s.safe {
			return "none"
		}
		return safeBPM(s.bpm)
	}
	text := fmt.Sprintf("%s to %s BPM", figure(before), figure(st))
	if st.at && (!st.safe || st.bpm < before.bpm || !before.safe) {
		text += ": " + placeOfFinding(m.File, st.stop)
	} else if before.at {
		text += ": no longer " + placeOfFinding(m.File, before.stop)
	}
	return steady(text)
}

func placeOfFinding(m *wheel.Machine, f timing.Finding) string {
	place := m.Wheel.PlaceText(f.Step)
	if f.Channel < 0 {
		return place
	}
	return m.Channels[f.Channel].Name + ", " + place
}
