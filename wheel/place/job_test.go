package place

import (
	"errors"
	"reflect"
	"strings"
	"testing"
	"time"

	"pinwright/wheel"
)

var nine = time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)

func refused(t *testing.T, err error, code wheel.Code, says string) {
	t.Helper()
	if !errors.Is(err, code) || !strings.Contains(err.Error(), says) {
		t.Errorf("it says %v, want a refusal (%s) that says %q", err, code, says)
	}
}

func TestChangeoverEndsWhenNothingIsLeftAndOpensAgainWhenSomethingIs(t *testing.T) {
	on := State{Known: true, Base: 3}
	j := Job{Kind: JobChangeover}.Begin(on, 2, nine)
	j.ID = 5
	if j.Moves != 2 || j.BeforeID != 3 || !j.UnderWay() {
		t.Fatalf("begun as %+v", j)
	}
	j, on = j.Settle(on, 2, nine)
	if !j.UnderWay() || on.Base != 3 || on.Toward != 5 {
		t.Errorf("with 2 left it is %+v, the wheel %+v", j, on)
	}
	later := nine.Add(time.Hour)
	j, on = j.Settle(on, 0, later)
	if !j.Finished || j.Ended != later || on.Base != 5 || on.Toward != 0 {
		t.Errorf("with nothing left it is %+v, the wheel %+v", j, on)
	}
	j, on = j.Settle(on, 0, later.Add(time.Hour))
	if j.Ended != later {
		t.Errorf("it ended at %v, and once more at %v", later, j.Ended)
	}
	j, on = j.Settle(on, 1, later)
	if !j.UnderWay() || j.Finished || on.Base != 3 || on.Toward != 5 {
		t.Errorf("with 1 left again it is %+v, the wheel %+v", j, on)
	}
}

func TestStoppedChangeoverEndsWithTheTapThatComesLate(t *testing.T) {
	on := State{Known: true, Base: 3, Toward: 5}
	j := Job{ID: 5, Kind: JobChangeover, BeforeID: 3, Begun: nine}.Stop(1, nine)
	if j.UnderWay() || j.Finished {
		t.Fatalf("stopped it is %+v", j)
	}
	if same, _ := j.Settle(on, 1, nine.Add(time.Hour)); !reflect.DeepEqual(same, j) {
		t.Errorf("with 1 left it is %+v, want %+v", same, j)
	}
	if j, on = j.Settle(on, 0, nine.Add(time.Hour)); !j.Finished || on.Base != 5 {
		t.Errorf("with nothing left it is %+v, the wheel %+v", j, on)
	}
}

func TestProofreadingIsFinishedOnceEveryStepIsReadAndSomeoneEndsIt(t *testing.T) {
	on := State{Known: true, Base: 3, Toward: 4}
	j := Job{ID: 5, Kind: JobProof, BeforeID: 3, Begun: nine}
	if same, carries := j.Settle(on, 0, nine); !reflect.DeepEqual(same, j) || carries != on {
		t.Errorf("read but not ended it is %+v, the wheel %+v", same, carries)
	}
	if whole := j.Stop(0, nine); !whole.Finished {
		t.Errorf("ended with every step read it is %+v", whole)
	}
	stopped := j.Stop(2, nine)
	if stopped.Finished || stopped.UnderWay() {
		t.Errorf("ended before its end it is %+v", stopped)
	}
	late, carries := stopped.Settle(on, 0, nine.Add(time.Hour))
	if !late.Finished || late.Ended != nine || carries != on {
		t.Errorf("after the last reading came late it is %+v, the wheel %+v", late, carries)
	}
}

func TestWhatIsPutRightLeavesAloneWhatTheWheelCarries(t *testing.T) {
	on := State{Known: true, Base: 3, Toward: 4}
	if j, carries := (Job{ID: 6, Kind: JobPutRight, BeforeID: 3, Begun: nine}).Settle(on, 0, nine); !j.Finished || carries != on {
		t.Errorf("it is %+v, the wheel %+v", j, carries)
	}
}

func TestOnlyStoppedLatestWorkIsResumed(t *testing.T) {
	stopped := Job{Kind: JobChangeover, Begun: nine, Ended: nine}
	if j, err := stopped.Resume(true); err != nil || !j.UnderWay() {
		t.Errorf("%+v, %v", j, err)
	}
	_, err := stopped.Resume(false)
	refused(t, err, wheel.ErrConflict, "this work cannot be resumed")
	finished := stopped
	finished.Finished = true
	_, err = finished.Resume(true)
	refused(t, err, wheel.ErrConflict, "this work cannot be resumed")
}

func TestOnlyTheLatestProofreadingIsPutRight(t *testing.T) {
	proof := Job{ID: 5, MachineID: 1, PinningID: 2, Kind: JobProof, Steps: 64, Start: 7}
	if j, err := proof.PutRight(true, "Hailstone"); err != nil || j.Kind != JobPutRight || j.Steps != 64 || j.Start != 7 || j.PinningID != 2 || j.ID != 0 {
		t.Errorf("%+v, %v", j, err)
	}
	_, err := proof.PutRight(false, "Hailstone")
	refused(t, err, wheel.ErrConflict, "other work was done on the wheel of Hailstone since")
	_, err = Job{Kind: JobChangeover}.PutRight(true, "Hailstone")
	refused(t, err, wheel.ErrConflict, "other work was done")
}

func TestWorkBeginsOnKnownWheelsAtRest(t *testing.T) {
	if err := (State{Known: true}).Free("Hailstone"); err != nil {
		t.Error(err)
	}
	refused(t, State{}.Free("Hailstone"), wheel.ErrConflict, "nobody has said yet what is on the wheel of Hailstone")
	refused(t, State{Known: true, Working: true}.Free("Hailstone"), wheel.ErrConflict, "work on the wheel of Hailstone is under way")
	if err := (State{}).AtRest("Hailstone"); err != nil {
		t.Error("what is on a wheel that nobody knows can be said:", err)
	}
	m := machine(64, 60)
	for _, start := range []int{-1, 64} {
		refused(t, CheckStart(m, start), wheel.ErrInvalid, "the wheel of Hailstone has steps 0 to 63")
	}
	if err := CheckStart(m, 63); err != nil {
		t.Error(err)
	}
}

func TestLatestUnfinishedChangeoverIsWhatAWheelStandsOn(t *testing.T) {
	jobs := []Job{
		{ID: 1, Kind: JobChangeover, Finished: true}, {ID: 2, Kind: JobChangeover}, {ID: 4, Kind: JobChangeover}, {ID: 3, Kind: JobChangeover}, {ID: 6, Kind: JobProof},
	}
	if j, ok := Toward(jobs); !ok || j.ID != 4 {
		t.Errorf("it is %+v, %v", j, ok)
	}
	if j, ok := Toward(jobs[:1]); ok {
		t.Errorf("a finished one is %+v", j)
	}
}

func TestWordsOfAJobSayWhatAndHowFar(t *testing.T) {
	head := wheel.Head{Title: "Mill Race"}
	ended := nine.Add(time.Hour)
	for _, c := range []struct {
		job  Job
		want string
	}{
		{Job{Kind: JobSaid, Head: head, Ended: ended, Finished: true}, "Said to be on the wheel: Mill Race"},
		{Job{Kind: JobChangeover, Head: head, Moves: 1}, "Changeover to Mill Race, 1 pull or drive: under way"},
		{Job{Kind: JobChangeover, Head: head, Moves: 12, Ended: ended}, "Changeover to Mill Race, 12 pulls and drives: stopped"},
		{Job{Kind: JobProof, Ended: ended, Finished: true}, "Proofreading of what is read"},
		{Job{Kind: JobPutRight, Moves: 2, Ended: ended, Finished: true}, "Correction after a proofreading, 2 pulls and drives"},
	} {
		if got := c.job.Words("what is read"); got != c.want {
			t.Errorf("it says %q, want %q", got, c.want)
		}
	}
	for _, c := range []struct {
		title  string
		apart  int
		toward *Job
		want   string
	}{
		{"Mill Race", 0, &Job{}, "Mill Race"},
		{NothingOn, 0, nil, "a bare wheel"},
		{"Mill Race", 1, nil, "what is on the wheel of Hailstone, Mill Race except for 1 pin"},
		{NothingOn, 3, &Job{Head: head}, "what is on the wheel of Hailstone, between a bare wheel and Mill Race"},
	} {
		if got := ReadBy("Hailstone", wheel.Head{Title: c.title}, c.apart, c.toward); got != c.want {
			t.Errorf("it reads %q, want %q", got, c.want)
		}
	}
}
