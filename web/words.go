package web

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"
)

var noteNames = [...]string{"C", "C♯", "D", "E♭", "E", "F", "F♯", "G", "A♭", "A", "B♭", "B"}

// keyName names a MIDI key in scientific pitch notation, 60 being C4.
func keyName(key uint8) string {
	return fmt.Sprintf("%s%d", noteNames[key%12], int(key)/12-1)
}

// bpmWords is a tempo for people, to a tenth.
func bpmWords(bpm float64) string { return trimmed(math.Round(bpm*10) / 10) }

// safeBPM is a highest safe tempo for people: to a tenth, and never above it.
func safeBPM(bpm float64) string { return trimmed(math.Floor(bpm*10+1e-9) / 10) }

// lowBPM is the low end of a range for people: to a tenth, and never below it.
func lowBPM(bpm float64) string { return trimmed(math.Ceil(bpm*10-1e-9) / 10) }

// inward is a range for people, to a tenth or as finely as it takes for both ends
// to lie within it.
func inward(from, to float64) (low, high string) {
	for _, scale := range []float64{10, 100, 1e3, 1e4, 1e5, 1e6} {
		l, h := math.Ceil(from*scale-1e-9)/scale, math.Floor(to*scale+1e-9)/scale
		if l <= h {
			return trimmed(l), trimmed(h)
		}
	}
	return trimmed(from), trimmed(to)
}

// spanBPM is a range of tempos in words, its ends within it.
func spanBPM(from, to float64) string {
	low, high := inward(from, to)
	return low + " to " + high
}

// readNumber reads a number as people type it, with a point or a comma.
func readNumber(text string) (float64, error) {
	return strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), ",", ".", 1), 64)
}

func trimmed(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// msWords is a time for people, given in seconds.
func msWords(s float64) string { return trimmed(math.Round(s*1e4)/10) + " ms" }

func oneDecimal(v float64) string { return trimmed(math.Round(v*10) / 10) }

func twoDecimals(v float64) string { return trimmed(math.Round(v*100) / 100) }

// lengthWords is a song's length as m:ss.
func lengthWords(seconds float64) string {
	s := int(math.Round(seconds))
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

func day(t time.Time) string { return t.Local().Format("2 January 2006") }

// shownNames is how many names a sentence lists.
const shownNames = 12

// listed is names as a sentence lists them.
func listed(names []string) string {
	switch n := len(names); {
	case n == 0:
		return ""
	case n == 1:
		return names[0]
	case n > shownNames:
		return fmt.Sprintf("%s and %d more", strings.Join(names[:shownNames-1], ", "), n-shownNames+1)
	default:
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
}

// restingWords says which channels are out of service; nothing where none is.
func restingWords(names []string) string {
	switch len(names) {
	case 0:
		return ""
	case 1:
		return listed(names) + " is resting."
	}
	return listed(names) + " are resting."
}

// steady is a sentence without the characters that turn the direction of what
// follows them (Unicode Standard Annex 9, explicit formatting): a name that
// holds one would turn the figures after it.
func steady(text string) string {
	return strings.Map(func(r rune) rune {
		if r >= '\u202a' && r <= '\u202e' || r >= '\u2066' && r <= '\u2069' {
			return -1
		}
		return r
	}, text)
}

// capital is a phrase as it begins a sentence.
func capital(text string) string {
	first, size := utf8.DecodeRuneInString(text)
	if size == 0 || first == utf8.RuneError {
		return text
	}
	return string(unicode.ToUpper(first)) + text[size:]
}
