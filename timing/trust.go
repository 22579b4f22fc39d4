package timing

import "pinwright/wheel"

// Trust says whether a pinning can be played at a tempo.
type Trust uint8

const (
	Unknown Trust = iota // a figure is unknown: nothing can be said
	NotSafe              // a rule is broken
	Trusted              // at or below the red line
	Close                // above the red line: no rule is broken if every figure is exact
)

func (t Trust) String() string { return [...]string{"unknown", "not safe", "trusted", "close"}[t] }

// Trust is the verdict at a tempo, in beats per minute.
func (t *Turn) Trust(tempoBPM float64) Trust {
	_, found := t.First(tempoBPM)
	return t.Standing().Trust(tempoBPM, found)
}

// Trust is the verdict at a tempo at which something was found or not: the first
// of unknown, not safe, trusted and close that applies.
func (s Standing) Trust(tempoBPM float64, found bool) Trust {
	switch {
	case len(s.Unknown) > 0:
		return Unknown
	case found:
		return NotSafe
	case s.RedLineBPM != nil && tempoBPM <= *s.RedLineBPM*(1+wheel.TempoSlack):
		return Trusted
	}
	return Close
}
