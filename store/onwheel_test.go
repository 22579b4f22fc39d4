package store

import (
	"context"
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/place"
)

func pinsAt(title string, pins ...wheel.Pin) *wheel.Pinning {
	return &wheel.Pinning{Format: wheel.PinningFormat, Title: title, TempoBPM: 84, Pins: pins}
}

func at(channel string, step int) wheel.Pin { return wheel.Pin{Channel: channel, Step: step} }

// workshop is a machine of three channels, with the pinning Old on its wheel
// and a pinning New to come. Old has a1 b1 a2 a9, New has a1 c1 b2 a9 with
// advances, so that b1 and a2 are to be pulled, c1 and b2 to be driven.
type workshop struct {
	s        *Store
	machine  int64
	old, new int64
}

func newWorkshop(t testing.TB) workshop {
	t.Helper()
	w := workshop{s: openNew(t)}
	w.machine = addMachine(t, w.s, smallMachine("Hailstone", 3))
	w.old = addPinning(t, w.s, w.machine, 0, pinsAt("Old", at("a", 1), at("b", 1), at("a", 2), at("a", 9)))
	next := pinsAt("New", at("a", 1), at("c", 1), at("b", 2), at("a", 9))
	next.Advance = map[string]int{"a": 3, "b": -1}
	w.new = addPinning(t, w.s, w.machine, 0, next)
	must(t, w.s.SayOnWheel(context.Background(), w.machine, w.old))
	return w
}

func must(t testing.TB, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

func (w workshop) begin(t testing.TB) place.Job {
	t.Helper()
	j, err := w.s.BeginChangeover(context.Background(), w.changeover(t))
	must(t, err)
	return j
}

func (w workshop) changeover(t testing.TB) place.NewChangeover {
	t.Helper()
	p, err := w.s.Pinning(context.Background(), w.new)
	must(t, err)
	m, err := w.s.Machine(context.Background(), w.machine)
	must(t, err)
	return place.NewChangeover{MachineID: w.machine, Revision: m.Revision, PinningID: w.new, Seq: w.on(t).Seq, Target: p.File}
}

func (w workshop) on(t testing.TB) place.OnWheel {
	t.Helper()
	on, err := w.s.OnWheel(context.Background(), w.machine)
	must(t, err)
	return on
}

// carries holds the pins on the wheel against those named, as in "a1 b1".
func (w workshop) carries(t testing.TB, want ...string) {
	t.Helper()
	got := []string{}
	for _, pin := range w.on(t).File.Pins {
		got = append(got, fmt.Sprint(pin.Channel, pin.Step))
	}
	slices.Sort(got)
	slices.Sort(want)
	if !slices.Equal(got, want) {
		t.Errorf("on the wheel are %v, want %v", got, want)
	}
}

func (w workshop) tap(t testing.TB, job int64, tap place.Tap) {
	t.Helper()
	must(t, w.tryTap(job, tap))
}

func (w workshop) tryTap(job int64, tap place.Tap) error {
	_, err := w.s.Tap(context.Background(), job, tap)
	return err
}

func done(id string, step int, channels ...string) place.Tap {
	return place.Tap{ID: id, Kind: place.TapDone, Step: step, Channels: channels}
}

func TestWheelIsNotKnownUntilSomeoneSays(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	m := addMachine(t, s, smallMachine("Hailstone", 1))
	if on, err := s.OnWheel(ctx, m); err != nil || on.Known {
		t.Errorf("%+v, %v", on, err)
	}
	_, err := s.BeginProof(ctx, m, 0)
	refused(t, err, wheel.ErrConflict, "nobody has said yet what is on the wheel of Hailstone; say that first")
	must(t, s.SayOnWheel(ctx, m, 0))
	on, err := s.OnWheel(ctx, m)
	if err != nil || !on.Known || len(on.File.Pins) != 0 || on.Base.Head.Title != place.NothingOn {
		t.Errorf("%+v, %v", on, err)
	}
}

func TestChangeoverEndsWithTheNewPinningOnTheWheel(t *testing.T) {
	w := newWorkshop(t)
	w.carries(t, "a1", "b1", "a2", "a9")
	j := w.begin(t)
	if j.Moves != 4 || !j.UnderWay() {
		t.Fatalf("begun as %+v; 2 pulls and 2 drives are to be done", j)
	}
	w.tap(t, j.ID, done("t1", 1, "b", "c"))
	w.carries(t, "a1", "c1", "a2", "a9")
	if on := w.on(t); on.Base.Head.Title != "Old" || on.Toward == nil || on.Toward.ID != j.ID || on.UnderWay == nil {
		t.Errorf("half way it is known as %+v", on)
	}
	w.tap(t, j.ID, done("t2", 2, "a", "b"))
	w.carries(t, "a1", "c1", "b2", "a9")
	on := w.on(t)
	if on.Base.ID != j.ID || on.Base.Head.Title != "New" || on.Toward != nil || on.UnderWay != nil || !on.Base.Finished || on.Base.PinningID != w.new {
		t.Errorf("at the end it is known as %+v", on)
	}
	// Aims are those of New: step + advance, 1 + 3, 1, 2 − 1, 9 + 3.
	for _, pin := range on.File.Pins {
		if want := map[wheel.Pin]float64{at("a", 1): 4, at("c", 1): 1, at("b", 2): 1, at("a", 9): 12}[at(pin.Channel, pin.Step)]; pin.Aim != wheel.AimAt(want) {
			t.Errorf("%s%d aims at %v, want %g", pin.Channel, pin.Step, pin.Aim, want)
		}
	}
	checkIntegrity(t, w.s)
}

func TestTapThatIsSentTwiceCountsOnce(t *testing.T) {
	w := newWorkshop(t)
	j := w.begin(t)
	w.tap(t, j.ID, done("t1", 1, "b", "c"))
	w.tap(t, j.ID, place.Tap{ID: "b1", Kind: place.TapBack, Step: 1, Of: "t1"})
	w.carries(t, "a1", "b1", "a2", "a9")
	seq := w.on(t).Seq
	w.tap(t, j.ID, done("t1", 1, "b", "c")) // sent again: it was taken back since
	w.tap(t, j.ID, place.Tap{ID: "b1", Kind: place.TapBack, Step: 1, Of: "t1"})
	w.carries(t, "a1", "b1", "a2", "a9")
	if got := w.on(t).Seq; got != seq {
		t.Errorf("%d taps are kept, want %d", got, seq)
	}
	refused(t, w.tryTap(j.ID, done("t1", 2, "a")), wheel.ErrConflict, "another tap with the id t1 is kept already, and this one was not")
}

func TestTwoWhoFinishAtOnceBothSucceed(t *testing.T) {
	w := newWorkshop(t)
	j := w.begin(t)
	w.tap(t, j.ID, done("t1", 1, "b", "c"))
	w.tap(t, j.ID, done("t2", 2, "a", "b"))
	w.tap(t, j.ID, done("t3", 2, "a", "b")) // the other's, a moment later
	w.carries(t, "a1", "c1", "b2", "a9")
	if on := w.on(t); on.Base.Head.Title != "New" {
		t.Errorf("known as %+v", on)
	}
	// Whoever says that it is not done is believed, also the one who came later.
	w.tap(t, j.ID, place.Tap{ID: "b3", Kind: place.TapBack, Step: 2, Of: "t3"})
	w.carries(t, "a1", "c1", "a2", "a9")
	w.tap(t, j.ID, place.Tap{ID: "b2", Kind: place.TapBack, Step: 2, Of: "t2"})
	w.carries(t, "a1", "c1", "a2", "a9")
}

func TestRowsLeftOutOfAStepStayLeft(t *testing.T) {
	w := newWorkshop(t)
	j := w.begin(t)
	w.tap(t, j.ID, done("t1", 1, "c"))
	w.carries(t, "a1", "b1", "c1", "a2", "a9")
}

func TestLastStepThatWasNotDoneOpensTheChangeoverAgain(t *testing.T) {
	w := newWorkshop(t)
	j := w.begin(t)
	w.tap(t, j.ID, done("t1", 1, "b", "c"))
	w.tap(t, j.ID, done("t2", 2, "a", "b"))
	w.tap(t, j.ID, place.Tap{ID: "b1", Kind: place.TapBack, Step: 2, Of: "t2"})
	w.carries(t, "a1", "c1", "a2", "a9")
	if on := w.on(t); on.Base.Head.Title != "Old" || on.UnderWay == nil || on.UnderWay.ID != j.ID || on.Toward == nil {
		t.Errorf("known as %+v", on)
	}
	w.tap(t, j.ID, done("t3", 2, "a", "b"))
	if on := w.on(t); on.Base.Head.Title != "New" || on.UnderWay != nil {
		t.Errorf("known as %+v", on)
	}
}

func TestStoppedChangeoverKnowsEveryHoleAndTakesLateTaps(t *testing.T) {
	ctx := context.Background()
	w := newWorkshop(t)
	j := w.begin(t)
	w.tap(t, j.ID, done("t1", 1, "b", "c"))
	must(t, w.s.StopJob(ctx, j.ID))
	must(t, w.s.StopJob(ctx, j.ID)) // by another, at once
	w.carries(t, "a1", "c1", "a2", "a9")
	w.tap(t, j.ID, done("late", 2, "a")) // made before the stop, sent after
	w.carries(t, "a1", "c1", "a9")
	must(t, w.s.ResumeJob(ctx, j.ID))
	w.tap(t, j.ID, done("t2", 2, "b"))
	if on := w.on(t); on.Base.Head.Title != "New" {
		t.Errorf("known as %+v", on)
	}
}

func TestTapOfWorkThatIsOverIsRefused(t *testing.T) {
	ctx := context.Background()
	w := newWorkshop(t)
	j := w.begin(t)
	refused(t, w.s.SayOnWheel(ctx, w.machine, 0), wheel.ErrConflict, "work on the wheel of Hailstone is under way; finish it, or stop it, first")
	must(t, w.s.StopJob(ctx, j.ID))
	must(t, w.s.SayOnWheel(ctx, w.machine, w.new))
	refused(t, w.tryTap(j.ID, done("t9", 1, "b")), wheel.ErrConflict,
		"other work on the wheel was begun since this tap; it was not kept. Look at step 1 on the wheel, and proofread it if in doubt")
	refused(t, w.s.ResumeJob(ctx, j.ID), wheel.ErrConflict, "this work cannot be resumed: it is finished, or other work was done on the wheel since")
	w.carries(t, "a1", "c1", "b2", "a9")
}

func TestHostileTapsAreRefused(t *testing.T) {
	w := newWorkshop(t)
	j := w.begin(t)
	for _, c := range []struct {
		tap  place.Tap
		kind error
		says string
	}{
		{done("", 1, "a"), wheel.ErrInvalid, "the tap has no id; without one it could not be told from the same tap sent twice"},
		{done("x", -1, "a"), wheel.ErrInvalid, "the tap is for step -1; the wheel has steps 0 to 255"},
		{done("x", 256, "a"), wheel.ErrInvalid, "the tap is for step 256; the wheel has steps 0 to 255"},
		{done("x", 1), wheel.ErrInvalid, "the tap says that a step is done and names 0 channels; it should be 1 to 1024"},
		{place.Tap{ID: "x", Kind: "dance"}, wheel.ErrInvalid, `the tap says "dance", which cannot be said at the wheel`},
		{place.Tap{ID: "x", Kind: place.TapBack, Of: "never"}, wheel.ErrConflict, "there is no such step to take back; look at what is left"},
		{place.Tap{ID: "x", Kind: place.TapRead}, wheel.ErrInvalid, `a tap that says "read" does not belong to this work on the wheel`},
		{place.Tap{ID: "x", Kind: place.TapTrouble, Trouble: "gremlins"}, wheel.ErrInvalid, `the trouble is "gremlins"; it should be bent pin, split hole, jammed lever or other`},
		{place.Tap{ID: "x", Kind: place.TapTrouble, Trouble: "other", Channel: "q"}, wheel.ErrInvalid, `the trouble is on the channel "q", and Hailstone has no such channel`},
	} {
		refused(t, w.tryTap(j.ID, c.tap), c.kind, c.says)
	}
	refused(t, w.tryTap(99, done("x", 1, "a")), wheel.ErrNotFound, "there is no such work on a wheel; its machine may have been removed")
	w.carries(t, "a1", "b1", "a2", "a9")
}

func TestChangeoverPlannedOnAnotherWheelIsNotBegun(t *testing.T) {
	ctx := context.Background()
	w := newWorkshop(t)
	n := w.changeover(t)
	must(t, w.s.SayOnWheel(ctx, w.machine, 0))
	_, err := w.s.BeginChangeover(ctx, n)
	refused(t, err, wheel.ErrConflict, "what is on the wheel of Hailstone has changed meanwhile; look at the changeover again, then begin it")
	n = w.changeover(t)
	must(t, w.s.ChangeMachine(ctx, w.machine, 1, "measured", []wheel.Set{{Path: "marble.clearance_mm", Value: 3}}))
	_, err = w.s.BeginChangeover(ctx, n)
	refused(t, err, wheel.ErrConflict, "Hailstone was changed by someone else meanwhile; look at the changeover again, then begin it")
	other := addMachine(t, w.s, smallMachine("Graupel", 3))
	must(t, w.s.SayOnWheel(ctx, other, 0))
	n.MachineID, n.Revision, n.Seq = other, 1, 1
	_, err = w.s.BeginChangeover(ctx, n)
	refused(t, err, wheel.ErrConflict, "the pinning New is of another machine, not of Graupel")
}

func TestPinsStayKnownWhenTheirPinningIsRemoved(t *testing.T) {
	ctx := context.Background()
	w := newWorkshop(t)
	must(t, w.s.RemovePinning(ctx, w.old))
	w.carries(t, "a1", "b1", "a2", "a9")
	if on := w.on(t); on.Base.Head.Title != "Old" || on.Base.PinningID != 0 || on.File.TempoBPM != 84 {
		t.Errorf("known as %+v", on)
	}
	j := w.begin(t)
	must(t, w.s.RemovePinning(ctx, w.new)) // while it is being driven
	w.tap(t, j.ID, done("t1", 1, "b", "c"))
	w.tap(t, j.ID, done("t2", 2, "a", "b"))
	w.carries(t, "a1", "c1", "b2", "a9")
	must(t, w.s.SayOnWheel(ctx, w.machine, 0))
	must(t, w.s.RemoveMachine(ctx, w.machine))
	checkIntegrity(t, w.s)
}

func TestProofreadingCorrectsWhatIsKnownAndIsPutRight(t *testing.T) {
	ctx := context.Background()
	w := newWorkshop(t)
	proof, err := w.s.BeginProof(ctx, w.machine, 0)
	must(t, err)
	found := func(id, channel string, step int, there bool) {
		w.tap(t, proof.ID, place.Tap{ID: id, Kind: place.TapFound, Step: step, Channel: channel, There: there})
	}
	for step := range 3 {
		w.tap(t, proof.ID, place.Tap{ID: fmt.Sprint("r", step), Kind: place.TapRead, Step: step})
	}
	found("f1", "b", 1, false)
	found("f2", "c", 2, true)
	found("f3", "a", 1, false) // touched by mistake
	found("f4", "a", 1, true)
	found("f5", "c", 2, true) // by the other phone too
	w.carries(t, "a1", "a2", "c2", "a9")
	now, err := w.s.Work(ctx, proof.ID)
	must(t, err)
	if want := []wheel.PinChange{wheel.Pull(at("b", 1)), wheel.Drive(at("c", 2))}; !reflect.DeepEqual(now.Found, want) || !slices.Equal(now.Read, []int{0, 1, 2}) {
		t.Errorf("found %+v, read %v", now.Found, now.Read)
	}
	refused(t, w.tryTap(proof.ID, place.Tap{ID: "f9", Kind: place.TapFound, Channel: "q", There: true}), wheel.ErrInvalid,
		`what was found does not fit Hailstone, and nothing was changed: changes[0].channel is "q", and Hailstone has no such channel`)
	must(t, w.s.StopJob(ctx, proof.ID))
	right, err := w.s.BeginPutRight(ctx, proof.ID)
	must(t, err)
	if right.Moves != 2 {
		t.Errorf("%d to be put right, want the 2 found", right.Moves)
	}
	w.tap(t, right.ID, done("p1", 1, "b"))
	w.tap(t, right.ID, done("p2", 2, "c"))
	w.carries(t, "a1", "b1", "a2", "a9")
	if on := w.on(t); on.Base.Kind != place.JobSaid || on.UnderWay != nil {
		t.Errorf("known as %+v", on)
	}
	_, err = w.s.BeginPutRight(ctx, proof.ID)
	refused(t, err, wheel.ErrConflict, "other work was done on the wheel of Hailstone since; proofread it again")
}

func TestTroubleIsKeptUntilItIsMended(t *testing.T) {
	ctx := context.Background()
	w := newWorkshop(t)
	j := w.begin(t)
	tap := place.Tap{ID: "x1", Kind: place.TapTrouble, Trouble: "split hole", Step: 1, Channel: "c", Note: " over the rim "}
	w.tap(t, j.ID, tap)
	w.tap(t, j.ID, tap)
	all, err := w.s.Troubles(ctx, w.machine, 10)
	must(t, err)
	if len(all) != 1 || all[0].Note != "over the rim" || all[0].Channel != "c" || all[0].Step != 1 || !all[0].Mended.IsZero() {
		t.Fatalf("%+v", all)
	}
	must(t, w.s.MendTrouble(ctx, w.machine, all[0].ID))
	if all, err = w.s.Troubles(ctx, w.machine, 10); err != nil || all[0].Mended.IsZero() {
		t.Errorf("%+v, %v", all, err)
	}
	refused(t, w.s.MendTrouble(ctx, w.machine+1, all[0].ID), wheel.ErrNotFound, "there is no such trouble")
}

// Whatever is tapped in whatever order, the pins on the wheel are those of the
// target where it was said last that they are, and of the pinning before
// elsewhere; the changeover is over when, and only when, none is left.
func TestWhatIsLeftIsToldFromThePins(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	for seed := range uint64(25) {
		rng := rand.New(rand.NewPCG(seed, 0))
		some := func(title string) *wheel.Pinning {
			p := pinsAt(title)
			for _, c := range []string{"a", "b", "c"} {
				for step := range 6 {
					if rng.IntN(2) == 0 {
						p.Pins = append(p.Pins, at(c, step))
					}
				}
			}
			return p
		}
		w := workshop{s: s, machine: addMachine(t, s, smallMachine(fmt.Sprint("Hailstone ", seed), 3))}
		from, to := some("Old"), some("New")
		w.old, w.new = addPinning(t, s, w.machine, 0, from), addPinning(t, s, w.machine, 0, to)
		must(t, s.SayOnWheel(ctx, w.machine, w.old))
		j := w.begin(t)
		is := map[wheel.Pin]bool{}
		for _, pin := range from.Pins {
			is[pin] = true
		}
		wanted := map[wheel.Pin]bool{}
		for _, pin := range to.Pins {
			wanted[pin] = true
		}
		type made struct {
			id      string
			step    int
			changed []wheel.Pin
		}
		var taps []made
		ever := map[wheel.Pin]bool{} // moved by some tap
		for i := range 12 {
			id := fmt.Sprint("t", i)
			if len(taps) > 0 && rng.IntN(4) == 0 {
				k := rng.IntN(len(taps))
				w.tap(t, j.ID, place.Tap{ID: id, Kind: place.TapBack, Of: taps[k].id})
				// A tap that found all done stands for the last that did something there.
				by := k
				if len(taps[k].changed) == 0 {
					for i := range taps {
						if len(taps[i].changed) > 0 && taps[i].step == taps[k].step {
							by = i
						}
					}
				}
				for _, pin := range taps[by].changed {
					if is[pin] == wanted[pin] {
						is[pin] = !wanted[pin]
					}
				}
				taps = slices.Delete(taps, by, by+1)
				continue
			}
			step, channel := rng.IntN(6), string("abc"[rng.IntN(3)])
			pin := at(channel, step)
			if is[pin] == wanted[pin] && !ever[pin] {
				refusedAsConflict(t, "a hole with nothing to do", w.tryTap(j.ID, done(id, step, channel)))
				continue
			}
			w.tap(t, j.ID, done(id, step, channel))
			m := made{id: id, step: step}
			if is[pin] != wanted[pin] {
				is[pin], ever[pin] = wanted[pin], true
				m.changed = append(m.changed, pin)
			}
			taps = append(taps, m)
		}
		var want []string
		same := true
		for _, c := range []string{"a", "b", "c"} {
			for step := range 6 {
				pin := at(c, step)
				if is[pin] {
					want = append(want, fmt.Sprint(c, step))
				}
				same = same && is[pin] == wanted[pin]
			}
		}
		w.carries(t, want...)
		if on := w.on(t); (on.UnderWay == nil) != same {
			t.Fatalf("seed %d: the work is under way: %v; all is as wanted: %v", seed, on.UnderWay != nil, same)
		}
	}
}

// A phone that was away sends trouble of a changeover that is long over: it is
// kept, and neither that changeover nor what the wheel carries is touched.
func TestTroubleThatComesLateOpensNoOldWorkAgain(t *testing.T) {
	w := newWorkshop(t)
	first := w.begin(t)
	w.tap(t, first.ID, done("t1", 1, "b", "c"))
	w.tap(t, first.ID, done("t2", 2, "a", "b"))
	w.old, w.new = w.new, w.old
	second := w.begin(t)
	w.tap(t, second.ID, done("t3", 1, "b", "c"))
	w.tap(t, second.ID, done("t4", 2, "a", "b"))
	w.tap(t, first.ID, place.Tap{ID: "late", Kind: place.TapTrouble, Trouble: "bent pin", Step: 1})
	on := w.on(t)
	if on.UnderWay != nil || on.Toward != nil || on.Base.ID != second.ID {
		t.Errorf("under way is %+v, the wheel carries %+v", on.UnderWay, on.Base)
	}
	if troubles, err := w.s.Troubles(context.Background(), w.machine, 9); err != nil || len(troubles) != 1 {
		t.Errorf("%+v, %v", troubles, err)
	}
}
