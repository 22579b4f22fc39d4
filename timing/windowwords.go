package timing

import (
	"fmt"
	"pinwright/wheel/say"
)

// lowSentence says what ends a window below: which chord, where.
func (w *Works) lowSentence(win Window) string {
	switch {
	case win.nowhere():
		return fmt.Sprintf("Chords hold together at no tempo. At %s BPM %s.", say.TempoUp(w.Machine.Limits.TempoMinBPM), w.spreadWords(win.LowChord))
	case win.Low == SpreadBelow:
		return fmt.Sprintf("Below %s BPM %s.", say.TempoUp(win.FromBPM), w.spreadMore(win.LowChord))
	}
	return fmt.Sprintf("Chords hold together down to %s BPM, the machine's lowest tempo.", say.TempoUp(win.FromBPM))
}

// highSentence says what ends a window above: which rule or which chord, where.
func (w *Works) highSentence(win Window) string {
	switch {
	case win.nowhere():
		return fmt.Sprintf("At %s BPM %s.", say.TempoDown(w.Machine.Limits.TempoMaxBPM), w.spreadWords(win.HighChord))
	case win.MaxSafeBPM == 0:
		return fmt.Sprintf("No tempo is safe, not even %s BPM. %s", say.TempoUp(w.Machine.Limits.TempoMinBPM), w.stopWords(win))
	case win.High == SpreadAbove:
		return fmt.Sprintf("Above %s BPM %s.", say.TempoDown(win.ToBPM), w.spreadMore(win.HighChord))
	}
	safe := say.TempoDown(win.MaxSafeBPM)
	if win.Margin() >= 1 {
		return fmt.Sprintf("The highest safe tempo is %s BPM, and a margin of %s leaves no tempo below it.", safe, win.marginWords())
	}
	margin := fmt.Sprintf("The window ends below the highest safe tempo, %s BPM, by a margin of %s.", safe, win.marginWords())
	if !win.StopOK {
		return margin + " No rule is broken up to the highest safe tempo, which is also the machine's highest."
	}
	return margin + " What limits the highest safe tempo: " + w.stopWords(win)
}

// closedSentence says why a window is not open; empty where it is.
func (w *Works) closedSentence(win Window) string {
	switch {
	case win.Open:
		return ""
	case win.MaxSafeBPM == 0:
		return "There is no window: no tempo is safe."
	case win.nowhere():
		return "There is no window: chords hold together at no tempo."
	case win.High == SpreadAbove || win.ToBPM < w.Machine.Limits.TempoMinBPM && win.Low == MachineLowest:
		return fmt.Sprintf("There is no window: it would begin at %s BPM and end at %s.", say.TempoUp(win.FromBPM), say.TempoDown(win.ToBPM))
	}
	if win.FromBPM > win.MaxSafeBPM {
		return fmt.Sprintf("There is no window: chords hold together only from %s BPM, and the highest safe tempo is %s BPM.",
			say.TempoUp(win.FromBPM), say.TempoDown(win.MaxSafeBPM))
	}
	return fmt.Sprintf("There is no window: chords hold together only from %s BPM, and the margin below the highest safe tempo leaves tempos up to %s BPM.",
		say.TempoUp(win.FromBPM), say.TempoDown(win.ToBPM))
}

// nowhere is true where chords hold together at no tempo.
func (w Window) nowhere() bool {
	return w.Low == SpreadBelow && w.High == SpreadAbove && w.FromBPM == 0
}

// marginWords is what the margin is made of.
func (w Window) marginWords() string {
	words := say.Rounded(w.Own*100, 1) + " %"
	if w.Wander > 0 {
		words += fmt.Sprintf(" and three times the crank's wander of %s", say.Rounded(w.Wander*100, 1)+" %")
	}
	return words
}

// stopWords says what ends the safe tempos, and whose bars its places are.
func (w *Works) stopWords(win Window) string {
	switch {
	case !win.StopOK:
		return "The rule that is broken there has no one place on the wheel."
	case win.MaxSafeBPM == 0:
		return w.Sentence(win.Stop) + " (bars of the wheel)."
	}
	return w.LimitSentence(win.Stop) + " (bars of the wheel)."
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
