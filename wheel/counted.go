package wheel

// Count is a number of things in a file, at least 1. The zero value is one that
// was left out; a 0 that stands in a file is refused.
type Count int

// The most beats in a bar and the most steps in a beat.
const (
	MaxBeatsPerBar  = 64
	MaxStepsPerBeat = 96
)

// CountedFor is the machine with its wheel counted in the bars of a pinning: m
// itself where the pinning has none of its own. Only the names of places depend
// on it.
func (m *Machine) CountedFor(p *Pinning) *Machine {
	if p.BeatsPerBar == 0 || int(p.BeatsPerBar) == m.Wheel.BeatsPerBar {
		return m
	}
	counted := *m
	counted.Wheel.BeatsPerBar = int(p.BeatsPerBar)
	return &counted
}

// checkCounts checks how a pinning's music is counted.
func (p *Pinning) checkCounts(c *checker) {
	if p.StepsPerBeat != 0 {
		c.count("steps_per_beat", int(p.StepsPerBeat), 1, MaxStepsPerBeat)
	}
	if p.BeatsPerBar != 0 {
		c.count("beats_per_bar", int(p.BeatsPerBar), 1, MaxBeatsPerBar)
	}
}
