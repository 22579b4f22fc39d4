package store

import (
	"context"
	"fmt"
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/place"
)

// BenchmarkTap is a step done in a changeover of a wheel with 20,000 pins, with
// what its page is then told.
func BenchmarkTap(b *testing.B) {
	ctx := context.Background()
	w := workshop{s: openNew(b)}
	m := smallMachine("Hailstone", 40)
	m.Wheel.Steps = 1024
	for i := range m.Channels {
		c := &m.Channels[i]
		c.ID, c.Name, c.Keys = fmt.Sprint("bar-", i), fmt.Sprint("Bar ", i), nil
	}
	w.machine = addMachine(b, w.s, m)
	of := func(title string, odd int) *wheel.Pinning {
		p := pinsAt(title)
		for step := range 1024 {
			for c := range 20 {
				p.Pins = append(p.Pins, at(m.Channels[2*c+odd*(step%2)].ID, step))
			}
		}
		return p
	}
	w.old, w.new = addPinning(b, w.s, w.machine, 0, of("Old", 0)), addPinning(b, w.s, w.machine, 0, of("New", 1))
	must(b, w.s.SayOnWheel(ctx, w.machine, w.old))
	j := w.begin(b)
	b.ResetTimer()
	for i := range b.N {
		step := 2*(i%512) + 1
		if i/512%2 == 0 {
			must(b, w.tryTap(j.ID, done(fmt.Sprint("t", i), step, m.Channels[i/1024%20*2].ID)))
		} else {
			must(b, w.tryTap(j.ID, place.Tap{ID: fmt.Sprint("t", i), Kind: place.TapBack, Of: fmt.Sprint("t", i-512)}))
		}
	}
}
