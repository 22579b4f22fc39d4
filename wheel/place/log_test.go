package place

import (
	"context"
	"errors"
	"iter"
	"slices"
	"testing"

	"pinwright/wheel"
)

func TestProgressOfAChangeoverIsTheLastTapThatCanBeTakenBack(t *testing.T) {
	w := smallTaker(JobChangeover)
	log := Taps{
		{ID: "a", Kind: TapDone, Step: 1, Changes: []wheel.PinChange{wheel.Drive(wheel.Pin{Channel: "c1", Step: 1})}},
		{ID: "b", Kind: TapDone, Step: 3, Changes: []wheel.PinChange{wheel.Drive(wheel.Pin{Channel: "c1", Step: 3})}},
		{ID: "c", Kind: TapBack, Of: "b"},
		{ID: "d", Kind: TapDone, Step: 1}, // found all done already
	}
	if err := w.SetProgress(context.Background(), log); err != nil || w.Last != "a" || w.LastStep != 1 {
		t.Errorf("the last is %q at step %d, %v; want a at 1", w.Last, w.LastStep, err)
	}
	if err := w.SetProgress(context.Background(), Taps{}); err != nil || w.Last != "" {
		t.Errorf("of nothing the last is %q, %v", w.Last, err)
	}
}

// The hole at step 5 was found filled and then, looked at again, empty: it is as
// it should be.
func TestProgressOfAProofreadingIsWhatWasReadAndFound(t *testing.T) {
	w := smallTaker(JobProof)
	five, two := wheel.Pin{Channel: "c1", Step: 5}, wheel.Pin{Channel: "c0", Step: 2}
	log := Taps{
		{ID: "a", Kind: TapRead, Step: 4}, {ID: "b", Kind: TapRead, Step: 2}, {ID: "c", Kind: TapRead, Step: 4},
		{ID: "d", Kind: TapFound, Step: 5, Changes: []wheel.PinChange{wheel.Drive(five)}},
		{ID: "e", Kind: TapFound, Step: 2, Changes: []wheel.PinChange{wheel.Pull(two)}},
		{ID: "f", Kind: TapFound, Step: 5, Changes: []wheel.PinChange{wheel.Pull(five)}},
	}
	if err := w.SetProgress(context.Background(), log); err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(w.Read, []int{2, 4}) || change(w.Found) != "-c0:2" || w.Left() != 6 {
		t.Errorf("read are %v, found %q, %d left; want 2 and 4, -c0:2, 6", w.Read, change(w.Found), w.Left())
	}
}

// broken is a log that cannot be read.
type broken struct{ Taps }

var errBroken = errors.New("broken")

func (broken) Tap(context.Context, string) (KeptTap, bool, error)      { return KeptTap{}, false, errBroken }
func (broken) Kind(context.Context, TapKind) ([]KeptTap, error)        { return nil, errBroken }
func (broken) KindAt(context.Context, TapKind, int) ([]KeptTap, error) { return nil, errBroken }
func (broken) Steps(context.Context, TapKind) ([]int, error)           { return nil, errBroken }
func (broken) LatestFirst(context.Context) (iter.Seq[KeptTap], func() error) {
	return func(func(KeptTap) bool) {}, func() error { return errBroken }
}

// A step that has something left to do needs no other tap; all else does.
func TestALogThatCannotBeReadRefusesWhatNeedsIt(t *testing.T) {
	ctx := context.Background()
	w := smallTaker(JobChangeover)
	if _, err := w.Take(ctx, doneTap("a", 1, "c1"), w.m, broken{}); err != nil {
		t.Errorf("a step that is left to do: %v", err)
	}
	for _, tap := range []Tap{doneTap("a", 1, "c0"), {ID: "b", Kind: TapBack, Of: "a"}} {
		if _, err := w.Take(ctx, tap, w.m, broken{}); !errors.Is(err, errBroken) {
			t.Errorf("%s: %v", tap.Kind, err)
		}
	}
	for _, kind := range []JobKind{JobChangeover, JobProof} {
		if err := smallTaker(kind).SetProgress(ctx, broken{}); !errors.Is(err, errBroken) {
			t.Errorf("progress of %s: %v", kind, err)
		}
	}
}

func TestTouchedAreTheStepsOfTapsUnlessWorkBeganOrEnded(t *testing.T) {
	at := func(kind TapKind, step int) StepTap { return StepTap{kind, step} }
	taps := []StepTap{at(TapDone, 5), at(TapTrouble, 2), at(TapBack, 5), at(TapRead, 0), at(TapFound, 3)}
	if steps, ok := Touched(slices.Values(taps)); !ok || !slices.Equal(steps, []int{0, 2, 3, 5}) {
		t.Errorf("they are %v, %v", steps, ok)
	}
	if steps, ok := Touched(slices.Values([]StepTap{})); !ok || len(steps) != 0 {
		t.Errorf("of no taps they are %v, %v", steps, ok)
	}
	for _, kind := range []TapKind{TapSaid, TapBegin, TapStop, TapResume} {
		looked := 0
		_, ok := Touched(func(yield func(StepTap) bool) {
			for _, tap := range []StepTap{at(TapDone, 5), at(kind, 0), at(TapDone, 6)} {
				if looked++; !yield(tap) {
					return
				}
			}
		})
		if ok || looked != 2 {
			t.Errorf("after %s every step is said to be known (%v), after %d taps", kind, ok, looked)
		}
	}
}
