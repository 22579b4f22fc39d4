package store

import (
	"context"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/history"
)

func TestAMarkIsReturnedToAndTwoAreCompared(t *testing.T) {
	ctx := context.Background()
	s, id := openPinning(t)
	mark := func(name string) history.Mark {
		t.Helper()
		m, err := s.SetMark(ctx, id, name)
		if err != nil {
			t.Fatal(err)
		}
		return m
	}
	empty := mark("as it came in")
	send(t, s, id, anEdit("x1", 0, wheel.Drive(pinAt("a", 3)), wheel.Drive(pinAt("b", 3))))
	school := mark("  before the school visit ")
	if school.Name != "before the school visit" || school.Seq != 1 || school.At.IsZero() || school.PinningID != id {
		t.Errorf("the mark is %+v", school)
	}
	if again := mark("before the school visit"); again != school {
		t.Errorf("set twice it is %+v, want %+v", again, school)
	}
	send(t, s, id, anEdit("x2", 1, wheel.Pull(pinAt("a", 3)), wheel.Drive(pinAt("c", 9))))
	_, err := s.SetMark(ctx, id, "before the school visit")
	refused(t, err, wheel.ErrConflict, "Mill Race has a mark called before the school visit already; give this one another name, or remove that one first")

	back, err := s.ReturnTo(ctx, id, school.Seq, "r1", "Ben")
	if err != nil || back.Kind != history.KindReturn || back.Of != 1 || back.Words != "return to “before the school visit”" || back.By != "Ben" {
		t.Errorf("returned: %+v (%v)", back, err)
	}
	wantPins(t, s, id, pinAt("a", 3), pinAt("b", 3))
	if _, err := s.Undo(ctx, id, back.Seq, "u1", ""); err != nil {
		t.Error(err)
	}
	wantPins(t, s, id, pinAt("b", 3), pinAt("c", 9))
	wantState(t, s, id, 4, 2, 3)

	var at [2]*wheel.Pinning
	for i, m := range []history.Mark{school, mark("now")} {
		if at[i], err = s.PinningAt(ctx, id, m.Seq); err != nil {
			t.Fatal(err)
		}
	}
	want := []wheel.PinChange{wheel.Pull(pinAt("a", 3)), wheel.Drive(pinAt("c", 9))}
	if got := wheel.Differences(at[0], at[1]); !reflect.DeepEqual(got, want) {
		t.Errorf("they differ by %v, want %v", got, want)
	}

	marks, err := s.Marks(ctx, id)
	if err != nil || len(marks) != 3 || marks[0].Name != "now" || marks[1] != school || marks[2] != empty {
		t.Errorf("the marks are %+v (%v)", marks, err)
	}
	if err := s.RemoveMark(ctx, id, school.ID); err != nil {
		t.Fatal(err)
	}
	refused(t, s.RemoveMark(ctx, id, school.ID), wheel.ErrNotFound, "there is no mark 2; it may have been removed already")
	refused(t, s.RemoveMark(ctx, id+1, empty.ID), wheel.ErrNotFound, "there is no mark 1; it may have been removed already")
	if e, err := s.ReturnTo(ctx, id, 1, "r2", ""); err != nil || e.Words != "return to edit 1" {
		t.Errorf("without its mark: %+v (%v)", e, err)
	}
}

func TestAMarkThatCannotBeSetOrReturnedToIsRefused(t *testing.T) {
	ctx := context.Background()
	s, id := openPinning(t)
	for name, says := range map[string]string{
		" ":                      "the mark has no name; give it one, such as “before the school visit”",
		strings.Repeat("é", 201): "the mark's name has 201 characters; 200 at most",
		"a\nb":                   "the mark's name has characters that are not text; write it in one line",
	} {
		_, err := s.SetMark(ctx, id, name)
		refused(t, err, wheel.ErrInvalid, says)
	}
	_, err := s.SetMark(ctx, 9, "one")
	refused(t, err, wheel.ErrNotFound, "there is no pinning 9; it may have been removed")
	for _, seq := range []int64{1, -1} {
		says := fmt.Sprintf("there is no edit %d of Mill Race; the last one is 0", seq)
		_, err := s.ReturnTo(ctx, id, seq, "r1", "")
		refused(t, err, wheel.ErrNotFound, says)
		_, err = s.PinningAt(ctx, id, seq)
		refused(t, err, wheel.ErrNotFound, says)
	}
	_, err = s.PinningAt(ctx, 9, 0)
	refused(t, err, wheel.ErrNotFound, "there is no pinning 9; it may have been removed")
	if _, err := s.writer.Exec(`
		WITH RECURSIVE n (i) AS (VALUES (1) UNION ALL SELECT i + 1 FROM n WHERE i < ?)
		INSERT INTO marks (pinning_id, seq, name, at_us) SELECT ?, 0, i, 0 FROM n`, history.MaxMarks, id); err != nil {
		t.Fatal(err)
	}
	_, err = s.SetMark(ctx, id, "one more")
	refused(t, err, wheel.ErrConflict, "Mill Race has 1000 marks; 1000 at most, so remove some first")
}
