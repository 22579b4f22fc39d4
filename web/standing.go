package web

import (
	"fmt"

	"pinwright/timing"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// standing is how fast a pinning can safely be played, and where that ends.
type standing struct {
	bpm  float64
	safe bool
	stop timing.Finding
	at   bool // whether stop says where it ends
}

func standingOf(w *timing.Works, turn *timing.Turn) standing {
	var st standing
	st.bpm, st.safe = turn.MaxSafe()
	if !st.safe {
		st.stop, st.at = turn.First(w.Machine.Limits.TempoMinBPM)
	} else if stop := turn.Bands()[0].StoppedBy; stop != nil {
		st.stop, st.at = turn.Where(*stop, st.bpm)
	}
	return st
}

// words says what stops a pinning from being played faster than it safely can;
// where no tempo is safe from the slowest up, what breaks at the slowest.
func (st standing) words(w *timing.Works) string {
	switch {
	case st.at && st.safe:
		return w.LimitSentence(st.stop)
	case st.at:
		return w.Sentence(st.stop)
	case st.safe:
		return fmt.Sprintf("Nothing up to %s BPM, the machine's own limit.", wheel.Number(w.Machine.Limits.TempoMaxBPM))
	}
	return "No tempo in the machine's range is safe."
}

// since says what an edit made of the highest safe tempo: "104 → 98 BPM: Bar
// C5, bar 7 beat 2". It is empty where that stays.
func (st standing) since(before standing, m page.Compiled) string {
	if st.bpm == before.bpm && st.safe == before.safe {
		return ""
	}
	figure := func(s standing) string {
		if !s.safe {
			return "none"
		}
		return say.TempoDown(s.bpm)
	}
	text := fmt.Sprintf("%s to %s BPM", figure(before), figure(st))
	if st.at && (!st.safe || st.bpm < before.bpm || !before.safe) {
		text += ": " + placeOfFinding(m.File, st.stop)
	} else if before.at {
		text += ": no longer " + placeOfFinding(m.File, before.stop)
	}
	return say.Steady(text)
}

func placeOfFinding(m *wheel.Machine, f timing.Finding) string {
	place := m.Wheel.PlaceText(f.Step)
	if f.Channel < 0 {
		return place
	}
	return m.Channels[f.Channel].Name + ", " + place
}
