package programme

import (
	"errors"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"pinwright/wheel"
)

// Bounds of a programme.
const (
	MaxSongs      = 100
	MaxStory      = 1000 // characters
	MaxTurns      = 1000 // of the wheel, in one play
	MaxPlays      = 1000 // of a song, in a day
	MaxPauseMin   = 24 * 60
	MinPinsPerMin = 0.01
	MaxPinsPerMin = 1000
)

// Programme is an ordered list of songs for visitors, and what goes with them.
type Programme struct {
	Name       string  `json:"name"`
	Call       string  `json:"call"`         // who to call, for the crank card
	PinsPerMin float64 `json:"pins_per_min"` // rate of changeovers; 0: the crew's own
	Songs      []Song  `json:"songs"`
}

// Song is one pinning in a programme.
type Song struct {
	PinningID int64   `json:"pinning"`
	Title     string  `json:"title"` // the pinning's, when the programme was kept
	TempoBPM  float64 `json:"tempo_bpm"`
	Turns     int     `json:"turns"`     // of the wheel, in one play
	Plays     int     `json:"plays"`     // in a day
	RestMin   float64 `json:"rest_min"`  // between its plays
	PauseMin  float64 `json:"pause_min"` // before its first play, for the changeover
	Story     string  `json:"story"`     // for visitors; may have several lines
}

// Equal reports whether two programmes say the same.
func (p *Programme) Equal(q *Programme) bool {
	return p.Name == q.Name && p.Call == q.Call && p.PinsPerMin == q.PinsPerMin && slices.Equal(p.Songs, q.Songs)
}

// Check lists everything wrong with a programme, as an error with
// [wheel.ErrInvalid].
func (p *Programme) Check() error {
	var problems wheel.Problems
	if strings.TrimSpace(p.Name) == "" {
		problems.Add("", "the programme has no name; give it one, such as “Sunday”")
	}
	checkLine(&problems, "the programme's name", p.Name)
	checkLine(&problems, "who to call", p.Call)
	if p.PinsPerMin != 0 {
		within(&problems, "", "the rate of changeovers, in pins a minute,", p.PinsPerMin, MinPinsPerMin, MaxPinsPerMin)
	}
	if len(p.Songs) > MaxSongs {
		problems.Add("", "the programme has %d songs; %d at most", len(p.Songs), MaxSongs)
	}
	for i, s := range p.Songs[:min(len(p.Songs), MaxSongs)] {
		place := "song " + wheel.Number(float64(i+1))
		if s.Title != "" {
			place += ", " + s.Title
		}
		s.check(&problems, place+":")
	}
	return problems.Err()
}

func (s *Song) check(problems *wheel.Problems, place string) {
	within(problems, place, "the tempo in BPM", s.TempoBPM, 1, wheel.MaxTempoBPM)
	within(problems, place, "the number of turns in a play", float64(s.Turns), 1, MaxTurns)
	within(problems, place, "the number of plays in a day", float64(s.Plays), 1, MaxPlays)
	within(problems, place, "the rest between plays, in minutes,", s.RestMin, 0, MaxPauseMin)
	within(problems, place, "the pause before it, in minutes,", s.PauseMin, 0, MaxPauseMin)
	if n := utf8.RuneCountInString(s.Story); n > MaxStory {
		problems.Add(place, "the story has %d characters; %d at most", n, MaxStory)
	}
	if !utf8.ValidString(s.Story) || strings.ContainsFunc(s.Story, func(r rune) bool { return unicode.IsControl(r) && r != '\n' }) {
		problems.Add(place, "the story has characters that are not text")
	}
}

func checkLine(problems *wheel.Problems, what, text string) {
	var refusal *wheel.Error
	if err := wheel.CheckLine(what, text, wheel.MaxName); errors.As(err, &refusal) {
		problems.Add("", "%s", refusal.Message)
	}
}

func within(problems *wheel.Problems, place, what string, v, least, most float64) {
	if !(v >= least && v <= most) {
		problems.Add(place, "%s is %s; it should be %s to %s", what, wheel.Number(v), wheel.Number(least), wheel.Number(most))
	}
}
