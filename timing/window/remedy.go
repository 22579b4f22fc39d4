package window

import (
	"fmt"
	"strings"

	"pinwright/timing"
	"pinwright/wheel/say"
)

// Remedy says what to do about a song of a programme whose tempo is not safe: the
// tempo to give it or, where none is safe, what stops it at the machine's lowest.
func Remedy(works *timing.Works, turn *timing.Turn, programme string) (says []string) {
	if redLine, ok := turn.MaxSafe(); ok {
		return []string{fmt.Sprintf("Give it %s BPM or less in the programme %s, and keep the programme.", say.TempoDown(redLine), programme)}
	}
	lowest := works.Machine.Limits.TempoMinBPM
	if first, found := turn.First(lowest); found {
		says = append(says, fmt.Sprintf("Not even %s BPM is safe: %s.", say.Tempo(lowest), strings.TrimSuffix(works.Sentence(first), ".")))
	}
	return append(says, fmt.Sprintf("Mend what stops it, or put another song in its place in the programme %s.", programme))
}
