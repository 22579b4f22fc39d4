package arrange

import (
	"fmt"

	"pinwright/wheel"
	"pinwright/wheel/song"
)

// Suggest returns the stretches of a song that could be set as a request says,
// the best first, see [Stretches]. What it says of bars does not matter; with
// Transpose.Auto each stretch has the transposition that places most of it.
func Suggest(m *wheel.Machine, s *song.Song, r Request) ([]Stretch, error) {
	if err := r.check(m, s); err != nil {
		return nil, err
	}
	if len(s.Notes) == 0 {
		return nil, fmt.Errorf("the song has no notes; a pinning needs some")
	}
	vs := newVoices(m, r)
	c := Choice{
		Voice: func(n song.Note) (int, bool) {
			v, on := vs.voiceOf(n)
			return int(v), on
		},
		Capacity: func(v, semitones int) int { return len(vs.cast(voice(v), semitones).choices) },
		Lowest:   r.Transpose.Semitones, Highest: r.Transpose.Semitones,
	}
	if r.Transpose.Auto {
		c.Lowest, c.Highest = -MaxTranspose, MaxTranspose
	}
	return Stretches(m, s, c), nil
}
