package arrange

import (
	"pinwright/wheel"
	"pinwright/wheel/song"
)

// voice is a key of the song as one class of parts has it: class<<8 | key.
type voice uint32

func newVoice(class int, k key) voice { return voice(class)<<8 | voice(k) }

func (v voice) key() key   { return key(v) }
func (v voice) class() int { return int(v >> 8) }

// class is the parts that one rule holds for, and who may play them.
type class struct {
	PartRule
	keys *keyMap // of its group
}

// voices are the classes of a request on a machine. Class 0 is the parts
// without a rule.
type voices struct {
	all        *keyMap // of the whole machine
	classes    []class
	of         map[song.Part]int
	percussion map[int]int
}

func newVoices(m *wheel.Machine, r Request) *voices {
	all := newKeyMap(m, "")
	groups := map[wheel.ChannelKind]*keyMap{"": all}
	vs := &voices{all: all, classes: []class{{keys: all}}, of: map[song.Part]int{}, percussion: r.Percussion}
	same := map[PartRule]int{{}: 0}
	for _, rule := range r.Parts {
		part := rule.Part
		rule.Part = song.Part{}
		i, ok := same[rule]
		if !ok {
			if groups[rule.Group] == nil {
				groups[rule.Group] = newKeyMap(m, rule.Group)
			}
			i = len(vs.classes)
			same[rule] = i
			vs.classes = append(vs.classes, class{rule, groups[rule.Group]})
		}
		vs.of[part] = i
	}
	return vs
}

// count is how many voices there can be.
func (vs *voices) count() int { return len(vs.classes) * allKeys }

// voiceOf is a note's voice; ok is false where its part is off.
func (vs *voices) voiceOf(n song.Note) (v voice, ok bool) {
	i := 0
	if len(vs.of) > 0 {
		i = vs.of[n.Part()]
	}
	k := key(n.Key)
	if n.Drum() {
		k += keys
	}
	return newVoice(i, k), !vs.classes[i].Off
}

// on reports whether a note's part is played.
func (vs *voices) on(n song.Note) bool {
	_, ok := vs.voiceOf(n)
	return ok
}

// pitch is where a voice lies among those of its onset: its key with its
// octaves, and far below all for percussion.
func (vs *voices) pitch(v voice) int {
	if v.key().drum() {
		return -1 << 20
	}
	return int(v.key()) + 12*vs.classes[v.class()].Octaves
}

// fate is what becomes of a voice's notes.
type fate uint8

const (
	plays      fate = iota // on channels that have its key
	substitute             // on channels that its part's rule or the percussion table gives it instead
	rests                  // only resting channels have it
	silenced               // the percussion table leaves it out
	lost                   // no channel has it
)

// casting is who may play a voice.
type casting struct {
	fate    fate
	choices []int32 // in file order; none unless the notes are played
	wanted  int     // the key after octaves and transposition; −1 beyond MIDI's keys
	key     key     // that plays it
	resting int32   // the first resting channel that has the key
}

// cast gives a voice its channels at a transposition.
func (vs *voices) cast(v voice, semitones int) casting {
	c := &vs.classes[v.class()]
	from := v.key()
	k, ok := from.moved(semitones + 12*c.Octaves)
	if !ok {
		return casting{fate: lost, wanted: -1}
	}
	cast := casting{wanted: int(k % keys), key: k}
	if from.drum() {
		if to, given := vs.percussion[int(from-keys)]; given {
			if to == Silence {
				cast.fate = silenced
				return cast
			}
			k = keys + key(to)
			cast.key = k
		}
	}
	cast.choices = c.keys.playing[k]
	if len(cast.choices) > 0 {
		if k != from && from.drum() {
			cast.fate = substitute
		}
		return cast
	}
	cast.fate = substitute
	if c.SamePitch {
		if cast.choices = vs.all.playing[k]; len(cast.choices) > 0 {
			return cast
		}
	}
	if c.Octave && !k.drum() {
		if cast.key, cast.choices = c.keys.octave(k); len(cast.choices) > 0 {
			return cast
		}
		cast.key = k
	}
	if resting := c.keys.resting[k]; len(resting) > 0 {
		cast.fate, cast.resting = rests, resting[0]
		return cast
	}
	cast.fate = lost
	return cast
}
