package history_test

import (
	"strings"
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/history"
)

func TestAMarkHasANameInOneLine(t *testing.T) {
	for name, says := range map[string]string{
		" ":                      "the mark has no name; give it one, such as “before the school visit”",
		strings.Repeat("é", 201): "the mark's name has 201 characters; 200 at most",
		"a\nb":                   "the mark's name has characters that are not text; write it in one line",
	} {
		_, err := history.MarkName(name)
		refused(t, err, wheel.ErrInvalid, says)
	}
	if name, err := history.MarkName("  as it came in\n"); err != nil || name != "as it came in" {
		t.Errorf("the name is %q (%v)", name, err)
	}
	if _, err := history.MarkName(strings.Repeat("é", 200)); err != nil {
		t.Error(err)
	}
}

func TestANameMarksOneStateOnly(t *testing.T) {
	marks := []history.Mark{{ID: 2, Seq: 5, Name: "school"}, {ID: 1, Seq: 0, Name: "empty"}}
	for _, c := range []struct {
		name string
		seq  int64
		same int64 // the id of the mark that is there already, 0 for a new one
	}{
		{"school", 5, 2}, {"empty", 0, 1}, {"School", 5, 0}, {"new", 5, 0},
	} {
		m, err := history.FindMark(marks, "Mill Race", c.seq, c.name)
		if err != nil || (m == nil) != (c.same == 0) || m != nil && m.ID != c.same {
			t.Errorf("%s on edit %d finds %+v (%v), want mark %d", c.name, c.seq, m, err, c.same)
		}
	}
	_, err := history.FindMark(marks, "Mill Race", 6, "school")
	refused(t, err, wheel.ErrConflict, "Mill Race has a mark called school already; give this one another name, or remove that one first")
}

func TestAPinningHasAtMostAThousandMarks(t *testing.T) {
	marks := make([]history.Mark, 999)
	if m, err := history.FindMark(marks, "Mill Race", 0, "one"); m != nil || err != nil {
		t.Errorf("the thousandth: %+v (%v)", m, err)
	}
	marks = append(marks, history.Mark{ID: 7, Name: "one"})
	_, err := history.FindMark(marks, "Mill Race", 0, "one more")
	refused(t, err, wheel.ErrConflict, "Mill Race has 1000 marks; 1000 at most, so remove some first")
	if m, err := history.FindMark(marks, "Mill Race", 0, "one"); err != nil || m == nil || m.ID != 7 {
		t.Errorf("one that is there: %+v (%v)", m, err)
	}
}
