package arrange

import (
	"slices"

	"pinwright/wheel"
)

// PercussionNames are the instruments of the percussion key map of General MIDI
// System Level 1, keys 35 to 81.
var PercussionNames = map[int]string{
	35: "Acoustic Bass Drum", 36: "Bass Drum 1", 37: "Side Stick", 38: "Acoustic Snare", 39: "Hand Clap",
	40: "Electric Snare", 41: "Low Floor Tom", 42: "Closed Hi-Hat", 43: "High Floor Tom", 44: "Pedal Hi-Hat",
	45: "Low Tom", 46: "Open Hi-Hat", 47: "Low-Mid Tom", 48: "Hi-Mid Tom", 49: "Crash Cymbal 1",
	50: "High Tom", 51: "Ride Cymbal 1", 52: "Chinese Cymbal", 53: "Ride Bell", 54: "Tambourine",
	55: "Splash Cymbal", 56: "Cowbell", 57: "Crash Cymbal 2", 58: "Vibraslap", 59: "Ride Cymbal 2",
	60: "Hi Bongo", 61: "Low Bongo", 62: "Mute Hi Conga", 63: "Open Hi Conga", 64: "Low Conga",
	65: "High Timbale", 66: "Low Timbale", 67: "High Agogo", 68: "Low Agogo", 69: "Cabasa",
	70: "Maracas", 71: "Short Whistle", 72: "Long Whistle", 73: "Short Guiro", 74: "Long Guiro",
	75: "Claves", 76: "Hi Wood Block", 77: "Low Wood Block", 78: "Mute Cuica", 79: "Open Cuica",
	80: "Mute Triangle", 81: "Open Triangle",
}

// families are percussion keys that can stand for one another, each from high
// to low, and the families that can stand for all of one where the machine has
// none of it. Which sounds are alike is common practice, not part of the key
// map.
var families = []struct {
	keys      []int
	relatives []int // indices of families, nearest first
}{
	0: {[]int{36, 35}, []int{2}},                        // bass drums
	1: {[]int{40, 38, 39}, []int{4}},                    // snares and claps
	2: {[]int{50, 48, 47, 45, 43, 41}, []int{3, 0}},     // toms
	3: {[]int{60, 61, 65, 66, 62, 63, 64}, []int{2, 4}}, // drums played by hand
	4: {[]int{75, 76, 77, 37}, []int{1}},                // wood
	5: {[]int{42, 44, 46, 70, 69, 54}, []int{4}},        // hi-hats and shakers
	6: {[]int{55, 49, 57, 52, 51, 59, 53}, []int{7}},    // cymbals
	7: {[]int{81, 80, 67, 68, 56}, []int{6}},            // small metal
	8: {[]int{58, 71, 72, 73, 74, 78, 79}, nil},         // effects, for which nothing stands
}

// SuggestPercussion gives each percussion key of the General MIDI map that no
// channel in service has the nearest key of its family, or of a related one,
// that some channel has. Keys for which there is none are not in the answer.
func SuggestPercussion(m *wheel.Machine) map[int]int {
	km := newKeyMap(m, "")
	has := func(n int) bool { return len(km.playing[keys+n]) > 0 }
	table := map[int]int{}
	for _, f := range families {
		for at, from := range f.keys {
			if has(from) {
				continue
			}
			if to, ok := nearestOf(f.keys, at, has); ok {
				table[from] = to
				continue
			}
			for _, r := range f.relatives {
				// The same height in the other family.
				other := families[r].keys
				if to, ok := nearestOf(other, at*len(other)/len(f.keys), has); ok {
					table[from] = to
					break
				}
			}
		}
	}
	return table
}

// nearestOf is the key of a family nearest to a place in it for which has
// holds, of two as near the higher sounding.
func nearestOf(family []int, at int, has func(int) bool) (int, bool) {
	for d := range len(family) {
		for _, i := range [2]int{at - d, at + d} {
			if i >= 0 && i < len(family) && has(family[i]) {
				return family[i], true
			}
		}
	}
	return 0, false
}

// PercussionKeys are the percussion keys that some channel in service of a
// machine has, ascending.
func PercussionKeys(m *wheel.Machine) []int {
	km := newKeyMap(m, "")
	var has []int
	for n := range keys {
		if len(km.playing[keys+n]) > 0 {
			has = append(has, n)
		}
	}
	slices.Sort(has)
	return has
}
