package sheets

import (
	"pinwright/wheel"
	"pinwright/wheel/place"
	"pinwright/wheel/place/paper"
	"pinwright/wheel/place/placetest"
)

var machine, pinning = placetest.Machine, placetest.Pinning

func mustPlan(t interface {
	Helper()
	Fatal(args ...any)
}, m *wheel.Machine, from, to *wheel.Pinning, o place.Options) *place.Plan {
	t.Helper()
	p, err := place.Changeover(m, from, to, o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func font(t placetest.Text) paper.Font {
	return paper.Font{Bold: t.Bold, Pt: t.MM / paper.MMPerPoint}
}
