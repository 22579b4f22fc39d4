package window

import (
	"fmt"
	"strings"

	"pinwright/timing"
	"pinwright/wheel/say"
)

// Remedy says what to do about a song of a programme that visitors are not asked
// to turn at its tempo: the tempo to give it or, where none can be trusted, what
// stands in the way at the machine's lowest.
func Remedy(works *timing.Works, turn *timing.Turn, margin float64, programme string) (says []string) {
	lowest := works.Machine.Limits.TempoMinBPM
	other := fmt.Sprintf("put another song in its place in the programme %s.", programme)
	switch win := turn.Window(margin); {
	case win.Unknown:
		return []string{"Measure what is unknown and write it into the machine’s file, or " + other}
	case win.TopBPM >= lowest:
		return []string{fmt.Sprintf("Give it %s BPM or less in the programme %s, and keep the programme.", say.TempoDown(win.TopBPM), programme)}
	case win.RedLineBPM > 0:
		return []string{fmt.Sprintf("The margin leaves no tempo at which the machine turns: its slowest is %s BPM. Make the margin smaller, or %s", say.TempoUp(lowest), other)}
	case win.MaxSafeBPM > 0:
		return []string{win.Fastest, "Mend or measure what most faults come from, or " + other}
	}
	if first, found := turn.First(lowest); found {
		says = append(says, fmt.Sprintf("Not even %s BPM is safe: %s.", say.Tempo(lowest), strings.TrimSuffix(works.Sentence(first), ".")))
	}
	return append(says, "Mend what stops it, or "+other)
}
