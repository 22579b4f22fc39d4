package timing

import (
	"pinwright/wheel/say"
)

// Unknown lists the figures that the machine's file leaves out and on which
// times of the pins on the wheel depend: see [wheel.Machine.Unknown]. While
// there are any, nothing is safe.
func (t *Turn) Unknown() []string { return t.works.Machine.Unknown(t.hasPins) }

// Assumed lists the figures that count for the pins on the wheel and of which
// spread or doubt is assumed: see [wheel.Machine.Assumed].
func (t *Turn) Assumed() []string { return t.works.Machine.Assumed(t.hasPins) }

func (t *Turn) hasPins(channel int) bool { return t.rows[channel].pins > 0 }

// isKnown reports whether all figures are given on which times of the pins on
// the wheel depend.
func (t *Turn) isKnown() bool {
	for i := range t.rows {
		if t.rows[i].pins > 0 && !t.works.Channels[i].AllKnown {
			return false
		}
	}
	return true
}

// AtBest is what the bare limit would be, in beats per minute, with figures that
// are unknown at 0 and unknown lanes taking no time: it can only be lower. ok is
// false where there would be none, or a marble would stall.
func (t *Turn) AtBest() (bpm float64, ok bool) {
	t.scan()
	for i := range t.rows {
		if t.rows[i].pins > 0 && t.works.Channels[i].stalls {
			return 0, false
		}
	}
	return maxSafe(t.bands(), t.works.Machine.Limits.TempoMinBPM)
}

// causeKnown reports whether all figures are given that a cause depends on.
func (w *Works) causeKnown(c cause) bool {
	if c.channel < 0 || w.Channels[c.channel].AllKnown && (c.other < 0 || w.Channels[c.other].AllKnown) {
		return true
	}
	switch r := w.rules.all[c.rule].(type) {
	case followRule:
		if c.channel == c.other {
			return r.known(&w.Channels[c.channel])
		}
	case loneRule:
		return true
	}
	q, ok := w.pairOf(w.unpack(c))
	return ok && q.a.Known && q.b.Known
}

// UnknownSentence says which figures have to be measured before anything can be
// called safe: the first two by name, and how many more.
func (w *Works) UnknownSentence(paths []string) string {
	if len(paths) == 0 {
		return ""
	}
	const named = 2
	var names []string
	for _, path := range paths[:min(len(paths), named)] {
		names = append(names, w.figureName(path))
	}
	if more := len(paths) - len(names); more > 0 {
		names = append(names, say.Count(more, "more figure", "more figures"))
	}
	while := "it is"
	if len(paths) > 1 {
		while = "they are"
	}
	return "Measure first: " + say.List(names) + ". While " + while + " unknown, no tempo can be called safe."
}

// figureName is a figure as a sentence names it.
func (w *Works) figureName(path string) string {
	f, err := w.Machine.Figure(path)
	if err != nil {
		return path
	}
	return "the " + f.Label
}
