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
	playing, resting [allKeys][]int32
}

// newKeyMap is that of a machine's channels of one kind, or of all.
func newKeyMap(m *wheel.Machine, kind wheel.ChannelKind) *keyMap {
	km := &keyMap{}
	for i := range m.Channels {
		c := &m.Channels[i]
		if kind != "" && c.Kind != kind {
			continue
		}
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

// octave is the key nearest to a melodic one, some octaves off, that a channel
// in service has, and its channels; none where there is no such key.
func (km *keyMap) octave(k key) (near key, choices []int32) {
	for off := 12; off < keys; off += 12 {
		for _, d := range [2]int{off, -off} {
			if to, ok := k.moved(d); ok && len(km.playing[to]) > 0 {
				return to, km.playing[to]
			}
		}
	}
	return 0, nil
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
