package store

import (
	"context"
	"testing"

	"pinwright/wheel"
)

func TestTheCurrentMachineIsNoneUntilChosenAndAfterItsRemoval(t *testing.T) {
	ctx := context.Background()
	s := openNew(t)
	current := func(want int64) {
		t.Helper()
		if got, err := s.CurrentMachine(ctx); err != nil || got != want {
			t.Errorf("the current machine is %d (%v), want %d", got, err, want)
		}
	}
	current(0)
	one := addMachine(t, s, smallMachine("One", 1))
	two := addMachine(t, s, smallMachine("Two", 1))
	current(0)
	for _, id := range []int64{one, two, 0, two} {
		if err := s.SetCurrentMachine(ctx, id); err != nil {
			t.Fatal(err)
		}
		current(id)
	}
	refused(t, s.SetCurrentMachine(ctx, 9), wheel.ErrNotFound, "there is no machine 9; it may have been removed")
	current(two)
	if err := s.RemoveMachine(ctx, two); err != nil {
		t.Fatal(err)
	}
	current(0)
}
