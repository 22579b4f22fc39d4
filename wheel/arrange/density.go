package arrange

import "pinwright/wheel/song"

// BarDensity is how much happens in one bar of a song.
type BarDensity struct {
	Bar    int // counted from 1
	Notes  int // that start in it
	Onsets int // different ticks at which they start: a chord is one
	Drums  int // of the notes, those that are percussion
}

// Density returns what starts in each bar of a song, bar by bar. Notes beyond
// the last bar are in none.
func Density(s *song.Song) []BarDensity {
	density := make([]BarDensity, len(s.Bars))
	notes := s.Notes
	for i, b := range s.Bars {
		d := &density[i]
		d.Bar = i + 1
		before := b.Tick - 1
		for len(notes) > 0 && notes[0].Tick < b.Tick+b.Ticks {
			n := notes[0]
			notes = notes[1:]
			if n.Tick < b.Tick {
				continue
			}
			d.Notes++
			if n.Tick != before {
				d.Onsets++
				before = n.Tick
			}
			if n.Drum() {
				d.Drums++
			}
		}
	}
	return density
}
