package window

import (
	"fmt"
	"strings"

	"pinwright/timing"
	"pinwright/wheel/say"
)

// Remedy says what to do about a song of a programme that visitors are not asked
// to turn at its tempo: the tempo to give it or, where none is safe, what stops it
// at the machine's lowest.
func Remedy(works *timing.Works, turn *timing.Turn, margin float64, programme string) (says []string) {
	lowest := works.Machine.Limits.TempoMinBPM
	switch win := turn.Window(margin); {
	case win.TopBPM >= lowest:
		return []string{fmt.Sprintf("Give it %s BPM or less in the programme %s, and keep the programme.", say.TempoDown(win.TopBPM), programme)}
	case win.MaxSafeBPM > 0:
		return []string{fmt.Sprintf("The margin leaves no tempo at which the machine turns: its slowest is %s BPM. Make the margin smaller, or put another song in its place in the programme %s.", say.TempoUp(lowest), programme)}
	}
	if first, found := turn.First(lowest); found {
		says = append(says, fmt.Sprintf("Not even %s BPM is safe: %s.", say.Tempo(lowest), strings.TrimSuffix(works.Sentence(first), ".")))
	}
	return append(says, fmt.Sprintf("Mend what stops it, or put another song in its place in the programme %s.", programme))
}
