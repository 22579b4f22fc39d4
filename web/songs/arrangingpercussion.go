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

// percussionOut leaves a percussion key out.
const percussionOut = "out"

// readPercussion reads perc_K, K the key in the song.
func (f *setForm) readPercussion(v url.Values) {
	for _, name := range slices.Sorted(maps.Keys(v)) {
		text, ok := strings.CutPrefix(name, "perc_")
		value := strings.TrimSpace(v.Get(name))
		if !ok || value == "" {
			continue
		}
		key, err := strconv.Atoi(text)
		if err != nil || key < 0 || key > 127 {
			f.wrong = append(f.wrong, fmt.Sprintf("The percussion table has key %q; MIDI has keys 0 to 127.", say.Short(text)))
			continue
		}
		f.Percussion[key] = value
	}
}

// percussionTable is the table as package arrange takes it.
func (f *setForm) percussionTable() (table map[int]int, wrong []string) {
	table = map[int]int{}
	for _, key := range slices.Sorted(maps.Keys(f.Percussion)) {
		value := f.Percussion[key]
		if value == percussionOut {
			table[key] = arrange.Silence
			continue
		}
		to, err := strconv.Atoi(value)
		if err != nil || to < 0 || to > 127 {
			wrong = append(wrong, fmt.Sprintf("The percussion table sends %s to %q; it should be a key from 0 to 127, or %q to leave it out.", percussionName(key), say.Short(value), percussionOut))
			continue
		}
		table[key] = to
	}
	return table, wrong
}

// percussionRow is a percussion key of the song and what plays it.
type percussionRow struct {
	Key       int
	Name      string
	InSong    int // notes
	InSection int
	Chosen    string // as the form has it
	AsItIs    string // what becomes of it without the table
	Other     string // a choice that the machine has no drum key for
}

// percussionRows are the percussion keys that the song's parts which are played
// have, lowest first.
func percussionRows(m *wheel.Machine, s *song.Song, f *setForm, sec arrange.Section) (rows []percussionRow) {
	var inSong, inSection [128]int
	for _, n := range s.Notes {
		if !n.Drum() || f.Parts[n.Part()].Off {
			continue
		}
		inSong[n.Key]++
		if n.Tick >= sec.Tick && n.Tick < sec.EndTick {
			inSection[n.Key]++
		}
	}
	keys := arrange.PercussionKeys(m)
	for key, n := range inSong {
		chosen := f.Percussion[key]
		if n == 0 && chosen == "" {
			continue
		}
		row := percussionRow{Key: key, Name: percussionName(key), InSong: n, InSection: inSection[key], Chosen: chosen, AsItIs: asItIs(m, key)}
		if chosen != "" && chosen != percussionOut && !hasChoice(keys, chosen) {
			row.Other = chosen
		}
		rows = append(rows, row)
	}
	return rows
}

func hasChoice(keys []int, chosen string) bool {
	for _, k := range keys {
		if strconv.Itoa(k) == chosen {
			return true
		}
	}
	return false
}

// suggestPercussion fills the table for the song's percussion.
func (f *setForm) suggestPercussion(m *wheel.Machine, s *song.Song) {
	table := arrange.SuggestPercussion(m)
	for _, n := range s.Notes {
		key := int(n.Key)
		if to, ok := table[key]; ok && n.Drum() {
			f.Percussion[key] = strconv.Itoa(to)
		}
	}
}

// percussionName is a percussion key's name in General MIDI, and its number.
func percussionName(key int) string {
	if name, ok := arrange.PercussionNames[key]; ok {
		return fmt.Sprintf("%s (%d)", name, key)
	}
	return fmt.Sprintf("percussion key %d", key)
}

// drumKey is one of the machine's drum keys to choose.
type drumKey struct {
	Key   string
	Words string
}

func drumKeys(m *wheel.Machine) (choices []drumKey) {
	for _, key := range arrange.PercussionKeys(m) {
		choices = append(choices, drumKey{strconv.Itoa(key), fmt.Sprintf("%s: %s", percussionName(key), say.List(drumsWith(m, key, wheel.Playing)))})
	}
	return choices
}

// drumsWith are the channels that have a percussion key and are so in service.
func drumsWith(m *wheel.Machine, key int, service wheel.Service) (names []string) {
	for i := range m.Channels {
		c := &m.Channels[i]
		if !c.Drum || c.Service != service {
			continue
		}
		for _, k := range c.Keys {
			if k == key {
				names = append(names, say.Steady(c.Name))
			}
		}
	}
	return names
}

// asItIs says what plays a percussion key of which the table says nothing.
func asItIs(m *wheel.Machine, key int) string {
	if names := drumsWith(m, key, wheel.Playing); len(names) > 0 {
		return "as it is: " + say.List(names)
	}
	if names := drumsWith(m, key, wheel.Resting); len(names) > 0 {
		return "as it is: left out, " + say.Resting(names)
	}
	return "as it is: no channel has it"
}
