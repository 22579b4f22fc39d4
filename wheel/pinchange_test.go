package wheel_test

import (
	"encoding/json"
	"fmt"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
	"pinwright/wheel/file"
	"pinwright/wheel/file/filetest"
)

// Someone drives two pins and moves one of them; taken back, nothing is left.
func ExampleSum() {
	first, second := wheel.Pin{Channel: "bar-c5", Step: 14}, wheel.Pin{Channel: "bar-d5", Step: 20}
	var s wheel.Sum
	s.Add(wheel.Drive(first), wheel.Drive(second))
	s.Add(wheel.Pull(first), wheel.Drive(wheel.Pin{Channel: "bar-c5", Step: 15}))
	for _, c := range s.Changes() {
		fmt.Println(c.Channel, c.Step, "had", c.Was, "and has", c.Now)
	}
	s.Add(wheel.Inverse(s.Changes())...)
	fmt.Println(len(s.Changes()), "left")
	// Output:
	// bar-c5 15 had no pin and has a pin
	// bar-d5 20 had no pin and has a pin
	// 0 left
}

// anyPins has at most one pin a hole, on few holes, so that two of them have
// holes in common.
func anyPins(t *rapid.T, name string) *wheel.Pinning {
	p := &wheel.Pinning{}
	for _, h := range rapid.SliceOfNDistinct(rapid.IntRange(0, 11), 0, 12, rapid.ID[int]).Draw(t, name) {
		pin := wheel.Pin{Channel: string(rune('a' + h/4)), Step: h % 4}
		switch rapid.IntRange(0, 2).Draw(t, "aim") {
		case 1:
			pin.Aim = wheel.AimAt(0)
		case 2:
			pin.Aim = wheel.AimAt(float64(h) + 0.1)
		}
		p.Pins = append(p.Pins, pin)
	}
	return p
}

// samePins tells whether two pinnings have the same pins, in any order.
func samePins(a, b *wheel.Pinning) bool {
	set := func(p *wheel.Pinning) map[wheel.Pin]bool {
		pins := map[wheel.Pin]bool{}
		for _, pin := range p.Pins {
			pins[pin] = true
		}
		return pins
	}
	return len(a.Pins) == len(b.Pins) && reflect.DeepEqual(set(a), set(b))
}

func TestDifferencesMakeOnePinningOfAnotherAndBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := anyPins(t, "a"), anyPins(t, "b")
		changes := wheel.Differences(a, b)
		if samePins(a, b) != (len(changes) == 0) {
			t.Fatalf("%v and %v differ by %v", a.Pins, b.Pins, changes)
		}
		c := a.Clone()
		if err := c.Apply(changes); err != nil || !samePins(c, b) {
			t.Fatalf("%v with %v is %v (%v), want %v", a.Pins, changes, c.Pins, err, b.Pins)
		}
		if err := c.Apply(wheel.Inverse(changes)); err != nil || !samePins(c, a) {
			t.Fatalf("taken back it is %v (%v), want %v", c.Pins, err, a.Pins)
		}
		for i := range changes[:max(0, len(changes)-1)] {
			if x, y := changes[i], changes[i+1]; x.Step > y.Step || x.Step == y.Step && x.Channel >= y.Channel {
				t.Fatalf("%v are not as the wheel turns", changes)
			}
		}
	})
}

func TestASumIsWhatItsChangesComeToOneAfterTheOther(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := anyPins(t, "at first")
		step, atOnce := p.Clone(), p.Clone()
		var sum wheel.Sum
		var all []wheel.PinChange
		for range rapid.IntRange(0, 5).Draw(t, "edits") {
			next := anyPins(t, "next")
			changes := wheel.Differences(step, next)
			all = append(all, changes...)
			sum.Add(changes...)
			if err := step.Apply(changes); err != nil {
				t.Fatal(err)
			}
		}
		if err := atOnce.Apply(sum.Changes()); err != nil || !samePins(atOnce, step) {
			t.Fatalf("the sum makes %v (%v), the steps %v", atOnce.Pins, err, step.Pins)
		}
		in := p.Clone() // holes changed again and again, in one call
		if err := in.Apply(all); err != nil || !samePins(in, step) {
			t.Fatalf("all in one make %v (%v), one by one %v", in.Pins, err, step.Pins)
		}
		if err := in.Apply(wheel.Inverse(all)); err != nil || !samePins(in, p) {
			t.Fatalf("all taken back make %v (%v), want %v", in.Pins, err, p.Pins)
		}
	})
}

func TestAChangeOfAnotherPinIsNotMade(t *testing.T) {
	p := &wheel.Pinning{Pins: []wheel.Pin{{Channel: "a", Step: 3}, {Channel: "b", Step: 3, Aim: wheel.AimAt(5)}}}
	before := p.Clone()
	for _, c := range []struct {
		change wheel.PinChange
		says   string
	}{
		{wheel.Drive(wheel.Pin{Channel: "a", Step: 3}), "changes[1] is of step 3 of a with no pin, and there is a pin"},
		{wheel.Pull(wheel.Pin{Channel: "a", Step: 4}), "changes[1] is of step 4 of a with a pin, and there is no pin"},
		{wheel.Pull(wheel.Pin{Channel: "b", Step: 3}), "changes[1] is of step 3 of b with a pin, and there is a pin aimed at 5"},
	} {
		err := p.Apply([]wheel.PinChange{wheel.Drive(wheel.Pin{Channel: "c", Step: 0}), c.change})
		if err == nil || err.Error() != c.says {
			t.Errorf("it says\n\t%v\nwant\n\t%s", err, c.says)
		}
		if !reflect.DeepEqual(p, before) {
			t.Errorf("the pinning is now %v", p.Pins)
		}
	}
}

func TestPinsThatStayKeepTheirOrder(t *testing.T) {
	pin := func(step int) wheel.Pin { return wheel.Pin{Channel: "a", Step: step} }
	p := &wheel.Pinning{Pins: []wheel.Pin{pin(9), pin(2), pin(5)}}
	aimed := pin(9)
	aimed.Aim = wheel.AimAt(11)
	err := p.Apply([]wheel.PinChange{wheel.Drive(pin(1)), wheel.Pull(pin(2)), {Channel: "a", Step: 9, Was: pin(9).InHole(), Now: aimed.InHole()}})
	if want := []wheel.Pin{aimed, pin(5), pin(1)}; err != nil || !reflect.DeepEqual(p.Pins, want) {
		t.Errorf("pins are %v (%v), want %v", p.Pins, err, want)
	}
}

func TestAChangeIsWrittenShortAndReadBackTheSame(t *testing.T) {
	for _, c := range []struct {
		change wheel.PinChange
		text   string
	}{
		{wheel.Drive(wheel.Pin{Channel: "bar-c5", Step: 14}), `{"channel":"bar-c5","step":14,"now":{}}`},
		{wheel.Pull(wheel.Pin{Channel: "bar-c5", Step: 14, Aim: wheel.AimAt(0)}), `{"channel":"bar-c5","step":14,"was":{"aim":0}}`},
		{wheel.PinChange{Channel: "b", Was: wheel.Pin{Aim: wheel.AimAt(0.1)}.InHole(), Now: wheel.Pin{}.InHole()}, `{"channel":"b","step":0,"was":{"aim":0.1},"now":{}}`},
	} {
		text, err := json.Marshal(c.change)
		if err != nil || string(text) != c.text {
			t.Errorf("%+v is written %s (%v), want %s", c.change, text, err, c.text)
		}
		var back wheel.PinChange
		if err := json.Unmarshal(text, &back); err != nil || back != c.change {
			t.Errorf("%s is read as %+v (%v), want %+v", text, back, err, c.change)
		}
	}
	var c wheel.PinChange
	if err := json.Unmarshal([]byte(`{"channel":"a","step":1,"was":null,"now":{"aim":3}}`), &c); err != nil || c.Was.Pin || c.Now.Aim != wheel.AimAt(3) {
		t.Errorf("null is read as %+v (%v)", c, err)
	}
	for text, says := range map[string]string{
		`{"now":3}`:             `what a hole holds is 3; it should be {"aim": 16}, {} or null`,
		`{"now":{"aim":"x"}}`:   `what a hole holds is an object; it should be {"aim": 16}, {} or null`,
		`{"now":{"step":3}}`:    `what a hole holds is an object; it should be {"aim": 16}, {} or null`,
		`{"now":[]}`:            `what a hole holds is a list; it should be {"aim": 16}, {} or null`,
		`{"now":{"aim":1e999}}`: `what a hole holds is an object; it should be {"aim": 16}, {} or null`,
	} {
		if err := json.Unmarshal([]byte(text), &c); err == nil || err.Error() != says {
			t.Errorf("%s: it says\n\t%v\nwant\n\t%s", text, err, says)
		}
	}
}

func TestChangesThatTheMachineHasNoHolesForAreNamed(t *testing.T) {
	m, err := file.ReadMachine([]byte(filetest.Example(t, filetest.MachineFile)))
	if err != nil {
		t.Fatal(err)
	}
	pin := func(channel string, step int) wheel.Pin { return wheel.Pin{Channel: channel, Step: step} }
	filetest.WantProblems(t, m.CheckChanges([]wheel.PinChange{wheel.Drive(pin("bar-c5", 0)), wheel.Pull(pin("bar-c5", 255))}).Err())
	far := pin("bar-c5", 7)
	far.Aim = wheel.AimAt(1e9)
	aimless := wheel.PinChange{Channel: "bar-c5", Step: 8, Was: wheel.InHole{Aim: wheel.AimAt(3)}, Now: wheel.InHole{Pin: true, Aim: wheel.Aim{Step: 3}}}
	filetest.WantProblems(t, m.CheckChanges([]wheel.PinChange{
		wheel.Drive(pin("bar-c5", 256)), wheel.Pull(pin("tube-1", -1)), wheel.Drive(pin("bar-c5", 3)), wheel.Pull(pin("bar-c5", 3)),
		wheel.Drive(far), aimless,
	}).Err(),
		`changes[0].step is 256; the wheel of Hailstone has steps 0 to 255`,
		`changes[1].channel is "tube-1", and Hailstone has no such channel`,
		`changes[1].step is −1; the wheel of Hailstone has steps 0 to 255`,
		`changes[3] is of step 3 of bar-c5, which changes[2] is already; an edit changes a hole once`,
		`changes[4].now.aim is 1000000000; it should be a step of the wheel`,
		`changes[5].was has an aim and no pin`,
		`changes[5].now.aim is 3 and not given`)
	filetest.WantProblems(t, m.CheckChanges(make([]wheel.PinChange, wheel.MaxPins+1)).Err(), "changes has 262145 entries; 262144 at most")
	if n := len(m.CheckChanges(make([]wheel.PinChange, 1000))); n != 101 {
		t.Errorf("%d lines for 1000 changes that do not fit, want 100 and one that says there are more", n)
	}
}
