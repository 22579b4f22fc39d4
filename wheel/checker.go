package wheel

import (
	"math"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// checker gathers problems, but none where a file could not be read: what
// stands there is not what the file says.
type checker struct {
	found  Problems
	unread Problems
}

// Add notes a problem.
func (c *checker) Add(place, format string, args ...any) {
	if !c.found.Full() && c.read(place) {
		c.found.Add(place, format, args...)
	}
}

func (c *checker) read(place string) bool { return !c.unread.cover(place) }

func (c *checker) all() Problems { return slices.Concat(c.unread, c.found).cut() }

// format checks the format line. It is false for a file that is ours but of
// another kind, in which all else is out of place.
func (c *checker) format(is, kind, should string) bool {
	if c.name("format", is) && is != should {
		c.Add("format", "is %s; a %s file has %q", Quoted(is), kind, should)
	}
	return is == should || is != MachineFormat && is != PinningFormat || !c.read("format")
}

func (c *checker) name(place, s string) bool {
	if s == "" {
		c.Add(place, "is missing; it cannot be empty")
		return false
	}
	return true
}

// title checks a name that people read, in one line.
func (c *checker) title(place, s string) {
	if strings.TrimSpace(s) == "" {
		c.Add(place, "is missing; it cannot be empty")
	}
	c.line(place, s)
}

func (c *checker) line(place, s string) { c.text(place, s, MaxName, "") }

func (c *checker) note(place, s string) { c.text(place, s, maxNote, "\t\r\n") }

func (c *checker) text(place, s string, most int, controls string) {
	if n := utf8.RuneCountInString(s); n > most {
		c.Add(place, "has %d characters; %d at most", n, most)
	}
	odd := func(r rune) bool { return unicode.IsControl(r) && !strings.ContainsRune(controls, r) }
	switch {
	case !utf8.ValidString(s):
		c.Add(place, "is not UTF-8 text")
	case strings.ContainsFunc(s, odd):
		c.Add(place, "has control characters; only text can stand here")
	}
}

func (c *checker) id(place, s string) {
	switch {
	case !c.name(place, s):
	case len(s) > 64:
		c.Add(place, "has %d bytes; an id has 64 at most", len(s))
	case strings.ContainsFunc(s, func(r rune) bool { return unicode.IsControl(r) || unicode.IsSpace(r) }):
		c.Add(place, "is %s; an id has no spaces", Quoted(s))
	case !utf8.ValidString(s):
		c.Add(place, "is not UTF-8 text")
	}
}

// within checks a number against its range, and calls it by what it is. It is
// false for a number that was not read, too.
func (c *checker) within(place string, v, least, most float64, what string) bool {
	switch {
	case !c.read(place):
	case math.IsNaN(v) || math.IsInf(v, 0):
		c.Add(place, "is not a finite number")
	case v < 0 && least == 0:
		c.Add(place, "is %s; a %s cannot be negative", Number(v), what)
	case v < least:
		c.Add(place, "is %s; a %s is at least %s", Number(v), what, Number(least))
	case v > most:
		c.Add(place, "is %s; a %s is at most %s", Number(v), what, Number(most))
	default:
		return true
	}
	return false
}

func (c *checker) length(place string, mm float64) bool {
	return c.within(place, mm, 0, maxLengthMM, "length")
}

func (c *checker) positiveLength(place string, mm float64) bool {
	if !c.length(place, mm) {
		return false
	}
	switch {
	case mm == 0:
		c.Add(place, "is 0; it has to be a length above 0")
		return false
	case mm < minLengthMM:
		c.Add(place, "is %s; a length is at least %s mm", Number(mm), Number(minLengthMM))
		return false
	}
	return true
}

func (c *checker) time(place string, ms float64) { c.within(place, ms, 0, maxTimeMS, "time") }

// maybe checks a number that may be left out.
func (c *checker) maybe(place string, v Maybe, least, most float64, what string) {
	if v, ok := v.Get(); ok {
		c.within(place, v, least, most, what)
	}
}

func (c *checker) maybeLength(place string, mm Maybe) { c.maybe(place, mm, 0, maxLengthMM, "length") }

func (c *checker) maybeTime(place string, ms Maybe) { c.maybe(place, ms, 0, maxTimeMS, "time") }

func (c *checker) speed(place string, mmPerS float64) {
	c.within(place, mmPerS, 0, maxSpeedMMS, "speed")
}

func (c *checker) count(place string, n, least, most int) bool {
	return c.within(place, float64(n), float64(least), float64(most), "count")
}
