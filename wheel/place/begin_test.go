package place

import (
	"errors"
	"fmt"
	"reflect"
	"slices"
	"testing"

	"pinwright/wheel"
)

func TestAChangeoverBeginsAsItWasPlanned(t *testing.T) {
	m := KeptMachine{ID: 2, Revision: 4, File: machine(8, 60, 62)}
	p := KeptPinning{ID: 7, MachineID: 2, Title: "New"}
	planned := NewChangeover{MachineID: 2, Revision: 4, PinningID: 7, Seq: 9, Target: pinning("New", []int{1}), Start: 3, Rotate: true}
	j, err := planned.Job(m, State{Known: true, Seq: 9}, p)
	if want := (Job{MachineID: 2, PinningID: 7, Kind: JobChangeover, Steps: 8, Start: 3, Rotate: true}); err != nil || !reflect.DeepEqual(j, want) {
		t.Errorf("it is %+v, %v; want %+v", j, err, want)
	}
	for _, c := range []struct {
		says   string
		code   wheel.Code
		change func(n *NewChangeover, m *KeptMachine, on *State, p *KeptPinning)
	}{
		{"the pinning New is of another machine, not of Hailstone", wheel.ErrConflict, func(_ *NewChangeover, _ *KeptMachine, _ *State, p *KeptPinning) { p.MachineID = 3 }},
		{"Hailstone was changed by someone else meanwhile", wheel.ErrConflict, func(_ *NewChangeover, m *KeptMachine, _ *State, _ *KeptPinning) { m.Revision++ }},
		{"what is on the wheel of Hailstone has changed meanwhile", wheel.ErrConflict, func(_ *NewChangeover, _ *KeptMachine, on *State, _ *KeptPinning) { on.Seq++ }},
		{"the start is step 8", wheel.ErrInvalid, func(n *NewChangeover, _ *KeptMachine, _ *State, _ *KeptPinning) { n.Start = 8 }},
		{"the pinning New does not fit Hailstone", wheel.ErrInvalid, func(n *NewChangeover, _ *KeptMachine, _ *State, _ *KeptPinning) { n.Target = pinning("New", []int{8}) }},
	} {
		n, m, on, p := planned, m, State{Known: true, Seq: 9}, p
		c.change(&n, &m, &on, &p)
		_, err := n.Job(m, on, p)
		refused(t, err, c.code, c.says)
	}
}

func TestAProofreadingGoesOverWhatIsOnTheWheel(t *testing.T) {
	m := KeptMachine{ID: 2, File: machine(8, 60, 62)}
	on := OnWheel{Known: true, Base: Job{PinningID: 7}, File: pinning("Old", []int{1})}
	j, err := NewProof(m, on, 5)
	if want := (Job{MachineID: 2, PinningID: 7, Kind: JobProof, Steps: 8, Start: 5}); err != nil || !reflect.DeepEqual(j, want) {
		t.Errorf("it is %+v, %v; want %+v", j, err, want)
	}
	_, err = NewProof(m, on, -1)
	refused(t, err, wheel.ErrInvalid, "the start is step -1")
	on.File = pinning("Old", nil, nil, []int{1})
	_, err = NewProof(m, on, 0)
	refused(t, err, wheel.ErrInvalid, "the pinning Old does not fit Hailstone")
}

func TestSayingWhatIsOnTheWheelIsAJobThatIsOver(t *testing.T) {
	m := KeptMachine{ID: 2, File: machine(8, 60)}
	file := pinning("Old", []int{1})
	j, said, err := Said(m, State{Known: true, Base: 3}, &KeptPinning{ID: 7, MachineID: 2, Title: "Old", File: file}, nine)
	if want := (Job{MachineID: 2, PinningID: 7, Kind: JobSaid, Steps: 8, Begun: nine, Ended: nine, Finished: true, BeforeID: 3}); err != nil || said != file || !reflect.DeepEqual(j, want) {
		t.Errorf("it is %+v towards %v, %v; want %+v", j, said, err, want)
	}
	j, said, err = Said(m, State{}, nil, nine)
	if err != nil || j.PinningID != 0 || j.UnderWay() || said.Title != NothingOn || len(said.Pins) != 0 || said.Check().Err() != nil {
		t.Errorf("of nothing it is %+v towards %+v, %v", j, said, err)
	}
	_, _, err = Said(m, State{}, &KeptPinning{ID: 7, MachineID: 3, Title: "Old"}, nine)
	refused(t, err, wheel.ErrConflict, "the pinning Old is of another machine, not of Hailstone")
}

// The wheel carried job 3's target (c0 at 1 and 2) and is being changed to that
// of 9. c0:2 is gone; c0:4 and c0:5 were driven. Job 3 says where 1 aims; of those
// since, 9 and 6 have 4 and the later counts; only 6 has 5. Of 9's target (1, 4,
// 6) the wheel lacks 6 and has 5 too many: 2 are left (worked by hand).
func TestPinsOnAWheelTakeTheirAimsFromTheLatestTarget(t *testing.T) {
	aimed := func(aim float64, steps ...int) *wheel.Pinning {
		p := pinning("Target", steps)
		for i := range p.Pins {
			p.Pins[i].Aim = wheel.AimAt(float64(p.Pins[i].Step) + aim)
		}
		return p
	}
	targets := map[int64]*wheel.Pinning{3: aimed(0.3, 1, 2), 4: aimed(0.4, 1, 4, 5), 6: aimed(0.6, 4, 5), 9: aimed(0.9, 1, 4, 6)}
	var asked []int64
	read := func(id int64) (*wheel.Pinning, error) {
		asked = append(asked, id)
		return targets[id], nil
	}
	on := OnWheel{Known: true, Base: Job{ID: 3}, Toward: &Job{ID: 9}}
	if err := on.SetPins(pinning("", []int{1, 4, 5}).Pins, []int64{4, 9, 6}, "Hailstone", read); err != nil {
		t.Fatal(err)
	}
	got := ""
	for _, p := range on.File.Pins {
		got += fmt.Sprintf("%d:%g ", p.Step, p.Aim.Step)
	}
	if want := "1:1.3 4:4.9 5:5.6 "; got != want || on.Pulled != 1 || on.Driven != 2 || on.Left != 2 || on.File.Machine != "Hailstone" {
		t.Errorf("the pins are %s, %d pulled, %d driven, %d left", got, on.Pulled, on.Driven, on.Left)
	}
	if !slices.Equal(asked, []int64{3, 9, 6}) {
		t.Errorf("asked for are %v; 4 is not needed", asked)
	}
	// Every pin has its aim from job 3; the target that the wheel is being changed
	// to is read all the same.
	asked = nil
	if err := on.SetPins(pinning("", []int{1}).Pins, []int64{4, 6, 9}, "Hailstone", read); err != nil || !slices.Equal(asked, []int64{3, 9}) || on.Left != 2 {
		t.Errorf("asked for are %v, %d left, %v", asked, on.Left, err)
	}
	wrong := errors.New("wrong")
	if err := on.SetPins(nil, nil, "Hailstone", func(int64) (*wheel.Pinning, error) { return nil, wrong }); !errors.Is(err, wrong) {
		t.Errorf("what cannot be read gives %v", err)
	}
}
