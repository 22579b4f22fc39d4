package place

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"pinwright/wheel"
	"pinwright/wheel/place/placetest"
)

// working is a latest job of a kind from one pinning to another.
func working(kind JobKind, m *wheel.Machine, from, to *wheel.Pinning) *Work {
	return &Work{Job: Job{ID: 5, Kind: kind, Steps: m.Wheel.Steps, Begun: nine}, Latest: true, On: sorted(from.Pins), Target: to}
}

func doneTap(id string, step int, channels ...string) Tap {
	return Tap{ID: id, Kind: TapDone, Step: step, Channels: channels}
}

// holes writes pins as "c0:3 c1:7".
func holes(pins []wheel.Pin) string {
	var all []string
	for _, p := range pins {
		all = append(all, fmt.Sprintf("%s:%d", p.Channel, p.Step))
	}
	slices.Sort(all)
	return strings.Join(all, " ")
}

// change is what a tap changes, as "+c0:3 -c1:7".
func change(changes []wheel.PinChange) string {
	var all []string
	for _, c := range changes {
		sign := "-"
		if c.Now.Pin {
			sign = "+"
		}
		all = append(all, fmt.Sprintf("%s%s:%d", sign, c.Channel, c.Step))
	}
	slices.Sort(all)
	return strings.Join(all, " ")
}

// taker keeps what a work takes, as the store does.
type taker struct {
	*Work
	m    *wheel.Machine
	past []KeptTap
}

func (w *taker) take(t Tap) (KeptTap, error) {
	k, err := w.Take(context.Background(), t, w.m, Taps(w.past))
	if err == nil {
		w.Apply(k.Changes)
		w.past = append(w.past, k)
	}
	return k, err
}

// c0 has 1 and 2 and gets 1; c1 has none and gets 1 and 3: pulled is c0:2, driven
// are c1:1 and c1:3.
func smallTaker(kind JobKind) *taker {
	m := machine(8, 60, 62)
	return &taker{Work: working(kind, m, pinning("Old", []int{1, 2}), pinning("New", []int{1}, []int{1, 3})), m: m}
}

func TestDoneTapMovesWhatIsLeftAtItsStep(t *testing.T) {
	w := smallTaker(JobChangeover)
	if w.Left() != 3 {
		t.Fatalf("%d are left, want 3", w.Left())
	}
	for _, c := range []struct {
		tap  Tap
		want string
		left int
	}{
		{doneTap("a", 1, "c1"), "+c1:1", 2},
		{doneTap("b", 2, "c0", "c0"), "-c0:2", 1},
		{doneTap("c", 1, "c1"), "", 1}, // done already
		{doneTap("d", 3, "c1"), "+c1:3", 0},
	} {
		k, err := w.take(c.tap)
		if err != nil || change(k.Changes) != c.want || w.Left() != c.left {
			t.Errorf("%s changes %q, %v, and leaves %d; want %q and %d", c.tap.ID, change(k.Changes), err, w.Left(), c.want, c.left)
		}
	}
	if got := holes(w.On); got != "c0:1 c1:1 c1:3" {
		t.Errorf("on the wheel are %s", got)
	}
	_, err := w.take(doneTap("e", 1, "c0"))
	refused(t, err, wheel.ErrConflict, "there is nothing to pull or drive at step 1 on c0; load the page again")
}

func TestBackTapTakesBackOnceAndOnlyWhatIsStillSo(t *testing.T) {
	w := smallTaker(JobPutRight)
	back := func(of string) string {
		t.Helper()
		k, err := w.take(Tap{ID: "back " + of, Kind: TapBack, Of: of})
		if err != nil {
			t.Fatal(err)
		}
		return change(k.Changes)
	}
	for _, tap := range []Tap{doneTap("a", 1, "c1"), doneTap("again", 1, "c1"), doneTap("b", 2, "c0")} {
		if _, err := w.take(tap); err != nil {
			t.Fatal(err)
		}
	}
	if last, ok := LastDone(backward(w.past)); !ok || last.ID != "b" {
		t.Errorf("the last done is %+v, %v", last, ok)
	}
	// The tap that found all done already takes back the one that did it.
	if got := back("again"); got != "-c1:1" {
		t.Errorf("taking the second back changes %q", got)
	}
	if got := back("a"); got != "" {
		t.Errorf("taking the same back twice changes %q", got)
	}
	if got := back("b"); got != "+c0:2" || w.Left() != 3 {
		t.Errorf("taking the pull back changes %q and leaves %d", got, w.Left())
	}
	if last, ok := LastDone(backward(w.past)); ok {
		t.Errorf("with all taken back the last done is %+v", last)
	}
	_, err := w.take(Tap{ID: "x", Kind: TapBack, Of: "nobody's"})
	refused(t, err, wheel.ErrConflict, "there is no such step to take back")
}

func TestProofTapsCorrectTheRecord(t *testing.T) {
	w := smallTaker(JobProof)
	for _, c := range []struct {
		tap  Tap
		want string
	}{
		{Tap{ID: "r", Kind: TapRead, Step: 4}, ""},
		{Tap{ID: "there", Kind: TapFound, Step: 5, Channel: "c1", There: true}, "+c1:5"},
		{Tap{ID: "known", Kind: TapFound, Step: 5, Channel: "c1", There: true}, ""},
		{Tap{ID: "none", Kind: TapFound, Step: 1, Channel: "c0"}, "-c0:1"},
	} {
		if k, err := w.take(c.tap); err != nil || change(k.Changes) != c.want {
			t.Errorf("%s changes %q, %v; want %q", c.tap.ID, change(k.Changes), err, c.want)
		}
	}
	_, err := w.take(Tap{ID: "x", Kind: TapFound, Channel: "nobody's", There: true})
	refused(t, err, wheel.ErrInvalid, "what was found does not fit Hailstone, and nothing was changed")
}

func TestTapsThatDoNotBelongToTheWorkAreRefused(t *testing.T) {
	trouble := Tap{ID: "t", Kind: TapTrouble, Trouble: "bent pin", Channel: "c1"}
	for _, c := range []struct {
		name string
		kind JobKind
		late bool
		tap  Tap
		code wheel.Code
		says string
	}{
		{"done in a proofreading", JobProof, false, doneTap("a", 1, "c1"), wheel.ErrInvalid, `a tap that says "done" does not belong to this work`},
		{"read in a changeover", JobChangeover, false, Tap{Kind: TapRead}, wheel.ErrInvalid, `a tap that says "read" does not belong`},
		{"found in a changeover", JobChangeover, false, Tap{Kind: TapFound}, wheel.ErrInvalid, `a tap that says "found" does not belong`},
		{"after other work", JobChangeover, true, doneTap("a", 1, "c1"), wheel.ErrConflict, "Look at step 1 on the wheel"},
		{"before the wheel", JobChangeover, false, doneTap("a", -1, "c1"), wheel.ErrInvalid, "the wheel has steps 0 to 7"},
		{"past the wheel", JobChangeover, false, doneTap("a", 8, "c1"), wheel.ErrInvalid, "the wheel has steps 0 to 7"},
		{"trouble on no channel of it", JobProof, false, Tap{Kind: TapTrouble, Channel: "q"}, wheel.ErrInvalid, `the trouble is on the channel "q", and Hailstone has no such channel`},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := smallTaker(c.kind)
			w.Latest = !c.late
			_, err := w.take(c.tap)
			refused(t, err, c.code, c.says)
		})
	}
	w := smallTaker(JobChangeover)
	w.Latest = false
	if k, err := w.take(trouble); err != nil || len(k.Changes) > 0 {
		t.Errorf("trouble that comes late: %+v, %v", k, err)
	}
}

// Whoever does what at whatever step, and takes back whatever, what is left is
// always the difference between two sets of holes, counted here with a map; and
// once all of it is done the target is on the wheel.
func TestWhateverIsTappedWhatIsLeftIsTheDifference(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, from, to := placetest.Pinnings(t, 4)
		w := &taker{Work: working(JobChangeover, m, from, to), m: m}
		differ := func() int {
			set := map[wheel.Pin]bool{}
			for _, pins := range [][]wheel.Pin{w.On, to.Pins} {
				for _, p := range pins {
					p.Aim = wheel.Aim{}
					if set[p] {
						delete(set, p)
					} else {
						set[p] = true
					}
				}
			}
			return len(set)
		}
		if w.Left() != differ() {
			t.Fatalf("%d are left, want %d", w.Left(), differ())
		}
		for n := range rapid.IntRange(0, 12).Draw(t, "taps") {
			if i := len(w.past); i > 0 && rapid.Bool().Draw(t, "back") {
				of := w.past[rapid.IntRange(0, i-1).Draw(t, "of")]
				_, _ = w.take(Tap{ID: fmt.Sprint("b", n), Kind: TapBack, Of: of.ID})
			} else {
				channel := m.Channels[rapid.IntRange(0, len(m.Channels)-1).Draw(t, "channel")].ID
				_, _ = w.take(doneTap(fmt.Sprint("t", n), rapid.IntRange(0, m.Wheel.Steps-1).Draw(t, "step"), channel))
			}
			if w.Left() != differ() || !slices.IsSortedFunc(w.On, byStep) {
				t.Fatalf("%d are left, want %d; on the wheel are %v", w.Left(), differ(), w.On)
			}
		}
		stops, err := w.StopsLeft(m)
		if err != nil {
			t.Fatal(err)
		}
		for _, stop := range stops {
			on := 0
			for _, p := range w.On {
				if p.Step == stop.Step {
					on++
				}
			}
			tap := doneTap(fmt.Sprint("all", stop.Step), stop.Step)
			pulls := 0
			for _, move := range stop.Moves {
				tap.Channels = append(tap.Channels, move.Channel)
				if move.Do == Pull {
					pulls++
				}
			}
			if len(stop.Stay) != on-pulls {
				t.Fatalf("at step %d %d pins stay, of %d on it with %d to be pulled", stop.Step, len(stop.Stay), on, pulls)
			}
			if _, err := w.take(tap); err != nil {
				t.Fatal(err)
			}
		}
		if w.Left() != 0 || holes(w.On) != holes(to.Pins) {
			t.Fatalf("%d are left, and on the wheel are %s, want %s", w.Left(), holes(w.On), holes(to.Pins))
		}
	})
}

// The number is FNV-1a of 64 bits, worked out by a program in another language,
// over [7,{"ID":"t1","Kind":"done","Step":3,"Channels":["a","b"],"Channel":"",
// "There":false,"Of":"","Trouble":"","Note":""}] and a line's end. Databases have
// such numbers in them, so a tap sent again after an update has to have the same.
func TestFingerprintIsThatOfTheTapsKept(t *testing.T) {
	tap := doneTap("t1", 3, "a", "b")
	tap.Ago = time.Minute
	got, err := tap.Fingerprint(7)
	if err != nil || got != 8185812989229081830 {
		t.Errorf("it is %d, %v", got, err)
	}
	if other, _ := tap.Fingerprint(8); other == got {
		t.Error("the same tap of another job has the same")
	}
	if err := tap.CheckRepeat(got, got); err != nil {
		t.Error(err)
	}
	refused(t, tap.CheckRepeat(1, got), wheel.ErrConflict, "another tap with the id t1 is kept already")
}

func TestTapIsMadeWithinItsJobAndAWeek(t *testing.T) {
	now := nine.Add(30 * 24 * time.Hour)
	for _, c := range []struct {
		ago   time.Duration
		begun time.Time
		want  time.Time
	}{
		{time.Minute, nine, now.Add(-time.Minute)},
		{-time.Minute, nine, now},
		{365 * 24 * time.Hour, nine, now.Add(-7 * 24 * time.Hour)},
		{time.Hour, now.Add(-time.Minute), now.Add(-time.Minute)},
	} {
		if got := (&Tap{Ago: c.ago}).MadeAt(now, c.begun); !got.Equal(c.want) {
			t.Errorf("%v ago it was made at %v, want %v", c.ago, got, c.want)
		}
	}
}

func TestStepsLeftAreThoseOfTheLatestWorkThatFits(t *testing.T) {
	w := smallTaker(JobChangeover)
	w.Start, w.Moves = 2, 4
	stops, err := w.StopsLeft(w.m)
	if err != nil || len(stops) != 3 || stops[0].Step != 2 || stops[1].Step != 3 || stops[2].Step != 1 || !slices.Equal(stops[2].Stay, []string{"c0"}) {
		t.Errorf("%+v, %v", stops, err)
	}
	if got := w.LeftWords(); got != "3 of 4 pulls and drives left" {
		t.Errorf("it says %q", got)
	}
	w.Latest = false
	if stops, err := w.StopsLeft(w.m); err != nil || stops != nil {
		t.Errorf("after other work: %+v, %v", stops, err)
	}
	w.Latest = true
	small := machine(2, 60)
	if _, err := w.StopsLeft(small); err == nil || !strings.HasPrefix(err.Error(), "the pinning on the wheel: pins[1].step is 2") {
		t.Errorf("on a smaller machine: %v", err)
	}
	if lines := w.Misfit(small); len(lines) == 0 || !strings.HasPrefix(lines[0], "pins[") {
		t.Errorf("it does not fit: %q", lines)
	}
}
