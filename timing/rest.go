package timing

// Rest is the least time in seconds between two pins of a channel that follow
// each other, at a step period in seconds, so that the channel breaks no rule
// by itself. A time between pins met exactly is safe; [Works.Hold] has to be
// passed in steps as well.
func (w *Works) Rest(channel int, periodS float64) (seconds float64) {
	for _, a := range w.rules.asks[channel] {
		seconds = max(seconds, a.arc*periodS+a.needS)
	}
	for k := range w.rules.pairs {
		of := &w.rules.pairs[k]
		if !of.ownToo {
			continue
		}
		for _, v := range of.visits[channel] {
			seconds = max(seconds, of.rule.need(w, v.Passage, v.Passage))
		}
	}
	return seconds
}

// Hold is the arc over which a pin holds the lever of a channel, in steps.
// Pins no farther apart than that are forbidden at any tempo.
func (w *Works) Hold(channel int) (steps float64) {
	for _, a := range w.rules.asks[channel] {
		steps = max(steps, a.arc)
	}
	return steps
}
