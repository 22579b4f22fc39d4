package timing

// Rest is the least time in seconds between two pins of a channel that follow
// each other, at a step period in seconds, so that the channel breaks no rule
// by itself. A time between pins met exactly is safe; [Works.Hold] has to be
// passed in steps as well.
func (w *Works) Rest(channel int, periodS float64) (seconds float64) {
	c := &w.Channels[channel]
	need := max(c.Reload, c.Clear, c.Hold*periodS+c.Return)
	for _, p := range c.Passages {
		need = max(need, w.Need(p, p))
	}
	return need
}

// Hold is the arc over which a pin holds the lever of a channel, in steps.
// Pins no farther apart than that are forbidden at any tempo.
func (w *Works) Hold(channel int) (steps float64) { return w.Channels[channel].Hold }
