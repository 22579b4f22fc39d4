package place

import (
	"slices"
	"testing"
	"time"
)

// Worked by hand. One job: 5 steps of 6 pins, a minute apart, are 4 minutes of
// work with 6 pins each. After a pause of 10 minutes, steps of 4 pins every 30
// s: 4 gaps, 2 minutes with 8 pins each. Another job's first step follows no
// other. Minutes: 6 6 6 6 8 8; the median is 6.
func TestRateIsTheMedianOfMinutesThatWereWorked(t *testing.T) {
	start := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	var done []DoneStep
	now := start
	add := func(job int64, after time.Duration, pins int) {
		now = now.Add(after)
		done = append(done, DoneStep{Job: job, At: now, Pins: pins})
	}
	for i := range 5 {
		add(1, min(time.Duration(i), 1)*time.Minute, 6)
	}
	add(1, 10*time.Minute, 40) // nobody knows how long these took
	for range 4 {
		add(1, 30*time.Second, 4)
	}
	add(2, 30*time.Second, 9)
	if rate, known := Rate(done); !known || rate != 6 {
		t.Errorf("rate %g, known %v; want 6", rate, known)
	}
}

// Worked by hand: 10 pins moved evenly over 100 s are 6 in the first minute and
// 4 in 40 s; 12 pins over the next 80 s are 3 in the 20 s that the second minute
// lacks, which makes 7, and 9 in the third. The median of 6, 7, 9 is 7.
func TestPinsOfALongStepAreSharedAmongItsMinutes(t *testing.T) {
	start := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	rate, known := Rate([]DoneStep{{Job: 1, At: start, Pins: 1}, {Job: 1, At: start.Add(100 * time.Second), Pins: 10}, {Job: 1, At: start.Add(180 * time.Second), Pins: 12}})
	if !known || rate < 7-1e-9 || rate > 7+1e-9 {
		t.Errorf("rate %g, known %v; want 7", rate, known)
	}
}

func TestRateIsNotKnownBeforeTwentyPinsAndAMinute(t *testing.T) {
	start := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		name string
		done []DoneStep
	}{
		{"nothing done", nil},
		{"19 pins", []DoneStep{{Job: 1, At: start, Pins: 10}, {Job: 1, At: start.Add(time.Minute), Pins: 9}}},
		{"less than a minute", []DoneStep{{Job: 1, At: start, Pins: 10}, {Job: 1, At: start.Add(59 * time.Second), Pins: 20}}},
		{"all in one moment", []DoneStep{{Job: 1, At: start, Pins: 100}, {Job: 1, At: start, Pins: 100}}},
		{"pauses alone", []DoneStep{{Job: 1, At: start, Pins: 20}, {Job: 1, At: start.Add(121 * time.Second), Pins: 20}}},
		{"times that go back", []DoneStep{{Job: 1, At: start, Pins: 20}, {Job: 1, At: start.Add(-time.Hour), Pins: 20}}},
	} {
		if rate, known := Rate(c.done); known {
			t.Errorf("%s: the rate is said to be %g", c.name, rate)
		}
	}
	if rate, known := Rate([]DoneStep{{Job: 1, At: start, Pins: 10}, {Job: 1, At: start.Add(time.Minute), Pins: 10}}); !known || rate != 10 {
		t.Errorf("20 pins: rate %g, known %v; want 10", rate, known)
	}
}

// 20 pins a minute, of which a step of 20 was taken back: 10 a minute are left.
func TestStepsThatWereTakenBackMoveNoPins(t *testing.T) {
	start := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	done := []DoneStep{{Job: 1, At: start, Pins: 10}, {Job: 1, At: start.Add(30 * time.Second), Pins: 20, Back: true}, {Job: 1, At: start.Add(time.Minute), Pins: 10}}
	if rate, known := Rate(done); !known || rate != 10 {
		t.Errorf("rate %g, known %v; want 10", rate, known)
	}
}

// Taps come late and out of order; job 2 is listed after job 1 though its tap came
// first. What a tap of another job took back has nothing to do with this one's.
func TestDoneStepsAreInTheOrderOfJobsAndTimes(t *testing.T) {
	at := func(s int) time.Time { return nine.Add(time.Duration(s) * time.Second) }
	got := DoneSteps([]WorkTap{
		{Job: 2, ID: "a", Kind: TapDone, At: at(50), Pins: 1},
		{Job: 1, ID: "b", Kind: TapDone, At: at(30), Pins: 2},
		{Job: 1, ID: "c", Kind: TapDone, At: at(10), Pins: 3},
		{Job: 1, ID: "d", Kind: TapBack, Of: "b", At: at(40)},
		{Job: 1, ID: "e", Kind: TapBack, Of: "a", At: at(60)},
	})
	want := []DoneStep{{Job: 1, At: at(10), Pins: 3}, {Job: 1, At: at(30), Pins: 2, Back: true}, {Job: 2, At: at(50), Pins: 1}}
	if !slices.Equal(got, want) {
		t.Errorf("they are %+v, want %+v", got, want)
	}
}
