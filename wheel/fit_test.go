package wheel_test

import (
	"errors"
	"strings"
	"testing"

	"pinwright/wheel"
)

func checkRefused(t *testing.T, err error, code wheel.Code, says string) {
	t.Helper()
	if !errors.Is(err, code) || !strings.Contains(err.Error(), says) {
		t.Errorf("it says %v, want a refusal (%s) that says %q", err, code, says)
	}
}

func TestAPinningFitsItsMachineAndNoOther(t *testing.T) {
	m := hailstone(t)
	p := &wheel.Pinning{Title: "Mill Race", Machine: m.Name, Pins: []wheel.Pin{{Channel: "bar-c5", Step: 3}}}
	if err := errors.Join(p.CheckFits(m), p.CheckStillFits(m)); err != nil {
		t.Error(err)
	}
	p.Machine = "Other"
	checkRefused(t, p.CheckFits(m), wheel.ErrConflict, "the pinning Mill Race is for a machine called Other, and this one is called "+m.Name)
	if err := p.CheckStillFits(m); err != nil { // the machine may be given another name
		t.Error(err)
	}
	p.Machine, p.Pins[0].Channel = "", "gone"
	checkRefused(t, p.CheckFits(m), wheel.ErrInvalid, "the pinning Mill Race does not fit "+m.Name+`: pins[0].channel is "gone"`)
	checkRefused(t, p.CheckStillFits(m), wheel.ErrConflict, `the pinning Mill Race would no longer fit: pins[0].channel is "gone"`)
}

func TestAMachineNeedsANameOfItsOwnAndGoesOnlyWithoutPinnings(t *testing.T) {
	for _, err := range []error{wheel.CheckName("Mill", 0, 0), wheel.CheckName("Mill", 3, 3), wheel.CheckName("Mill", 3, 0), wheel.CheckUnused("Mill", 0), wheel.CheckRevision("Mill", 2, 2)} {
		if err != nil {
			t.Error(err)
		}
	}
	checkRefused(t, wheel.CheckName("Mill", 0, 3), wheel.ErrConflict, "there is a machine called Mill already")
	checkRefused(t, wheel.CheckName("Mill", 2, 3), wheel.ErrConflict, "there is a machine called Mill already")
	checkRefused(t, wheel.CheckUnused("Mill", 1), wheel.ErrConflict, "Mill has a pinning, which would go with it")
	checkRefused(t, wheel.CheckUnused("Mill", 2), wheel.ErrConflict, "Mill has 2 pinnings, which would go with it")
	checkRefused(t, wheel.CheckRevision("Mill", 3, 2), wheel.ErrConflict, "Mill was changed by someone else meanwhile")
}
