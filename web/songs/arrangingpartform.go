package songs

import (
	"fmt"
	"maps"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"pinwright/wheel"
	"pinwright/wheel/arrange"
	"pinwright/wheel/say"
	"pinwright/wheel/song"
)

// partForm is what the form says of one part.
type partForm struct {
	Off                 bool
	Group, Octave, Lack string
}

// What a part's key can get that no channel of its group has.
const (
	lackSame   = "same"   // any other channel that has the key
	lackOctave = "octave" // the nearest octave
	lackBoth   = "both"   // the first of the two that helps
)

// readParts reads play_T_C, group_T_C, octave_T_C and lack_T_C: T the track,
// from 1, and C the MIDI channel. A browser sends nothing for a box that is not
// ticked, so a form that has boxes says parts=1.
func (f *setForm) readParts(v url.Values) {
	boxes := v.Get("parts") == "1"
	for _, name := range slices.Sorted(maps.Keys(v)) {
		field, rest, _ := strings.Cut(name, "_")
		switch field {
		case "play", "group", "octave", "lack":
		default:
			continue
		}
		part, ok := readPart(rest)
		if !ok {
			f.wrong = append(f.wrong, fmt.Sprintf("The form has a field %q; a part is named by its track and its MIDI channel, as in %s_1_10.", say.Short(name), field))
			continue
		}
		p, known := f.Parts[part]
		if !known {
			p.Off = boxes && !v.Has("play_"+rest)
		}
		switch value := strings.TrimSpace(v.Get(name)); field {
		case "play":
			p.Off = value == "off"
		case "group":
			p.Group = value
		case "octave":
			p.Octave = value
		case "lack":
			p.Lack = value
		}
		f.Parts[part] = p
	}
}

func partName(p song.Part) string { return fmt.Sprintf("%d_%d", p.Track+1, p.Channel) }

func readPart(text string) (song.Part, bool) {
	track, channel, _ := strings.Cut(text, "_")
	t, err := strconv.Atoi(track)
	c, err2 := strconv.Atoi(channel)
	p := song.Part{Track: t - 1, Channel: uint8(c)}
	return p, err == nil && err2 == nil && t >= 1 && c >= 1 && c <= 16 && partName(p) == text
}

// partRules is a rule for every part that is not played as it is.
func (f *setForm) partRules(s *song.Song) (rules []arrange.PartRule, wrong []wrongField) {
	facts := s.Parts()
	known := map[song.Part]bool{}
	for _, p := range facts {
		known[p.Part] = true
		form, ok := f.Parts[p.Part]
		if !ok {
			continue
		}
		rule, problem := form.rule(p)
		if problem != (wrongField{}) {
			wrong = append(wrong, problem)
		}
		if rule != (arrange.PartRule{Part: p.Part}) {
			rules = append(rules, rule)
		}
	}
	for _, p := range slices.SortedFunc(maps.Keys(f.Parts), comparePart) {
		if !known[p] {
			wrong = append(wrong, wrongField{"", fmt.Sprintf("The song has no part on MIDI channel %d in track %d; it has %s: %s.",
				p.Channel, p.Track+1, say.Count(len(facts), "part", "parts"), say.List(partWords(facts)))})
			break
		}
	}
	return rules, wrong
}

func comparePart(a, b song.Part) int {
	if a.Track != b.Track {
		return a.Track - b.Track
	}
	return int(a.Channel) - int(b.Channel)
}

func partWords(facts []song.PartFacts) (words []string) {
	for _, p := range facts {
		words = append(words, fmt.Sprintf("track %d channel %d", p.Track+1, p.Channel))
	}
	return words
}

func (p partForm) rule(facts song.PartFacts) (rule arrange.PartRule, wrong wrongField) {
	rule = arrange.PartRule{Part: facts.Part, Off: p.Off, Group: wheel.ChannelKind(p.Group)}
	switch p.Lack {
	case "":
	case lackSame:
		rule.SamePitch = true
	case lackOctave:
		rule.Octave = true
	case lackBoth:
		rule.SamePitch, rule.Octave = true, true
	default:
		wrong = wrongField{"lack_" + partName(facts.Part), fmt.Sprintf("What keys of %s get that have no channel is %q; it should be nothing, %s, %s or %s.", facts.Name, say.Short(p.Lack), lackSame, lackOctave, lackBoth)}
	}
	if p.Octave != "" {
		n, err := strconv.Atoi(strings.Replace(p.Octave, "−", "-", 1))
		if err != nil || n < -arrange.MaxOctaves || n > arrange.MaxOctaves {
			return rule, wrongField{"octave_" + partName(facts.Part), fmt.Sprintf("The octave shift of %s is %q; it should be a whole number from −%d to %d.", facts.Name, say.Short(p.Octave), arrange.MaxOctaves, arrange.MaxOctaves)}
		}
		rule.Octaves = n
	}
	return rule, wrong
}
