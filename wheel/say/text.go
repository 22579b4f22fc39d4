package say

import (
	"fmt"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

// Noun is the noun that goes with a number of things: one for 1, many for all
// others.
func Noun(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// Count is a number with its noun: "1 pin", "3 pins".
func Count(n int, one, many string) string {
	return strconv.Itoa(n) + " " + Noun(n, one, many)
}

// mostListed is how many names a sentence lists.
const mostListed = 12

// List is names as a sentence lists them: "A, B and C", "A, B, … and 5 more".
func List(names []string) string {
	switch n := len(names); {
	case n == 0:
		return ""
	case n == 1:
		return names[0]
	case n > mostListed:
		return fmt.Sprintf("%s and %d more", strings.Join(names[:mostListed-1], ", "), n-mostListed+1)
	default:
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
}

// Resting says which channels are out of service; nothing where none is.
func Resting(names []string) string {
	switch len(names) {
	case 0:
		return ""
	case 1:
		return List(names) + " is resting."
	}
	return List(names) + " are resting."
}

// Day is a date, in the time zone of this computer.
func Day(t time.Time) string { return t.Local().Format("2 January 2006") }

// Steady is a text without the characters that turn the direction of what
// follows them (Unicode Standard Annex 9, explicit formatting): a name that
// holds one would turn the figures after it.
func Steady(text string) string {
	return strings.Map(func(r rune) rune {
		if r >= '\u202a' && r <= '\u202e' || r >= '\u2066' && r <= '\u2069' {
			return -1
		}
		return r
	}, text)
}

// Capital is a phrase as it begins a sentence.
func Capital(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	if size == 0 || first == utf8.RuneError {
		return text
	}
	return string(unicode.ToUpper(first)) + text[size:]
}

// Sentence is an error as a sentence: with a capital and a full stop.
func Sentence(err error) string {
	text := Capital(err.Error())
	if text != "" && !strings.HasSuffix(text, ".") {
		text += "."
	}
	return text
}

// mostShort is how many characters of a text that someone sent a sentence
// shows.
const mostShort = 40

// Short is the beginning of a text, to be shown in a sentence.
func Short(text string) string {
	if r := []rune(text); len(r) > mostShort {
		return string(r[:mostShort]) + "…"
	}
	return text
}
