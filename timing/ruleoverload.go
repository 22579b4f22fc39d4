package timing

import (
	"fmt"
	"slices"
)

// Overload: more pins on one step than the wheel may trip at once.
var Overload = Kind{&kindFacts{
	name:   "overload",
	mark:   "M2 4h12M2 8h12M2 12h12",
	ofStep: true,
}}

type overload struct{}

func (overload) kind() Kind { return Overload }

func (overload) scan(t *Turn) {
	most := t.works.Machine.Limits.TripsAtOnce
	if most > 0 && slices.ContainsFunc(t.trips, func(trips int32) bool { return int(trips) > most }) {
		t.forbidAll(Overload, -1)
	}
}

// find names the first channel with a pin on the step.
func (overload) find(t *Turn, dst []Finding) []Finding {
	most := t.works.Machine.Limits.TripsAtOnce
	if most == 0 {
		return dst
	}
	for step, trips := range t.trips {
		if int(trips) > most {
			first := slices.IndexFunc(t.rows, func(r row) bool { return r.has(step) })
			dst = append(dst, Finding{Overload, first, step, -1, -1, -1, float64(trips), float64(most)})
		}
	}
	return dst
}

func (overload) sentence(w *Works, f Finding) string {
	return fmt.Sprintf("%s: %.0f pins on this step; the wheel may trip %.0f at once", w.Machine.Wheel.PlaceText(f.Step), f.GapS, f.NeedS)
}
