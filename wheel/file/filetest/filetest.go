// Package filetest helps tests with machine and pinning files: two example
// files, edits of their text, and what is wrong with one.
package filetest

import (
	"bytes"
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"reflect"
	"strings"
	"testing"

	"pinwright/wheel"
)

//go:embed testdata
var examples embed.FS

// Example is a file of testdata.
func Example(t testing.TB, name string) string {
	t.Helper()
	data, err := examples.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

const (
	MachineFile = "hailstone.json"
	PinningFile = "mill-race.json"
)

// Edit replaces one piece of a text, which has to be there once.
func Edit(t testing.TB, text, old, new string) string {
	t.Helper()
	if n := strings.Count(text, old); n != 1 {
		t.Fatalf("%q is there %d times", old, n)
	}
	return strings.Replace(text, old, new, 1)
}

func WantProblems(t *testing.T, err error, want ...string) {
	t.Helper()
	var got []string
	if err != nil {
		var problems wheel.Problems
		if !errors.As(err, &problems) {
			t.Fatalf("error is a %T: %v", err, err)
		}
		for _, p := range problems {
			got = append(got, p.String())
		}
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("problems are\n\t%s\nwant\n\t%s", strings.Join(got, "\n\t"), strings.Join(want, "\n\t"))
	}
}

// Span is a value in a JSON text and its place.
type Span struct {
	Place      string
	Kind       byte // '{', '[', '"', '0' or 't'
	Start, End int
}

// Spans lists every value of a JSON text, as encoding/json sees them.
func Spans(t testing.TB, text string) []Span {
	t.Helper()
	dec := json.NewDecoder(strings.NewReader(text))
	dec.UseNumber()
	var all []Span
	token := func() (tok json.Token, start int) {
		start = int(dec.InputOffset())
		start += len(text[start:]) - len(strings.TrimLeft(text[start:], " \n\t,:"))
		tok, err := dec.Token()
		if err != nil {
			t.Fatal(err)
		}
		return tok, start
	}
	var walk func(place string)
	walk = func(place string) {
		tok, start := token()
		i := len(all)
		all = append(all, Span{Place: place, Start: start})
		switch tok := tok.(type) {
		case json.Delim:
			all[i].Kind = byte(tok)
			for n := 0; dec.More(); n++ {
				if tok == '[' {
					walk(fmt.Sprintf("%s[%d]", place, n))
					continue
				}
				key, _ := token()
				walk(strings.TrimPrefix(place+"."+key.(string), "."))
			}
			token()
		case string:
			all[i].Kind = '"'
		case json.Number:
			all[i].Kind = '0'
		case bool:
			all[i].Kind = 't'
		}
		all[i].End = int(dec.InputOffset())
	}
	walk("")
	return all
}

// With is the text with another value in a Span's place.
func (s Span) With(text, value string) string { return text[:s.Start] + value + text[s.End:] }

func Written(t interface{ Fatal(...any) }, file io.WriterTo) []byte {
	var b bytes.Buffer
	if _, err := file.WriteTo(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// ProblemsOf is the list of problems of an error that has one.
func ProblemsOf(t *testing.T, err error) (problems wheel.Problems) {
	t.Helper()
	if !errors.As(err, &problems) {
		t.Fatalf("error is a %T without problems: %v", err, err)
	}
	return problems
}
