package songs

import (
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// What several pages and parts of pages here say alike.

// transposeWords is a transposition in words.
func transposeWords(n int) string {
	switch {
	case n == 0:
		return "not transposed"
	case n > 0:
		return say.Count(n, "semitone up", "semitones up")
	}
	return say.Count(-n, "semitone down", "semitones down")
}

// moveWords is a transposition as a number with its sign.
func moveWords(n int) string {
	if n > 0 {
		return "+" + wheel.Number(float64(n))
	}
	return wheel.Number(float64(n))
}

// channelNamed is the name of a channel, or its id where the machine lacks it.
func channelNamed(m *wheel.Machine, id string) string {
	if i := m.Channel(id); i >= 0 {
		return say.Steady(m.Channels[i].Name)
	}
	return say.Steady(id)
}
