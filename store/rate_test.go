package store

import (
	"context"
	"fmt"
	"testing"
	"time"

	"pinwright/wheel/place"
)

// The kept taps tell the rate, each at the time at which it was made, however
// late it was sent; what was taken back does not count.
func TestRateComesFromKeptTaps(t *testing.T) {
	ctx := context.Background()
	w := newWorkshop(t)
	now := time.Date(2026, 3, 1, 9, 0, 0, 0, time.UTC)
	w.s.now = func() time.Time { return now }
	many := pinsAt("Many")
	for step := range 30 {
		many.Pins = append(many.Pins, at("a", step), at("b", step))
	}
	w.new = addPinning(t, w.s, w.machine, 0, many)
	must(t, w.s.SayOnWheel(ctx, w.machine, 0))
	j := w.begin(t)
	for step := range 11 { // 2 pins every 20 s: 6 a minute
		now = now.Add(20 * time.Second)
		if step == 5 {
			continue
		}
		w.tap(t, j.ID, done(fmt.Sprint("t", step), step, "a", "b"))
	}
	late := done("t5", 5, "a", "b")
	late.Ago = 100 * time.Second
	w.tap(t, j.ID, late)
	w.tap(t, j.ID, done("wrong", 29, "a", "b"))
	w.tap(t, j.ID, place.Tap{ID: "back", Kind: place.TapBack, Of: "wrong"})
	if rate, known, err := w.s.PinsPerMin(ctx, w.machine); err != nil || !known || rate < 6-1e-9 || rate > 6+1e-9 {
		t.Errorf("rate %g, known %v, %v; want 6", rate, known, err)
	}
}
