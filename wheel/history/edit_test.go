package history_test

import (
	"math"
	"strings"
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/history"
)

func TestAnEditThatCannotBeKeptOfAnyPinningIsRefused(t *testing.T) {
	good := history.NewEdit{ID: "x2", By: "Ann", Kind: "drive", Words: "drive a pin", Changes: []wheel.PinChange{wheel.Drive(pinAt("a", 4))}}
	if err := good.Check(); err != nil {
		t.Fatal(err)
	}
	headOnly := good
	headOnly.Changes, headOnly.Head = nil, &history.HeadChange{}
	if err := headOnly.Check(); err != nil {
		t.Error(err)
	}
	for _, c := range []struct {
		name string
		with func(*history.NewEdit)
		says string
	}{
		{"no id", func(n *history.NewEdit) { n.ID = "" }, "the edit has no id; without one it could not be told from the same edit sent twice"},
		{"a long id", func(n *history.NewEdit) { n.ID = strings.Repeat("x", 65) }, "the edit's id has 65 bytes; 64 at most"},
		{"an odd id", func(n *history.NewEdit) { n.ID = "x 2" }, `the edit's id is "x 2"; an id has no spaces and nothing but text`},
		{"an id of no text", func(n *history.NewEdit) { n.ID = "\xff" }, `the edit's id is "\xff"; an id has no spaces and nothing but text`},
		{"a long name", func(n *history.NewEdit) { n.By = strings.Repeat("é", 201) }, "the name of who made the edit has 201 characters; 200 at most"},
		{"a name of two lines", func(n *history.NewEdit) { n.By = "Ann\nBen" }, "the name of who made the edit has characters that are not text; write it in one line"},
		{"no kind", func(n *history.NewEdit) { n.Kind = "" }, `the edit's kind is ""; it should be one word of at most 20 small letters, such as drive`},
		{"a long kind", func(n *history.NewEdit) { n.Kind = strings.Repeat("k", 21) }, `the edit's kind is "kkkkkkkkkkkkkkkkkkkk"; it should be one word of at most 20 small letters, such as drive`},
		{"an odd kind", func(n *history.NewEdit) { n.Kind = "Drive" }, `the edit's kind is "Drive"; it should be one word of at most 20 small letters, such as drive`},
		{"undo", func(n *history.NewEdit) { n.Kind = "undo" }, `the edit's kind is "undo", which has a call of its own`},
		{"redo", func(n *history.NewEdit) { n.Kind = "redo" }, `the edit's kind is "redo", which has a call of its own`},
		{"return", func(n *history.NewEdit) { n.Kind = "return" }, `the edit's kind is "return", which has a call of its own`},
		{"no words", func(n *history.NewEdit) { n.Words = " \t" }, "the edit has no words; say in a line what it does"},
		{"many words", func(n *history.NewEdit) { n.Words = strings.Repeat("x", 201) }, "the edit's text has 201 characters; 200 at most"},
		{"words of two lines", func(n *history.NewEdit) { n.Words = "drive\na pin" }, "the edit's text has characters that are not text; write it in one line"},
		{"no changes", func(n *history.NewEdit) { n.Changes = nil }, "the edit changes nothing; it should name at least one hole"},
	} {
		t.Run(c.name, func(t *testing.T) {
			n := good
			c.with(&n)
			refused(t, n.Check(), wheel.ErrInvalid, c.says)
		})
	}
}

// What is asked for counts, not who asks, nor when.
func TestTheFingerprintTellsOneRequestFromAnother(t *testing.T) {
	n := history.NewEdit{ID: "x1", By: "Ann", Kind: "drive", Words: "drive a pin", Changes: []wheel.PinChange{wheel.Drive(pinAt("a", 4))}}
	print := func(n history.NewEdit, of int64) int64 {
		t.Helper()
		f, err := n.Fingerprint(of)
		if err != nil {
			t.Fatal(err)
		}
		return f
	}
	again := n
	again.ID, again.By, again.Base = "x9", "Ben", 7
	if print(again, 0) != print(n, 0) {
		t.Error("a new base and sender give a different fingerprint")
	}
	seen := map[int64]string{print(n, 0): "the edit"}
	for name, with := range map[string]func(*history.NewEdit){
		"kind":  func(n *history.NewEdit) { n.Kind = "move" },
		"words": func(n *history.NewEdit) { n.Words = "drive it" },
		"step":  func(n *history.NewEdit) { n.Changes = []wheel.PinChange{wheel.Drive(pinAt("a", 5))} },
		"was": func(n *history.NewEdit) {
			n.Changes = []wheel.PinChange{{Channel: "a", Step: 4, Was: pinAt("a", 4).InHole(), Now: pinAt("a", 4).InHole()}}
		},
		"head": func(n *history.NewEdit) { n.Head = &history.HeadChange{} },
	} {
		other := n
		with(&other)
		f := print(other, 0)
		if seen[f] != "" {
			t.Errorf("a different %s has the fingerprint of %s", name, seen[f])
		}
		seen[f] = name
	}
	if f := print(n, 3); seen[f] != "" {
		t.Errorf("going back to edit 3 has the fingerprint of %s", seen[f])
	}
	n.Head = &history.HeadChange{Now: wheel.Head{TempoBPM: math.NaN()}}
	_, err := n.Fingerprint(0)
	refused(t, err, wheel.ErrInvalid, "the edit cannot be kept: json: unsupported value: NaN")
}

// Kept histories hold fingerprints, so the way they are made cannot change. The
// number is FNV-1a (64 bits, its published offset and prime) over the JSON line
// ["drive","w",[{"channel":"a","step":4,"now":{}}],null,0], worked out in Python.
func TestAFingerprintIsTheSameInEveryVersion(t *testing.T) {
	const want = 856089674723723305
	n := history.NewEdit{Kind: "drive", Words: "w", Changes: []wheel.PinChange{wheel.Drive(pinAt("a", 4))}}
	if f, err := n.Fingerprint(0); err != nil || f != want {
		t.Errorf("it is %d (%v), want %d", f, err, int64(want))
	}
}

func TestAnIDThatIsTakenIsAnsweredOnlyIfTheSameWasAsked(t *testing.T) {
	kept := history.Edit{ID: "x1", Words: "drive a pin"}
	if err := kept.CheckRepeat(5, 5); err != nil {
		t.Error(err)
	}
	refused(t, kept.CheckRepeat(5, 6), wheel.ErrConflict, "another edit with the id x1 is kept already (drive a pin), and this one was not; send it with an id of its own")
}

func TestDrivenCountsPinsThatComeAndGo(t *testing.T) {
	e := history.Edit{Changes: []wheel.PinChange{
		wheel.Drive(pinAt("a", 1)), wheel.Drive(pinAt("a", 2)), wheel.Pull(pinAt("b", 1)),
		{Channel: "c", Step: 1, Was: pinAt("c", 1).InHole(), Now: aimedAt("c", 1, 3).InHole()},
	}}
	if n := e.Driven(); n != 1 {
		t.Errorf("two driven, one pulled, one aimed make %d more pins, want 1", n)
	}
}
