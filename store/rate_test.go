package store

import (
	"context"
	"fmt"
	"testing"
	"time"
)

// Worked by hand. One job: 5 steps of 6 pins, a minute apart, are 4 minutes of
// work with 6 pins each. After a pause of 10 minutes, steps of 4 pins every 30
// s: 4 gaps, 2 minutes with 8 pins each. Another job's first step follows no
// other. Minutes: 6 6 6 6 8 8; the median is 6.
func TestRateIsTheMedianOfMinutesThatWereWorked(t *testing.T) {
	start := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	var done []workDone
	now := start
	add := func(job int64, after time.Duration, pins int) {
		now = now.Add(after)
		done = append(done, workDone{job, now, pins})
	}
	for i := range 5 {
		add(1, min(time.Duration(i), 1)*time.Minute, 6)
	}
	add(1, 10*time.Minute, 40) // nobody knows how long these took
	for range 4 {
		add(1, 30*time.Second, 4)
	}
	add(2, 30*time.Second, 9)
	if rate, known := rateOf(done); !known || rate != 6 {
		t.Errorf("rate %g, known %v; want 6", rate, known)
	}
}

// Worked by hand: 10 pins moved evenly over 100 s are 6 in the first minute and
// 4 in 40 s; 12 pins over the next 80 s are 3 in the 20 s that the second minute
// lacks, which makes 7, and 9 in the third. The median of 6, 7, 9 is 7.
func TestPinsOfALongStepAreSharedAmongItsMinutes(t *testing.T) {
	start := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	rate, known := rateOf([]workDone{{1, start, 1}, {1, start.Add(100 * time.Second), 10}, {1, start.Add(180 * time.Second), 12}})
	if !known || rate < 7-1e-9 || rate > 7+1e-9 {
		t.Errorf("rate %g, known %v; want 7", rate, known)
	}
}

func TestRateIsNotKnownBeforeTwentyPinsAndAMinute(t *testing.T) {
	start := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		name string
		done []workDone
	}{
		{"nothing done", nil},
		{"19 pins", []workDone{{1, start, 10}, {1, start.Add(time.Minute), 9}}},
		{"less than a minute", []workDone{{1, start, 10}, {1, start.Add(59 * time.Second), 20}}},
		{"all in one moment", []workDone{{1, start, 100}, {1, start, 100}}},
		{"pauses alone", []workDone{{1, start, 20}, {1, start.Add(121 * time.Second), 20}}},
		{"times that go back", []workDone{{1, start, 20}, {1, start.Add(-time.Hour), 20}}},
	} {
		if rate, known := rateOf(c.done); known {
			t.Errorf("%s: the rate is said to be %g", c.name, rate)
		}
	}
	if rate, known := rateOf([]workDone{{1, start, 10}, {1, start.Add(time.Minute), 10}}); !known || rate != 10 {
		t.Errorf("20 pins: rate %g, known %v; want 10", rate, known)
	}
}

// The kept taps tell the rate, each at the time at which it was made, however
// late it was sent; what was taken back does not count.
func TestRateComesFromKeptTaps(t *testing.T) {
	ctx := context.Background()
	w := newWorkshop(t)
	now := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	w.s.now = func() time.Time { return now }
	many := pinsAt("Many")
	for step := range 30 {
		many.Pins = append(many.Pins, at("a", step), at("b", step))
	}
	w.new = addPinning(t, w.s, w.machine, 0, many)
	must(t, w.s.SayOnWheel(ctx, w.machine, 0))
	j := w.begin(t)
	for step := range 11 { // 2 pins every 20 s: 6 a minute
		now = now.Add(20 * time.Second)
		if step == 5 {
			continue
		}
		w.tap(t, j.ID, done(fmt.Sprint("t", step), step, "a", "b"))
	}
	late := done("t5", 5, "a", "b")
	late.Ago = 100 * time.Second
	w.tap(t, j.ID, late)
	w.tap(t, j.ID, done("wrong", 29, "a", "b"))
	w.tap(t, j.ID, Tap{ID: "back", Kind: TapBack, Of: "wrong"})
	if rate, known, err := w.s.PinsPerMin(ctx, w.machine); err != nil || !known || rate < 6-1e-9 || rate > 6+1e-9 {
		t.Errorf("rate %g, known %v, %v; want 6", rate, known, err)
	}
}
