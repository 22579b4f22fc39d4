package timing

import (
	"fmt"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// Standing is how fast a pinning can safely be played, and what stops it from
// being played faster.
type Standing struct {
	MaxSafeBPM float64 // the bare limit
	Safe       bool    // false: not even the machine's lowest tempo is safe
	// KeepBelowBPM and RedLineBPM are as [Turn.KeepBelow] and [Turn.RedLine] have
	// them; nil where there is none.
	KeepBelowBPM, RedLineBPM *float64
	// Stop is what breaks first above MaxSafeBPM or, where nothing is safe, at
	// the lowest tempo. It is there if Stopped.
	Stop    Finding
	Stopped bool
	// Unknown are the figures that have to be measured before anything is safe.
	Unknown []string
}

// Standing is where the turn's pinning stands.
func (t *Turn) Standing() Standing {
	var s Standing
	if s.Unknown = t.Unknown(); len(s.Unknown) > 0 {
		return s
	}
	lowest := t.works.Machine.Limits.TempoMinBPM
	bands := t.Bands()
	if s.MaxSafeBPM, s.Safe = maxSafe(bands, lowest); !s.Safe {
		s.Stop, s.Stopped = t.First(lowest)
		return s
	}
	if stop := bands[0].StoppedBy; stop != nil {
		s.Stop, s.Stopped = t.Where(*stop, s.MaxSafeBPM)
	}
	if keep, ok := t.keepBelowOf(t.works.scatter(), s.MaxSafeBPM); ok {
		red := t.works.redLine(keep)
		s.KeepBelowBPM, s.RedLineBPM = &keep, &red
	}
	return s
}

// StandingSentence says what stops a pinning from being played faster than it
// safely can; where no tempo is safe from the lowest up, what breaks at the
// lowest.
func (w *Works) StandingSentence(s Standing) string {
	switch {
	case len(s.Unknown) > 0:
		return w.UnknownSentence(s.Unknown)
	case s.Stopped && s.Safe:
		return w.LimitSentence(s.Stop)
	case s.Stopped:
		return w.Sentence(s.Stop)
	case s.Safe:
		return fmt.Sprintf("Nothing up to %s BPM, the machine's highest tempo.", wheel.Number(w.Machine.Limits.TempoMaxBPM))
	}
	return "No tempo in the machine's range is safe."
}

// StandingChange says how the red line has changed: "104 to 98 BPM: Bar C5, bar 7
// beat 2", with what stops the pinning at its bare limit if that has changed too.
// It is empty if the red line has not.
func (w *Works) StandingChange(before, after Standing) string {
	if after.redText() == before.redText() {
		return ""
	}
	if len(after.Unknown) > 0 {
		return fmt.Sprintf("%s to unknown", before.redText())
	}
	text := fmt.Sprintf("%s to %s BPM", before.redText(), after.redText())
	if after.RedLineBPM == nil {
		text = before.redText() + " BPM to none"
	}
	if after.MaxSafeBPM == before.MaxSafeBPM && after.Safe == before.Safe {
		return text
	}
	if after.Stopped && (!after.Safe || after.MaxSafeBPM < before.MaxSafeBPM || !before.Safe) {
		text += ": " + w.findingPlace(after.Stop)
	} else if before.Stopped {
		text += ": no longer " + w.findingPlace(before.Stop)
	}
	return say.Steady(text)
}

func (s Standing) redText() string {
	switch {
	case len(s.Unknown) > 0:
		return "unknown"
	case s.RedLineBPM == nil:
		return "none"
	}
	return say.TempoDown(*s.RedLineBPM)
}

// findingPlace names the channel and the place in the music of a finding.
func (w *Works) findingPlace(f Finding) string {
	place := w.Machine.Wheel.PlaceText(f.Step)
	if f.Channel < 0 {
		return place
	}
	return w.Machine.Channels[f.Channel].Name + ", " + place
}
