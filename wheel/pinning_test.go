package wheel_test

import (
	"math"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
	"pinwright/wheel/file"
	"pinwright/wheel/file/filetest"
)

// The values are those of the file, read by eye.
func TestPinningFileIsReadAsItStands(t *testing.T) {
	p, err := file.ReadPinning([]byte(filetest.Example(t, filetest.PinningFile)))
	if err != nil {
		t.Fatal(err)
	}
	want := &wheel.Pinning{
		Format: "pinwright-pinning/1", Title: "Mill Race", Machine: "Hailstone", TempoBPM: 84,
		Advance: map[string]int{"bar-c5": 2},
		Pins:    []wheel.Pin{{Channel: "bar-c5", Step: 14, Aim: wheel.AimAt(16)}},
	}
	if !reflect.DeepEqual(p, want) {
		t.Errorf("read\n\t%+v\nwant\n\t%+v", p, want)
	}
}

func TestPinningOnItsMachineHasNoProblems(t *testing.T) {
	m, err := file.ReadMachine([]byte(filetest.Example(t, filetest.MachineFile)))
	if err != nil {
		t.Fatal(err)
	}
	p, err := file.ReadPinning([]byte(filetest.Example(t, filetest.PinningFile)))
	if err != nil {
		t.Fatal(err)
	}
	filetest.WantProblems(t, p.CheckOn(m).Err())
}

func TestPinningOnAnotherMachineNamesWhatIsNotThere(t *testing.T) {
	m, err := file.ReadMachine([]byte(filetest.Example(t, filetest.MachineFile)))
	if err != nil {
		t.Fatal(err)
	}
	p := &wheel.Pinning{
		Advance: map[string]int{"tube 2": 1, "bar-c5": 2, "tube-1": 0},
		Pins: []wheel.Pin{
			{Channel: "bar-c5", Step: 0}, {Channel: "bar-c5", Step: 255}, // the first step and the last
			{Channel: "bar-c5", Step: 256}, {Channel: "tube-1", Step: 3}, {Channel: "tube-1", Step: -1},
		},
	}
	filetest.WantProblems(t, p.CheckOn(m).Err(),
		`advance."tube 2" is for a channel that Hailstone does not have`,
		`advance.tube-1 is for a channel that Hailstone does not have`,
		`pins[2].step is 256; the wheel of Hailstone has steps 0 to 255`,
		`pins[3].channel is "tube-1", and Hailstone has no such channel`,
		`pins[4].channel is "tube-1", and Hailstone has no such channel`,
		`pins[4].step is −1; the wheel of Hailstone has steps 0 to 255`)

	p.Pins = make([]wheel.Pin, 1000)
	if n := len(p.CheckOn(m)); n != 101 {
		t.Errorf("%d lines for 1000 pins that do not fit, want 100 and one that says there are more", n)
	}
}

func TestAimLeftOutFollowsThePin(t *testing.T) {
	p := &wheel.Pinning{Advance: map[string]int{"ahead": 2, "behind": -3}}
	for _, c := range []struct {
		pin  wheel.Pin
		want float64
	}{
		{wheel.Pin{Channel: "ahead", Step: 14}, 16},
		{wheel.Pin{Channel: "behind", Step: 14}, 11},
		{wheel.Pin{Channel: "neither", Step: 14}, 14},
		{wheel.Pin{Channel: "ahead", Step: 255}, 257}, // not brought to the turn
		{wheel.Pin{Channel: "ahead", Step: 14, Aim: wheel.AimAt(14.5)}, 14.5},
		{wheel.Pin{Channel: "ahead", Step: 14, Aim: wheel.AimAt(0)}, 0},
	} {
		if got := p.AimOf(c.pin); got != c.want {
			t.Errorf("%+v aims at %g, want %g", c.pin, got, c.want)
		}
	}
}

// Worked by hand on a wheel of 256 steps: step and aim are brought to the same
// turn, then subtracted.
func TestOffsetIsTakenTheShortWayRoundTheSeam(t *testing.T) {
	p := &wheel.Pinning{Advance: map[string]int{"two": 2, "far": 300}}
	pin := func(channel string, step int, aim float64) wheel.Pin {
		return wheel.Pin{Channel: channel, Step: step, Aim: wheel.AimAt(aim)}
	}
	for _, c := range []struct {
		name string
		pin  wheel.Pin
		want float64
	}{
		{"away from the seam", pin("two", 14, 16), -2},
		{"aim just past the seam", pin("two", 254, 0), -2},       // 254 − 256
		{"aim a turn on", pin("two", 254, 256), -2},              // 254 − 256
		{"aim two turns back", pin("two", 254, -512), -2},        // 254 − (−512 + 768)
		{"pin just past the seam", pin("two", 0, 255), 1},        // 256 − 255
		{"fraction across the seam", pin("two", 255, 0.5), -1.5}, // 255 − 256.5
		{"no advance", pin("none", 255, 0), -1},                  // 255 − 256
		{"no advance, the other way", pin("none", 0, 255), 1},    // 256 − 255
		{"advance of more than a turn", pin("far", 0, 300), -300},
		{"advance of more than a turn, aim on the wheel", pin("far", 0, 44), -300}, // 0 − (44 + 256)
		{"aim left out", wheel.Pin{Channel: "two", Step: 255}, -2},
	} {
		if got := p.Offset(c.pin, 256); got != c.want {
			t.Errorf("%s: offset is %g, want %g", c.name, got, c.want)
		}
	}
}

// Any offset is step − aim by whole turns, and none is nearer to the advance.
func TestOffsetIsTheNearestOfAllEqualOnes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 1000).Draw(t, "steps of the wheel")
		advance := rapid.IntRange(-2000, 2000).Draw(t, "advance")
		step := rapid.IntRange(0, n-1).Draw(t, "step")
		aim := float64(rapid.IntRange(-40000, 40000).Draw(t, "aim × 8")) / 8 // exact in binary
		p := &wheel.Pinning{Advance: map[string]int{"c": advance}}
		got := p.Offset(wheel.Pin{Channel: "c", Step: step, Aim: wheel.AimAt(aim)}, n)
		if turns := (got - (float64(step) - aim)) / float64(n); math.Abs(turns-math.Round(turns)) > 1e-9 {
			t.Fatalf("offset %g is %g turns from step − aim", got, turns)
		}
		if stray := math.Abs(got + float64(advance)); stray > float64(n)/2 {
			t.Fatalf("offset %g is %g steps from the advance, on a wheel of %d", got, stray, n)
		}
	})
}

func TestPinsAreSortedAsTheWheelTurns(t *testing.T) {
	p := &wheel.Pinning{Pins: []wheel.Pin{{Channel: "b", Step: 3}, {Channel: "a", Step: 12}, {Channel: "c", Step: 0}, {Channel: "a", Step: 3}}}
	p.Sort()
	want := []wheel.Pin{{Channel: "c", Step: 0}, {Channel: "a", Step: 3}, {Channel: "b", Step: 3}, {Channel: "a", Step: 12}}
	if !slices.Equal(p.Pins, want) {
		t.Errorf("pins are %v, want %v", p.Pins, want)
	}
}

func TestCloneOfAPinningSharesNothing(t *testing.T) {
	p, err := file.ReadPinning([]byte(filetest.Example(t, filetest.PinningFile)))
	if err != nil {
		t.Fatal(err)
	}
	c := p.Clone()
	if !reflect.DeepEqual(c, p) {
		t.Fatalf("the clone is\n\t%+v\nof\n\t%+v", c, p)
	}
	c.Advance["bar-c5"], c.Pins[0].Step = 7, 7
	if p.Advance["bar-c5"] != 2 || p.Pins[0].Step != 14 {
		t.Errorf("a change of the clone made the pinning\n\t%+v", p)
	}
}

// Numbers that JSON cannot write can only come from a program.
func TestAimThatIsNoNumberIsRefused(t *testing.T) {
	for aim, shown := range map[float64]string{math.NaN(): "NaN", math.Inf(1): "+Inf", math.Inf(-1): "−Inf"} {
		p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "x", Pins: []wheel.Pin{{Channel: "c", Aim: wheel.AimAt(aim)}}}
		filetest.WantProblems(t, p.Check().Err(), "pins[0].aim is "+shown+"; it should be a step of the wheel")
	}
}

func TestTextThatIsNotUTF8IsRefused(t *testing.T) {
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "M\xfchle"}
	filetest.WantProblems(t, p.Check().Err(), "title is not UTF-8 text")
}
