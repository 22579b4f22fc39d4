package timing

import (
	"fmt"
	"strings"

	"pinwright/wheel/say"
)

// lowSentence says what ends a window below: which chord, where.
func (w *Works) lowSentence(win Window) string {
	switch {
	case win.Unknown:
		return "While figures are unknown nothing can be said of its chords either."
	case win.nowhere():
		return fmt.Sprintf("Chords hold together at no tempo. At %s BPM %s.", say.TempoUp(w.Machine.Limits.TempoMinBPM), w.spreadWords(win.LowChord))
	case win.Low == SpreadBelow:
		return fmt.Sprintf("Below %s BPM %s.", say.TempoUp(win.FromBPM), w.spreadMore(win.LowChord))
	}
	return fmt.Sprintf("Chords hold together down to %s BPM, the machine's lowest tempo.", say.TempoUp(win.FromBPM))
}

// highSentence says what ends a window above: the red line, with what it comes
// from, or which chord, where.
func (w *Works) highSentence(win Window) string {
	switch {
	case win.Unknown:
		return w.UnknownSentence(win.Standing.Unknown)
	case win.MaxSafeBPM == 0:
		return fmt.Sprintf("No tempo is safe, not even %s BPM. %s", say.TempoUp(w.Machine.Limits.TempoMinBPM), w.stopWords(win))
	case win.RedLineBPM == 0:
		return w.noTrustSentence(win)
	case win.nowhere():
		return fmt.Sprintf("At %s BPM %s.", say.TempoDown(w.Machine.Limits.TempoMaxBPM), w.spreadWords(win.HighChord))
	case win.High == SpreadAbove:
		return fmt.Sprintf("Above %s BPM %s.", say.TempoDown(win.ToBPM), w.spreadMore(win.HighChord))
	case win.Own >= 1:
		return fmt.Sprintf("The red line is at %s BPM, and a margin of %s leaves no tempo below it.", say.TempoDown(win.RedLineBPM), win.marginWords())
	}
	return fmt.Sprintf("The window ends %s below the red line at %s BPM. %s", win.marginWords(), say.TempoDown(win.RedLineBPM), w.redLineSentence(win))
}

// redLineSentence says what the red line comes from: the house, keep-below or the
// bare limit.
func (w *Works) redLineSentence(win Window) string {
	switch {
	case win.Standing.ByHouse():
		says := "That is the limit that the house has set"
		if why := w.Machine.Limits.HouseWhy; why != "" {
			says += ": " + strings.TrimSuffix(why, ".")
		}
		return says + "."
	case win.KeepBelowBPM < win.MaxSafeBPM:
		return "Above it more faults are expected than the machine's limits allow." + w.worstSentence(win)
	case !win.Standing.Stopped:
		return "That is the machine's highest tempo, and no rule is broken up to it."
	}
	return "That is the bare limit. What limits it: " + w.stopWords(win)
}

// noTrustSentence says that no tempo can be trusted, and what adds most to the
// faults to be expected at the slowest.
func (w *Works) noTrustSentence(win Window) string {
	return fmt.Sprintf("No tempo can be trusted: even at %s BPM more faults are expected than the machine's limits allow.%s", say.TempoUp(w.Machine.Limits.TempoMinBPM), w.worstSentence(win))
}

// worstSentence says what adds most to the faults that have to be expected, with
// a space before it.
func (w *Works) worstSentence(win Window) string {
	if !win.WorstOK {
		return ""
	}
	return " Most of them: " + w.ContributionSentence(win.Worst) + " (bars of the wheel)."
}

// closedSentence says why a window is not open; empty where it is.
func (w *Works) closedSentence(win Window) string {
	switch {
	case win.Open:
		return ""
	case win.Unknown:
		return "There is no window while figures are unknown."
	case win.MaxSafeBPM == 0:
		return "There is no window: no tempo is safe."
	case win.RedLineBPM == 0:
		return "There is no window: no tempo can be trusted."
	case win.nowhere():
		return "There is no window: chords hold together at no tempo."
	case win.High == SpreadAbove || win.ToBPM < w.Machine.Limits.TempoMinBPM && win.Low == MachineLowest:
		return fmt.Sprintf("There is no window: it would begin at %s BPM and end at %s.", say.TempoUp(win.FromBPM), say.TempoDown(win.ToBPM))
	}
	if win.FromBPM > win.RedLineBPM {
		return fmt.Sprintf("There is no window: chords hold together only from %s BPM, and the red line is at %s BPM.",
			say.TempoUp(win.FromBPM), say.TempoDown(win.RedLineBPM))
	}
	return fmt.Sprintf("There is no window: chords hold together only from %s BPM, and the margin below the red line leaves tempos up to %s BPM.",
		say.TempoUp(win.FromBPM), say.TempoDown(win.ToBPM))
}

// nowhere is true where chords hold together at no tempo.
func (w Window) nowhere() bool {
	return w.Low == SpreadBelow && w.High == SpreadAbove && w.FromBPM == 0
}

func (w Window) marginWords() string { return say.Rounded(w.Own*100, 1) + " %" }

// stopWords says what ends the safe tempos, and whose bars its places are.
func (w *Works) stopWords(win Window) string {
	switch {
	case !win.Standing.Stopped:
		return "The rule that is broken there has no one place on the wheel."
	case win.MaxSafeBPM == 0:
		return w.Sentence(win.Standing.Stop) + " (bars of the wheel)."
	}
	return w.LimitSentence(win.Standing.Stop) + " (bars of the wheel)."
}

// chordNames is a chord's place and who is first and last of it.
func (w *Works) chordNames(c ChordFlam) (place, first, last string) {
	name := func(m ChordMember) string { return w.Machine.Channels[m.Channel].Name }
	return w.Machine.Wheel.PlaceText(c.Step) + " of the wheel", name(c.Members[0]), name(c.Members[len(c.Members)-1])
}

func (w *Works) spreadWords(c ChordFlam) string {
	place, first, last := w.chordNames(c)
	return fmt.Sprintf("the chord at %s spreads by %s: %s comes first and %s last", place, say.MS(c.SpreadS*1000), first, last)
}

func (w *Works) spreadMore(c ChordFlam) string {
	place, first, last := w.chordNames(c)
	return fmt.Sprintf("the chord at %s spreads by more than %s ms: %s comes first and %s last", place, say.Number(w.Machine.Limits.FlamMS), first, last)
}
