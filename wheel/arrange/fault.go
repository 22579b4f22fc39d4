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
	case most <= slight && j.LeftOut > 0:
		return say.Count(j.LeftOut, "note", "notes") + " left out"
	case most <= slight && j.EasedNotes > 0:
		return say.Count(j.EasedNotes, "note", "notes") + " moved"
	case most <= slight:
		return ""
	case j.EasedBPM == nil:
		return "no safe tempo"
	case most == slow:
		return fmt.Sprintf("safe to %s of %s BPM", say.TempoDown(*j.EasedBPM), say.Tempo(j.TempoBPM))
	case most == silent:
		return percent(silent) + " of notes do not sound"
	}
	return "off the grid"
}

// slight is a share of a song's worth that nothing is said about.
const slight = 0.02

// sounding is the share of notes that sound after easing.
func (j Judgement) sounding() float64 { return j.Share - float64(j.LeftOut)/float64(j.Notes) }

// pace is the highest safe tempo after easing as a share of the tempo, at most 1.
func (j Judgement) pace() float64 {
	if j.EasedBPM == nil {
		return 0
	}
	return min(1, *j.EasedBPM/j.TempoBPM)
}
