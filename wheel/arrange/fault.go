package arrange

import (
	"fmt"

	"pinwright/wheel/say"
)

// Word is the judgement in two words.
func (j Judgement) Word() string {
	switch {
	case j.Suits >= 0.9:
		return "suits well"
	case j.Suits >= 0.6:
		return "can be set"
	}
	return "suits poorly"
}

// Fault is the one thing that costs the song most, in a few words, or what easing
// did so that nothing does; empty where there is nothing to say.
func (j Judgement) Fault() string {
	silent, slow, loose := 1-j.sounding(), 1-j.pace(), 1-j.grid
	switch most := max(silent, slow, loose); {
	case j.Unmeasured != "":
		return "how fast is unknown"
	case most <= slight && j.LeftOut > 0:
		return say.Count(j.LeftOut, "note", "notes") + " left out"
	case most <= slight && j.EasedNotes > 0:
		return say.Count(j.EasedNotes, "note", "notes") + " moved"
	case most <= slight:
		return ""
	case j.redLine() == 0:
		return "no tempo to be trusted"
	case most == slow:
		return fmt.Sprintf("trusted to %s of %s BPM", say.TempoDown(j.redLine()), say.Tempo(j.TempoBPM))
	case most == silent:
		return percent(silent) + " of notes do not sound"
	}
	return "off the grid"
}

// slight is a share of a song's worth that nothing is said about.
const slight = 0.02

// sounding is the share of notes that sound after easing.
func (j Judgement) sounding() float64 { return j.Share - float64(j.LeftOut)/float64(j.Notes) }

// redLine is the tempo up to which it can be trusted after easing and the house
// lets it be played; 0 where there is none.
func (j Judgement) redLine() float64 {
	switch {
	case j.KeepBelowBPM == nil:
		return 0
	case j.HouseBPM != nil:
		return min(*j.KeepBelowBPM, *j.HouseBPM)
	}
	return *j.KeepBelowBPM
}

// pace is that tempo as a share of the song's, at most 1; 1 while it is unknown.
func (j Judgement) pace() float64 {
	if j.Unmeasured != "" {
		return 1
	}
	return min(1, j.redLine()/j.TempoBPM)
}
