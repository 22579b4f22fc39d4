package place

import (
	"slices"
	"testing"

	"pinwright/wheel"
)

func TestMachineKeepsRowsAndStepsUnderThePinsOnItsWheel(t *testing.T) {
	for _, c := range []struct {
		name    string
		pins    map[string]int
		working bool
		change  func(m *wheel.Machine)
		says    string // empty: it may be
	}{
		{"a name, with pins on", map[string]int{"c0": 2}, true, func(m *wheel.Machine) { m.Channels[0].Name = "Other" }, ""},
		{"steps, of a bare wheel", nil, false, func(m *wheel.Machine) { m.Wheel.Steps = 128 }, ""},
		{"steps, with pins on", map[string]int{"c0": 2, "c1": 3}, false, func(m *wheel.Machine) { m.Wheel.Steps = 128 },
			"the wheel of Hailstone has 5 pins on it and would get 128 steps in place of 64"},
		{"the row of a channel without pins", map[string]int{"c0": 2}, false, func(m *wheel.Machine) { m.Channels[1].Row = 9 }, ""},
		{"the row of a channel with pins", map[string]int{"c1": 2}, false, func(m *wheel.Machine) { m.Channels[1].Row = 9 },
			"Bar 1 has pins on the wheel of Hailstone (2), and the change would remove their row, 1"},
		{"a channel with pins removed", map[string]int{"c1": 2}, false, func(m *wheel.Machine) { m.Channels = m.Channels[:1] }, "Bar 1 has pins on the wheel"},
		{"a row while work is under way", nil, true, func(m *wheel.Machine) { m.Channels[1].Row = 9 }, "work on the wheel of Hailstone is under way"},
		{"a channel more while work is under way", nil, true, func(m *wheel.Machine) {
			m.Channels = append(slices.Clone(m.Channels), wheel.Channel{ID: "c2", Row: 2})
		}, "work on the wheel of Hailstone is under way"},
	} {
		t.Run(c.name, func(t *testing.T) {
			before, after := machine(64, 60, 62), machine(64, 60, 62)
			c.change(after)
			err := CheckWheelStays(before, after, c.pins, c.working)
			if c.says == "" && err != nil {
				t.Error(err)
			} else if c.says != "" {
				refused(t, err, wheel.ErrConflict, c.says)
			}
		})
	}
}

func TestRecordOfAWheelIsLostOnlyBareAndAtRest(t *testing.T) {
	if err := CheckWheelBare("Hailstone", 0, false); err != nil {
		t.Error(err)
	}
	refused(t, CheckWheelBare("Hailstone", 3, false), wheel.ErrConflict, "Hailstone has 3 pins on its wheel")
	refused(t, CheckWheelBare("Hailstone", 0, true), wheel.ErrConflict, "work on the wheel of Hailstone is under way")
}

// c0:1 is in both targets, c0:2 in the later one alone, c1:3 in neither: with the
// advance of c1, 4, it aims at 7.
func TestPinsOnAWheelAimAsTheTargetsSay(t *testing.T) {
	aimed := func(channel string, step int, aim float64) wheel.Pin {
		return wheel.Pin{Channel: channel, Step: step, Aim: wheel.AimAt(aim)}
	}
	own := &wheel.Pinning{Pins: []wheel.Pin{aimed("c0", 1, 1.5), aimed("c0", 9, 9)}}
	since := &wheel.Pinning{Pins: []wheel.Pin{aimed("c0", 2, 2.5), aimed("c0", 1, 99)}}
	a := NewAims([]wheel.Pin{{Channel: "c1", Step: 3}, {Channel: "c0", Step: 2}, {Channel: "c0", Step: 1}})
	a.Take(own)
	if a.Lacking() != 2 {
		t.Errorf("%d lack an aim, want 2", a.Lacking())
	}
	a.Take(since)
	p := a.Pinning(wheel.Head{Title: "Mill Race", Advance: map[string]int{"c1": 4}}, "Hailstone")
	want := []wheel.Pin{aimed("c0", 1, 1.5), aimed("c0", 2, 2.5), aimed("c1", 3, 7)}
	if !slices.Equal(p.Pins, want) || p.Title != "Mill Race" || p.Machine != "Hailstone" || a.Lacking() != 1 {
		t.Errorf("they are %+v, want %+v; %d lack one", p, want, a.Lacking())
	}
}

func TestNextIsWhatAWheelStandsOnOrTheFirstThatItDoesNotCarry(t *testing.T) {
	on := OnWheel{Base: Job{PinningID: 7}}
	if got := on.Next([]int64{7, 9, 8}); got != 9 {
		t.Errorf("it is %d, want 9", got)
	}
	if got := on.Next([]int64{7}); got != 0 {
		t.Errorf("it is %d, want none", got)
	}
	on.Toward = &Job{PinningID: 8}
	if got := on.Next([]int64{7, 9, 8}); got != 8 {
		t.Errorf("it is %d, want 8", got)
	}
}

// Read are steps 1 and 2, where 2 pins should be; at 5, which nobody read, one
// too many was found. Of 2 pins 1 is missing: 1 of 3 is right, 33.3 % (worked by
// hand).
func TestReadingCountsWhatWasRightTheFirstTime(t *testing.T) {
	m := machine(8, 60, 62)
	w := working(JobProof, m, pinning("Old"), pinning("Old", []int{1, 2}, []int{7}))
	w.Read = []int{1, 2}
	w.Found = []wheel.PinChange{wheel.Pull(wheel.Pin{Channel: "c0", Step: 2}), wheel.Drive(wheel.Pin{Channel: "c1", Step: 5})}
	r := w.Reading()
	if want := (Reading{Read: 2, Looked: 3, Steps: 8, Pins: 3, Right: 1, Missing: 1, Extra: 1}); r != want || r.Wrong() != 2 {
		t.Errorf("it is %+v, want %+v", r, want)
	}
	if got, want := r.Share(), "On 3 of 8 steps, 1 of 3 pins were right the first time, 33.3 %."; got != want {
		t.Errorf("it says %q, want %q", got, want)
	}
	if got := (Reading{}).Share(); got != "No pins were looked at." {
		t.Errorf("of nothing it says %q", got)
	}
	want := []string{"Missing: step 2, bar 1 beat 1 +1/2, row 0, Bar 0", "Extra: step 5, bar 1 beat 2 +1/4, row 1, Bar 1"}
	if got := w.FoundWords(m); !slices.Equal(got, want) {
		t.Errorf("it says %q, want %q", got, want)
	}
	if w.Left() != 6 {
		t.Errorf("%d steps are left, want 6", w.Left())
	}
	expected := w.Expected(m)
	if len(expected) != 8 || !slices.Equal(expected[1], []int{0}) || !slices.Equal(expected[7], []int{1}) || len(expected[0]) != 0 {
		t.Errorf("expected are %v", expected)
	}
}

func TestTroubleSaysWhereOnTheMachineOfToday(t *testing.T) {
	m := machine(64, 60)
	for _, c := range []struct {
		trouble Trouble
		want    string
	}{
		{Trouble{Step: 5}, "Step 5, bar 1 beat 2 +1/4"},
		{Trouble{Step: 5, Channel: "c0"}, "Row 0, Bar 0, step 5, bar 1 beat 2 +1/4"},
		{Trouble{Step: 99, Channel: "gone"}, "Gone, step 99"},
	} {
		if got := c.trouble.Where(m); got != c.want {
			t.Errorf("it says %q, want %q", got, c.want)
		}
	}
}
