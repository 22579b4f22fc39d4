package song

import (
	"cmp"
	"slices"

	"gitlab.com/gomidi/midi/v2"
	"gitlab.com/gomidi/midi/v2/smf"
)

// A cue is one event of a track at its time. Cues at one tick go by rank.
type cue struct {
	tick    int64
	rank    int
	message smf.Message
}

// The ranks. A note that ends where the next of its key begins must end first,
// and one without length must begin before it ends.
const (
	rankSetting = iota
	rankEnd
	rankStart
	rankEndAtStart
)

// score lays the song out as tracks of timed events.
func (s *Song) score() []smf.Track {
	cues := make([][]cue, max(1, len(s.Tracks)))
	add := func(track int, tick int64, rank int, m []byte) {
		cues[track] = append(cues[track], cue{tick, rank, m})
	}
	for i, name := range s.names() {
		if name != "" {
			add(i, 0, rankSetting, smf.MetaTrackSequenceName(name))
		}
	}
	for _, m := range s.Meters {
		clocksPerClick := max(1, 96/m.Denominator) // a click for each note value counted; a quarter note is 24 clocks
		add(0, m.Tick, rankSetting, smf.MetaTimeSig(uint8(m.Numerator), uint8(m.Denominator), uint8(clocksPerClick), 8))
	}
	if !s.SMPTE {
		for _, t := range s.Tempos {
			us := t.MicrosPerQuarter
			add(0, t.Tick, rankSetting, smf.MetaUndefined(0x51, []byte{byte(us >> 16), byte(us >> 8), byte(us)}))
		}
	}
	counts := make([]int, len(cues))
	for _, n := range s.Notes {
		counts[n.Track]++
	}
	for i, n := range counts {
		cues[i] = slices.Grow(cues[i], 2*n)
	}
	notes := slices.Clone(s.Notes)
	slices.SortStableFunc(notes, func(a, b Note) int { return cmp.Or(byPlace(a, b), cmp.Compare(a.Ticks, b.Ticks)) })
	for _, n := range notes {
		end := rankEnd
		if n.Ticks == 0 {
			end = rankEndAtStart
		}
		add(n.Track, n.Tick, rankStart, midi.NoteOn(n.Channel-1, n.Key, n.Velocity))
		add(n.Track, n.Tick+n.Ticks, end, midi.NoteOff(n.Channel-1, n.Key))
	}
	tracks := []smf.Track{rollOut(cues[0], s.EndTick)}
	for _, c := range cues[1:] {
		tracks = append(tracks, rollOut(c, 0))
	}
	return tracks
}

// longestDelta is the most ticks that can lie between two events.
const longestDelta = 0x0FFFFFFF

// rollOut turns cues into a track that ends at a tick, or with its last cue if
// that is later. Empty texts stand in gaps too long for one delta time.
func rollOut(cues []cue, end int64) smf.Track {
	slices.SortStableFunc(cues, func(a, b cue) int {
		return cmp.Or(cmp.Compare(a.tick, b.tick), cmp.Compare(a.rank, b.rank))
	})
	track := make(smf.Track, 0, len(cues)+1)
	now := int64(0)
	add := func(tick int64, m smf.Message) {
		for ; tick-now > longestDelta; now += longestDelta {
			track = append(track, smf.Event{Delta: longestDelta, Message: smf.MetaText("")})
		}
		track = append(track, smf.Event{Delta: uint32(tick - now), Message: m})
		now = tick
	}
	for _, c := range cues {
		add(c.tick, c.message)
	}
	add(max(end, now), smf.EOT)
	return track
}

// names returns the track names to write, the title among them.
func (s *Song) names() []string {
	names := make([]string, max(1, len(s.Tracks)))
	first := ""
	for i, t := range s.Tracks {
		names[i] = cleanName(t.Name)
		first = cmp.Or(first, names[i])
	}
	if title := cleanName(s.Title); title != "" && title != untitled && title != first {
		names[0] = title
	}
	return names
}
