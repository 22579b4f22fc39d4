package arrange

import "pinwright/wheel"

const (
	keys    = 128      // MIDI keys
	allKeys = 2 * keys // melodic ones, then percussion
)

// key is a MIDI key, with 128 added for percussion.
type key uint8

func (k key) drum() bool { return k >= keys }

// moved is the key so many semitones higher. Percussion stays. It is not ok
// where MIDI has no such key.
func (k key) moved(semitones int) (to key, ok bool) {
	if k.drum() {
		return k, true
	}
	n := int(k) + semitones
	return key(n), n >= 0 && n < keys
}

// keyMap is who plays what: the channels of every key, in file order.
type keyMap struct {
	channels         int
	playing, resting [allKeys][]int32
}

func newKeyMap(m *wheel.Machine) *keyMap {
	km := &keyMap{channels: len(m.Channels)}
	for i := range m.Channels {
		c := &m.Channels[i]
		rows := &km.playing
		if c.Service == wheel.Resting {
			rows = &km.resting
		}
		for _, n := range c.Keys {
			k := key(n)
			if c.Drum {
				k += keys
			}
			rows[k] = append(rows[k], int32(i))
		}
	}
	return km
}

// keysMeet reports whether some melodic channel in service has several keys.
func (km *keyMap) keysMeet() bool {
	seen := make([]bool, km.channels)
	for _, channels := range km.playing[:keys] {
		for _, c := range channels {
			if seen[c] {
				return true
			}
			seen[c] = true
		}
	}
	return false
}

// has reports whether any channel, in service or not, plays percussion or
// melodic keys.
func (km *keyMap) has(drum bool) bool {
	from := 0
	if drum {
		from = keys
	}
	for k := from; k < from+keys; k++ {
		if len(km.playing[k])+len(km.resting[k]) > 0 {
			return true
		}
	}
	return false
}
