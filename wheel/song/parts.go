package song

import "fmt"

// Part is what one MIDI channel plays in one track.
type Part struct {
	Track   int   // index in Song.Tracks
	Channel uint8 // 1 … 16
}

// PartFacts is a part in a few figures.
type PartFacts struct {
	Part
	Name      string // the track's; "Track 3" where it has none
	Notes     int
	Low, High uint8 // its lowest and highest key
}

// Part is the part that the note belongs to.
func (n Note) Part() Part { return Part{n.Track, n.Channel} }

// Drum reports whether the part is percussion, as [Note.Drum] does.
func (p Part) Drum() bool { return Note{Channel: p.Channel}.Drum() }

// Parts are the song's parts that have notes, in the order of their first.
func (s *Song) Parts() []PartFacts {
	var parts []PartFacts
	at := map[Part]int{}
	for _, n := range s.Notes {
		i, ok := at[n.Part()]
		if !ok {
			i = len(parts)
			at[n.Part()] = i
			parts = append(parts, PartFacts{Part: n.Part(), Name: s.trackName(n.Track), Low: n.Key, High: n.Key})
		}
		p := &parts[i]
		p.Notes++
		p.Low, p.High = min(p.Low, n.Key), max(p.High, n.Key)
	}
	return parts
}

func (s *Song) trackName(i int) string {
	if i < len(s.Tracks) && s.Tracks[i].Name != "" {
		return s.Tracks[i].Name
	}
	return fmt.Sprintf("Track %d", i+1)
}
