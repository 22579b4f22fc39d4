package songs

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"pinwright/wheel"
	"pinwright/wheel/arrange"
	"pinwright/wheel/say"
	"pinwright/wheel/song"
)

// mostParts is how many parts a page has fields for. A song with more is no
// music; those beyond are played as they are.
const mostParts = 200

// partRow is a part of the song and what the form says of it.
type partRow struct {
	song.PartFacts
	partForm
	Field string // names its fields: track and channel
}

// partRows are the parts by track; of too many, those that come first.
func partRows(s *song.Song, f *setForm) (rows []partRow) {
	facts := s.Parts()
	for _, p := range facts[:min(len(facts), mostParts)] {
		rows = append(rows, partRow{p, f.Parts[p.Part], partName(p.Part)})
	}
	slices.SortFunc(rows, func(a, b partRow) int { return comparePart(a.Part, b.Part) })
	return rows
}

// mostOpenParts is how many parts stand on the page without being asked for.
const mostOpenParts = 4

// openParts is how many parts stand on the page at once: all where something is
// wrong with a field of one, as that must be seen.
func (p songPage) openParts() int {
	if len(p.Result.Wrong) > 0 {
		return len(p.Parts)
	}
	return min(len(p.Parts), mostOpenParts)
}

// Label names a part beyond doubt.
func (p partRow) Label() string { return partLabel(p.PartFacts) }

func partLabel(p song.PartFacts) string {
	return fmt.Sprintf("%s, channel %d", say.Steady(p.Name), p.Channel)
}

// chosen reports whether a part is played otherwise than as it is.
func (p partRow) chosen() bool {
	return p.Group != "" || p.Lack != "" || p.Octave != "" && p.Octave != "0"
}

// playedWords say how many of a part's notes in the section are played.
func (res *setResult) playedWords(p partRow) string {
	for _, row := range res.Played {
		switch {
		case row.Part != p.Part:
		case row.Off:
			return "not played"
		case row.Played == p.Notes:
			return "all played"
		default:
			return fmt.Sprintf("%d of %d played here", row.Played, row.Notes)
		}
	}
	return ""
}

// Range is from which key to which a part goes.
func (p partRow) Range() string {
	switch {
	case p.Drum() && p.Low == p.High:
		return fmt.Sprintf("percussion %d", p.Low)
	case p.Drum():
		return fmt.Sprintf("percussion %d to %d", p.Low, p.High)
	}
	return say.Key(p.Low) + " to " + say.Key(p.High)
}

// octaveChoice is a shift by octaves to choose.
type octaveChoice struct {
	Value, Words string
	Chosen       bool
}

// octaveChoices go from the highest down, so that the key for up leads up. One
// that is chosen and none of them is among them as it was given.
func octaveChoices(chosen string) (choices []octaveChoice) {
	if chosen == "" {
		chosen = "0"
	}
	chosen = strings.Replace(chosen, "−", "-", 1)
	known := false
	for n := arrange.MaxOctaves; n >= -arrange.MaxOctaves; n-- {
		c := octaveChoice{strconv.Itoa(n), moveWords(n), strconv.Itoa(n) == chosen}
		known = known || c.Chosen
		choices = append(choices, c)
	}
	if !known {
		choices = append(choices, octaveChoice{say.Short(chosen), say.Short(chosen), true})
	}
	return choices
}

// groupWords names the channels of a kind.
func groupWords(kind wheel.ChannelKind) string {
	if kind == "other" {
		return "other channels"
	}
	return string(kind) + "s"
}

// groupsWith are the kinds of channel to choose from, with what the form has
// chosen even where the machine has none.
func groupsWith(kinds []wheel.ChannelKind, chosen string) []wheel.ChannelKind {
	for _, k := range kinds {
		if string(k) == chosen {
			return kinds
		}
	}
	if chosen == "" {
		return kinds
	}
	return append(kinds[:len(kinds):len(kinds)], wheel.ChannelKind(say.Short(chosen)))
}

// played is what became of a part's notes, in words.
type played struct {
	arrange.PartReport
	Label string
	Off   bool
	Keys  []string // one line for each key that is not played as it is
}

// playedOf is what became of the parts that have notes in the section or are
// switched off.
func playedOf(m *wheel.Machine, s *song.Song, f *setForm, report *arrange.Report) (rows []played) {
	facts := map[song.Part]song.PartFacts{}
	for _, p := range s.Parts() {
		facts[p.Part] = p
	}
	for _, r := range report.Parts {
		p := facts[r.Part]
		row := played{PartReport: r, Label: partLabel(p), Off: f.Parts[r.Part].Off}
		for _, k := range r.Keys {
			row.Keys = append(row.Keys, keyFateWords(m, p, wheel.ChannelKind(f.Parts[r.Part].Group), k))
		}
		rows = append(rows, row)
	}
	return rows
}

// keyFateWords says what became of a key: "C♯5, 12 notes → left out: Bar C♯5
// is resting".
func keyFateWords(m *wheel.Machine, p song.PartFacts, group wheel.ChannelKind, k arrange.KeyFate) string {
	name := func(key int) string {
		if p.Drum() {
			return percussionName(key)
		}
		return say.Key(uint8(key))
	}
	var b strings.Builder
	b.WriteString(name(k.Key))
	if k.Wanted >= 0 && k.Wanted != k.Key {
		fmt.Fprintf(&b, " (here %s)", name(k.Wanted))
	}
	fmt.Fprintf(&b, ", %s → ", say.Count(k.Notes, "note", "notes"))
	channel := "no channel"
	if k.Channel != "" {
		channel = channelNamed(m, k.Channel)
	}
	switch {
	case k.Fate == "substitute" && k.To == k.Wanted:
		fmt.Fprintf(&b, "%s, the same pitch", channel)
	case k.Fate == "substitute" && p.Drum():
		fmt.Fprintf(&b, "%s as %s", channel, name(k.To))
	case k.Fate == "substitute":
		fmt.Fprintf(&b, "%s, %s", channel, octavesWords((k.To-k.Wanted)/12))
	case k.Fate == "dropped" && k.Channel != "":
		fmt.Fprintf(&b, "left out: %s is resting", channel)
	case k.Fate == "dropped":
		b.WriteString("left out, as the percussion table says")
	case k.Wanted < 0:
		b.WriteString("left out: it is beyond MIDI’s keys")
	case group != "":
		fmt.Fprintf(&b, "left out: none of the %s has it", groupWords(group))
	default:
		b.WriteString("left out: no channel has it")
	}
	return b.String()
}

func octavesWords(n int) string {
	if n > 0 {
		return say.Count(n, "octave higher", "octaves higher")
	}
	return say.Count(-n, "octave lower", "octaves lower")
}
