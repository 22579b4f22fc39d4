package timing

import "pinwright/wheel"

// CountedFor is the machine worked out, with its wheel counted in the bars of a
// pinning ([wheel.Machine.CountedFor]), so that sentences name places as the
// pinning's music counts them.
func (w *Works) CountedFor(p *wheel.Pinning) *Works {
	m := w.Machine.CountedFor(p)
	if m == w.Machine {
		return w
	}
	counted := *w
	counted.Machine = m
	return &counted
}
