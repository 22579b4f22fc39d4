package file_test

import (
	"errors"
	"reflect"
	"strings"
	"testing"
	"unicode/utf8"

	"pinwright/wheel"
	"pinwright/wheel/file"
	"pinwright/wheel/file/filetest"
)

func FuzzReadMachine(f *testing.F) {
	f.Add([]byte(filetest.Example(f, filetest.MachineFile)))
	f.Add([]byte(filetest.Example(f, "every-key.json")))
	seed(f)
	f.Fuzz(func(t *testing.T, data []byte) {
		m, err := file.ReadMachine(data)
		if err != nil {
			sayWhatIsWrong(t, err)
			return
		}
		filetest.WantProblems(t, m.Check().Err())
		again, err := file.ReadMachine(filetest.Written(t, file.Machine(m)))
		if err != nil || !reflect.DeepEqual(again, m) {
			t.Errorf("came back, with error %v, as\n\t%+v\nwas\n\t%+v", err, again, m)
		}
	})
}

func FuzzReadPinning(f *testing.F) {
	f.Add([]byte(filetest.Example(f, filetest.PinningFile)))
	seed(f)
	m, err := file.ReadMachine([]byte(filetest.Example(f, filetest.MachineFile)))
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := file.ReadPinning(data)
		if err != nil {
			sayWhatIsWrong(t, err)
			return
		}
		filetest.WantProblems(t, p.Check().Err())
		if err := p.CheckOn(m).Err(); err != nil {
			sayWhatIsWrong(t, err)
		}
		again, err := file.ReadPinning(filetest.Written(t, file.Pinning(p)))
		if err != nil || !reflect.DeepEqual(again, p) {
			t.Errorf("came back, with error %v, as\n\t%+v\nwas\n\t%+v", err, again, p)
		}
	})
}

// seed adds the beginnings of what is wrong with files.
func seed(f *testing.F) {
	for _, text := range hostile(200) {
		f.Add([]byte(text))
	}
	for _, text := range []string{
		"", "\ufeff{}", "null", "[]", "{}{}", `{"a": NaN}`, `{"steps": 1e400}`, `{"x": "\ud800"}`, `{"\u0000": {"": -0}}`,
		`{"format":"pinwright-pinning/1","title":"x","pins":[{"channel":"a","step":0,"aim":-0.0},{"channel":"a","step":0}]}`,
		`{"format":"pinwright-machine/1","name":"x","marble":{"diameter_mm":1e-300},"channels":[{"id":"a","name":"a","kind":"bar","row":-0}]}`,
	} {
		f.Add([]byte(text))
	}
}

// sayWhatIsWrong fails unless an error says one thing a line, each line fit to
// be read.
func sayWhatIsWrong(t *testing.T, err error) {
	t.Helper()
	var problems wheel.Problems
	if !errors.As(err, &problems) {
		t.Fatalf("error is a %T: %v", err, err)
	}
	if len(problems) == 0 || len(problems) > 101 {
		t.Errorf("%d problems", len(problems))
	}
	for _, p := range problems {
		line := p.String()
		if p.Says == "" || !utf8.ValidString(line) || len(line) > 2000 || strings.Contains(line, "%!") ||
			strings.ContainsFunc(line, func(r rune) bool { return r < ' ' || r >= 0x7f && r < 0xa0 }) {
			t.Errorf("a problem reads %q", line)
		}
	}
}
