package place

import (
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/place/placetest"
)

var machine, pinning = placetest.Machine, placetest.Pinning

func mustPlan(t testing.TB, m *wheel.Machine, from, to *wheel.Pinning, o Options) *Plan {
	t.Helper()
	p, err := Changeover(m, from, to, o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}
