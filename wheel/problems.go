package wheel

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// Problem is one thing wrong with a file: where, and what would be right.
type Problem struct {
	Place string // as in channels[3].gate.reload_ms; empty for the whole file
	Says  string
}

func (p Problem) String() string {
	if p.Place == "" {
		return p.Says
	}
	return p.Place + " " + p.Says
}

// Problems is everything wrong with a file: first what could not be read, then
// what cannot be. It is the error of every reader here.
type Problems []Problem

// maxProblems ends the list of a file that is wrong everywhere.
const maxProblems = 100

// Error lists the problems, one a line.
func (ps Problems) Error() string {
	lines := make([]string, len(ps))
	for i, p := range ps {
		lines[i] = p.String()
	}
	return strings.Join(lines, "\n")
}

// Err is nil where there are no problems, else an [Error] with [ErrInvalid]
// whose cause they are.
func (ps Problems) Err() error {
	if len(ps) == 0 {
		return nil
	}
	return &Error{Code: ErrInvalid, Message: ps.Error(), Cause: ps}
}

// Add notes a problem.
func (ps *Problems) Add(place, format string, args ...any) {
	*ps = append(*ps, Problem{place, fmt.Sprintf(format, args...)})
}

// Full is true once there is one problem more than will be listed.
func (ps Problems) Full() bool { return len(ps) > maxProblems }

// cut ends a full list with a line that says so.
func (ps Problems) cut() Problems {
	if !ps.Full() {
		return ps
	}
	return append(slices.Clip(ps[:maxProblems]), Problem{"", fmt.Sprintf("these are the first %d problems; there are more", maxProblems)})
}

// cover is true if one of the problems lies at place or around it, so that
// what stands there was not read.
func (ps Problems) cover(place string) bool {
	return slices.ContainsFunc(ps, func(p Problem) bool {
		rest, at := strings.CutPrefix(place, p.Place)
		return at && (p.Place == "" || rest == "" || rest[0] == '.' || rest[0] == '[')
	})
}

// mostShown is how many characters of a wrong value a sentence shows.
const mostShown = 40

// IDText writes a key or an id in a sentence: as it stands if it is a plain
// word, else in quotes.
func IDText(s string) string {
	odd := func(r rune) bool { return !unicode.IsGraphic(r) || unicode.IsSpace(r) || r == '"' }
	if s == "" || len(s) > 64 || strings.ContainsFunc(s, odd) {
		return Quoted(s)
	}
	return s
}

// Quoted writes text in quotes, cut where it is long.
func Quoted(s string) string {
	return strconv.Quote(shortened(s))
}

func shortened(s string) string {
	n := 0
	for i := range s {
		if n == mostShown {
			return s[:i] + "…"
		}
		n++
	}
	return s
}

// ShowJSON writes a JSON value as it stands in the file, cut where it is long.
func ShowJSON(raw []byte) string {
	switch raw[0] {
	case '{':
		return "an object"
	case '[':
		return "a list"
	case '"':
		return Quoted(UnquoteJSON(raw))
	case '-':
		return "−" + shortened(string(raw[1:]))
	}
	return shortened(string(raw))
}

// Number writes a value as people do, with a true minus sign, in full.
func Number(v float64) string {
	format := byte('f')
	if size := math.Abs(v); size != 0 && (size < 1e-6 || size >= 1e15) {
		format = 'e'
	}
	s := strconv.FormatFloat(v, format, -1, 64)
	return strings.ReplaceAll(strings.Replace(s, "e+", "e", 1), "-", "−")
}

// UnquoteJSON is the text of a valid JSON string.
func UnquoteJSON(raw []byte) string {
	inside := raw[1 : len(raw)-1]
	if bytes.IndexByte(inside, '\\') < 0 {
		return string(inside)
	}
	var s string
	_ = json.Unmarshal(raw, &s) // it is valid
	return s
}
