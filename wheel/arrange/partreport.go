package arrange

import (
	"cmp"
	"slices"

	"pinwright/wheel"
	"pinwright/wheel/song"
)

// PartReport says what became of a part's notes in the section.
type PartReport struct {
	song.Part
	Notes       int // each repetition counts; 0 where the part is off
	Played      int // by some channel, merged notes among them
	Substituted int // of those, by another key or outside the part's group
	Dropped     int // only resting channels have them, or the percussion table leaves them out
	OutOfRange  int
	Keys        []KeyFate // the keys that are not played as they are, ascending; never nil
}

// KeyFate is what became of one key of a part that no channel of its group in
// service has.
type KeyFate struct {
	Key     int // in the song
	Wanted  int // after octave and transposition; −1 beyond MIDI's keys
	Notes   int
	Fate    string // "substitute", "dropped" or "out of range"
	To      int    // the key that plays it; −1 where none does
	Channel string // id of the first channel that plays it, or would if it were in service; empty where none has it
}

// partReports works out what became of each part's notes at the transposition
// that was cast last.
func (st *setting) partReports() []PartReport {
	type partKey struct {
		part song.Part
		key  uint8
	}
	counts := map[partKey]int{}
	for _, n := range st.notes {
		counts[partKey{n.Part(), n.Key}] += st.times
	}
	var reports []PartReport
	for _, facts := range st.song.Parts() {
		r := PartReport{Part: facts.Part, Keys: []KeyFate{}}
		for n := range keys {
			c := counts[partKey{facts.Part, uint8(n)}]
			v, on := st.voices.voiceOf(song.Note{Track: facts.Track, Channel: facts.Channel, Key: uint8(n)})
			if c > 0 && on {
				r.add(st.machine, n, c, st.cast.of[v])
			}
		}
		reports = append(reports, r)
	}
	slices.SortStableFunc(reports, func(a, b PartReport) int { return cmp.Compare(a.Track, b.Track) })
	return reports
}

func (r *PartReport) add(m *wheel.Machine, from, notes int, c casting) {
	r.Notes += notes
	k := KeyFate{Key: from, Wanted: c.wanted, Notes: notes, To: -1}
	switch c.fate {
	case plays:
		r.Played += notes
		return
	case substitute:
		r.Played += notes
		r.Substituted += notes
		k.Fate, k.To, k.Channel = "substitute", int(c.key%keys), m.Channels[c.choices[0]].ID
	case rests:
		r.Dropped += notes
		k.Fate, k.Channel = "dropped", m.Channels[c.resting].ID
	case silenced:
		r.Dropped += notes
		k.Fate = "dropped"
	case lost:
		r.OutOfRange += notes
		k.Fate = "out of range"
	}
	r.Keys = append(r.Keys, k)
}
