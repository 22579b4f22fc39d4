package history_test

import (
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
	"pinwright/wheel/file/filetest"
	"pinwright/wheel/history"
)

func TestTwoChangesOfAHeadAreBothMadeUnlessTheyMeet(t *testing.T) {
	was := wheel.Head{Title: "Mill Race", TempoBPM: 84, Advance: map[string]int{"a": 2, "b": 1}}
	is := wheel.Head{Title: "Weir", TempoBPM: 84, Advance: map[string]int{"a": 3, "b": 1, "c": 4}}
	change := func(h wheel.Head) history.HeadChange { return history.HeadChange{Was: was, Now: h} }

	got, err := change(wheel.Head{Title: "Mill Race", TempoBPM: 90, Advance: map[string]int{"a": 2, "d": 5}}).Onto(is)
	want := wheel.Head{Title: "Weir", TempoBPM: 90, Advance: map[string]int{"a": 3, "c": 4, "d": 5}}
	if err != nil || !got.Equal(want) {
		t.Errorf("together they make %+v (%v), want %+v", got, err, want)
	}
	if is.Advance["b"] != 1 || len(was.Advance) != 2 {
		t.Error("what was given has changed")
	}
	if got, err := change(is).Onto(is); err != nil || !got.Equal(is) {
		t.Errorf("the same change twice makes %+v (%v)", got, err)
	}
	if got, err := change(wheel.Head{Title: "Mill Race", TempoBPM: 84, Advance: map[string]int{"a": 2, "b": 1, "e": 0}}).Onto(wheel.Head{}); err != nil || !got.Equal(wheel.Head{Advance: map[string]int{"e": 0}}) {
		t.Errorf("an advance of 0 makes %+v (%v)", got, err)
	}
	three := wheel.Head{Title: "Mill Race", TempoBPM: 84, BeatsPerBar: 3, Advance: was.Advance}
	if got, err := change(three).Onto(is); err != nil || got.BeatsPerBar != 3 || got.Title != "Weir" {
		t.Errorf("bars of 3 beats make %+v (%v)", got, err)
	}
	of := wheel.Head{Title: "Weir", BeatsPerBar: 6}
	_, err = change(three).Onto(of)
	filetest.WantProblems(t, err, `beats_per_bar is 6 by now; this would make it 3`)
	is.TempoBPM = 60
	_, err = change(wheel.Head{Title: "Sluice", TempoBPM: 90, Advance: map[string]int{"b": 1}}).Onto(is)
	filetest.WantProblems(t, err,
		`title is "Weir" by now; this would make it "Sluice"`,
		`tempo_bpm is 60 by now; this would make it 90`,
		`advance.a is 3 by now; this would make it left out`)
}

func anyHead(t *rapid.T, name string) wheel.Head {
	return wheel.Head{
		Title:        rapid.SampledFrom([]string{"Mill Race", "Weir"}).Draw(t, name+" title"),
		TempoBPM:     rapid.SampledFrom([]float64{60, 84}).Draw(t, name+" tempo"),
		StepsPerBeat: wheel.Count(rapid.IntRange(0, 2).Draw(t, name+" steps")),
		BeatsPerBar:  wheel.Count(rapid.IntRange(0, 2).Draw(t, name+" beats")),
		Advance:      rapid.MapOf(rapid.SampledFrom([]string{"a", "b"}), rapid.IntRange(0, 2)).Draw(t, name+" advance"),
	}
}

func TestAChangeOfAHeadNobodyElseChangedMakesItAndItsInverseUndoesIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := history.HeadChange{Was: anyHead(t, "was"), Now: anyHead(t, "now")}
		got, err := c.Onto(c.Was)
		if err != nil || !got.Equal(c.Now) {
			t.Fatalf("it makes %+v (%v), want %+v", got, err, c.Now)
		}
		back, err := c.Inverse().Onto(got)
		if err != nil || !back.Equal(c.Was) {
			t.Fatalf("undone it is %+v (%v), want %+v", back, err, c.Was)
		}
	})
}

// Whatever two people make of one head, both get what they asked for, whoever
// comes first, or the second is refused.
func TestTwoChangesOfAHeadMakeTheSameInEitherOrder(t *testing.T) {
	met := 0
	rapid.Check(t, func(t *rapid.T) {
		was := anyHead(t, "was")
		one, two := history.HeadChange{Was: was, Now: anyHead(t, "one")}, history.HeadChange{Was: was, Now: anyHead(t, "two")}
		first, errFirst := two.Onto(one.Now)
		second, errSecond := one.Onto(two.Now)
		if (errFirst == nil) != (errSecond == nil) {
			t.Fatalf("one way %v, the other %v", errFirst, errSecond)
		}
		if errFirst != nil {
			met++
			return
		}
		if !first.Equal(second) {
			t.Fatalf("one way %+v, the other %+v", first, second)
		}
	})
	if met == 0 {
		t.Error("no two changes met")
	}
}
