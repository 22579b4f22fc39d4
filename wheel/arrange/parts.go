package arrange

import (
	"fmt"
	"slices"

	"pinwright/wheel"
	"pinwright/wheel/say"
	"pinwright/wheel/song"
)

// PartRule says what becomes of one part of the song. Its zero value, but for
// Part, is what a part without a rule gets: every channel that has a key may
// play it, and a key that none has is left out.
type PartRule struct {
	Part    song.Part
	Off     bool              // not played, and not counted
	Group   wheel.ChannelKind // the channels that play it; empty: all
	Octaves int               // −10 … 10, added to melodic keys before the transposition

	// What a key gets that no channel of the group in service has; where both
	// are set, the first that helps.
	SamePitch bool // any other channel that has the key
	Octave    bool // the nearest octave that some channel of the group has, of two the higher
}

// MaxOctaves is the farthest that a part is shifted, in octaves: no MIDI key
// is farther from another.
const MaxOctaves = 10

// Silence, as a value in [Request.Percussion], leaves a percussion key out.
const Silence = -1

// checkParts refuses rules that the song or the machine gives no sense to.
func (r Request) checkParts(m *wheel.Machine, s *song.Song) error {
	if len(r.Parts) == 0 {
		return nil
	}
	known := map[song.Part]string{}
	for _, p := range s.Parts() {
		known[p.Part] = p.Name
	}
	ruled := map[song.Part]bool{}
	for _, rule := range r.Parts {
		name, ok := known[rule.Part]
		switch {
		case !ok:
			return fmt.Errorf("the song has no part on MIDI channel %d in track %d; it has %s",
				rule.Part.Channel, rule.Part.Track+1, say.Count(len(known), "part", "parts"))
		case ruled[rule.Part]:
			return fmt.Errorf("there are two rules for %s, MIDI channel %d; a part has one", name, rule.Part.Channel)
		case rule.Octaves < -MaxOctaves || rule.Octaves > MaxOctaves:
			return fmt.Errorf("%s is shifted by %s octaves; it goes from −%d to %d", name, say.Whole(rule.Octaves), MaxOctaves, MaxOctaves)
		case rule.Group != "" && !hasKind(m, rule.Group):
			return fmt.Errorf("%s is sent to the channels of kind %.40q; %s has %s", name, rule.Group, m.Name, kindsOf(m))
		}
		ruled[rule.Part] = true
	}
	return nil
}

func (r Request) checkPercussion() error {
	for from, to := range r.Percussion {
		if from < 0 || from >= keys {
			return fmt.Errorf("the percussion table has key %s; MIDI has keys 0 to %d", say.Whole(from), keys-1)
		}
		if to != Silence && (to < 0 || to >= keys) {
			return fmt.Errorf("the percussion table sends key %d to key %s; MIDI has keys 0 to %d", from, say.Whole(to), keys-1)
		}
	}
	return nil
}

func hasKind(m *wheel.Machine, kind wheel.ChannelKind) bool {
	return slices.ContainsFunc(m.Channels, func(c wheel.Channel) bool { return c.Kind == kind })
}

// kindsOf is the kinds of channel that a machine has, in words.
func kindsOf(m *wheel.Machine) string {
	text := ""
	for _, kind := range Groups(m) {
		if text != "" {
			text += ", "
		}
		text += string(kind)
	}
	if text == "" {
		return "no channels"
	}
	return text
}

// Groups are the kinds of channel that a machine has, in the order of
// [wheel.ChannelKinds].
func Groups(m *wheel.Machine) []wheel.ChannelKind {
	var kinds []wheel.ChannelKind
	for _, kind := range wheel.ChannelKinds {
		if hasKind(m, kind) {
			kinds = append(kinds, kind)
		}
	}
	return kinds
}
