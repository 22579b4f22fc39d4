package wheel_test

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"reflect"
	"strings"
	"testing"

	"pinwright/wheel"
)

// example is a file of testdata.
func example(t testing.TB, name string) string {
	t.Helper()
	data, err := os.ReadFile("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

const (
	machineFile = "hailstone.json"
	pinningFile = "mill-race.json"
)

func readMachine(text string) error {
	_, err := wheel.ReadMachine([]byte(text))
	return err
}

func readPinning(text string) error {
	_, err := wheel.ReadPinning([]byte(text))
	return err
}

// edit replaces one piece of a text, which has to be there once.
func edit(t testing.TB, text, old, new string) string {
	t.Helper()
	if n := strings.Count(text, old); n != 1 {
		t.Fatalf("%q is there %d times", old, n)
	}
	return strings.Replace(text, old, new, 1)
}

func wantProblems(t *testing.T, err error, want ...string) {
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

// span is a value in a JSON text and its place.
type span struct {
	place      string
	kind       byte // '{', '[', '"', '0' or 't'
	start, end int
}

// spans lists every value of a JSON text, as encoding/json sees them.
func spans(t testing.TB, text string) []span {
	t.Helper()
	dec := json.NewDecoder(strings.NewReader(text))
	dec.UseNumber()
	var all []span
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
		all = append(all, span{place: place, start: start})
		switch tok := tok.(type) {
		case json.Delim:
			all[i].kind = byte(tok)
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
			all[i].kind = '"'
		case json.Number:
			all[i].kind = '0'
		case bool:
			all[i].kind = 't'
		}
		all[i].end = int(dec.InputOffset())
	}
	walk("")
	return all
}

// with is the text with another value in a span's place.
func (s span) with(text, value string) string { return text[:s.start] + value + text[s.end:] }

func written(t interface{ Fatal(...any) }, file io.WriterTo) []byte {
	var b bytes.Buffer
	if _, err := file.WriteTo(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// problemsOf is the list of problems of an error that has one.
func problemsOf(t *testing.T, err error) (problems wheel.Problems) {
	t.Helper()
	if !errors.As(err, &problems) {
		t.Fatalf("error is a %T without problems: %v", err, err)
	}
	return problems
}
