package crank

import (
	"fmt"

	"pinwright/wheel/say"
)

// rippleSays is a ripple in words, or why there is none.
func (m *Measured) rippleSays(perTurn int) string {
	if !m.RippleOK {
		return m.RippleNo
	}
	return fmt.Sprintf("Ripple: %s %% once a turn, %s %% twice a turn, measured over %s. The crank is fastest near mark %d of %d, counted from the sensor’s 0. Marks that are spaced unevenly on the disc look just the same: to find out, turn the disc on its shaft and measure again.",
		say.Rounded(100*m.Ripple.Once, 1), say.Rounded(100*m.Ripple.Twice, 1), say.Count(m.Ripple.Turns, "turn", "turns"), m.Ripple.FastestN, perTurn)
}

// lateMost is how much of the time from mark to mark a time may be out of place
// before that is worth saying.
const lateMost = 0.1

// notes say what was wrong with the marks that a measurement is based on, one
// sentence or two for each.
func (m *Measured) notes(perTurn int, turnBeats float64) []string {
	notes := []string{}
	add := func(format string, values ...any) { notes = append(notes, fmt.Sprintf(format, values...)) }
	if m.WanderOK && m.WanderMixed {
		add("The sensor’s counts do not come at the same places in every turn of the crank, so the wander may have ripple in it.")
	}
	if perTurn < MinRippleMarks {
		return notes
	}
	f := m.Ripple.Faults
	if f.Missed > 0 {
		add("The sensor missed %s: one span took as long as two. The count was corrected.", say.Count(f.Missed, "mark", "marks"))
	}
	if f.Doubled > 0 {
		add("The sensor counted %s twice. The count was corrected.", say.Count(f.Doubled, "mark", "marks"))
	}
	if f.Lost > 0 && m.RippleOK {
		add("%s did not arrive, though the sensor counted on.", say.Capital(say.Count(f.Lost, "mark", "marks")))
	}
	if !m.RippleOK {
		return notes
	}
	if markS := 60 / m.BPM * turnBeats / float64(perTurn); m.Ripple.JitterS > lateMost*markS {
		add("The marks’ times scatter by about %s ms, where a mark comes every %s ms. If the sensor sends its own times (at_s), they scatter less.",
			say.Rounded(1000*m.Ripple.JitterS, 0), say.Rounded(1000*markS, 0))
	}
	if m.Ripple.UnevenD > 0 {
		add("Marks come up to %s° early or late in every turn, which is more than ripple once and twice a turn explains. They are probably spaced unevenly on the disc.", say.Rounded(m.Ripple.UnevenD, 1))
	}
	return notes
}
