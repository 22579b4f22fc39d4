package song

import (
	"cmp"
	"slices"
)

// byPlace orders notes by tick, track, channel and key.
func byPlace(a, b Note) int {
	if a.Tick != b.Tick {
		return cmp.Compare(a.Tick, b.Tick)
	}
	if a.Track != b.Track {
		return cmp.Compare(a.Track, b.Track)
	}
	return cmp.Compare(int(a.Channel)<<7|int(a.Key), int(b.Channel)<<7|int(b.Key))
}

// sortChords brings notes that are in order of tick into order of place.
func sortChords(notes []Note) {
	for start := 0; start < len(notes); {
		end := start + 1
		for end < len(notes) && notes[end].Tick == notes[start].Tick {
			end++
		}
		if chord := notes[start:end]; !slices.IsSortedFunc(chord, byPlace) {
			slices.SortStableFunc(chord, byPlace)
		}
		start = end
	}
}

// merge joins runs of notes, each in order of place, into one. It takes
// O(notes × log runs), where a sort would take O(notes × log notes).
func merge(runs [][]Note) []Note {
	if len(runs) == 1 {
		return runs[0]
	}
	total := 0
	for _, run := range runs {
		total += len(run)
	}
	merged := make([]Note, total)
	mergeInto(merged, make([]Note, total), runs)
	return merged
}

// mergeInto merges runs into a place of their joint length, by way of a spare
// one as long.
func mergeInto(place, spare []Note, runs [][]Note) {
	switch len(runs) {
	case 0:
		return
	case 1:
		copy(place, runs[0])
		return
	}
	half, split := len(runs)/2, 0
	for _, run := range runs[:half] {
		split += len(run)
	}
	a, b := spare[:split], spare[split:]
	mergeInto(a, place[:split], runs[:half])
	mergeInto(b, place[split:], runs[half:])
	for i := range place {
		if len(b) == 0 || len(a) > 0 && byPlace(a[0], b[0]) <= 0 {
			place[i], a = a[0], a[1:]
		} else {
			place[i], b = b[0], b[1:]
		}
	}
}
