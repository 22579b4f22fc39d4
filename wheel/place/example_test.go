package place_test

import (
	"context"
	"fmt"

	"pinwright/wheel"
	"pinwright/wheel/demo"
	"pinwright/wheel/place"
)

func on(title string, channel string, steps ...int) *wheel.Pinning {
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: title, Machine: "Hailstone", TempoBPM: 84}
	for _, s := range steps {
		p.Pins = append(p.Pins, wheel.Pin{Channel: channel, Step: s})
	}
	return p
}

// The new song is what is on the wheel, begun a bar later: turned, most of it is
// there already.
func ExampleChangeover() {
	m := demo.Machine()
	from, to := on("Old", "bar-c5", 16, 20, 24, 40), on("New", "bar-c5", 0, 4, 8, 14)
	plan, err := place.Changeover(m, from, to, place.Options{Rotate: true, PinsPerMin: 4})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, says := range plan.Sentences(m) {
		fmt.Println(says)
	}
	for _, stop := range plan.Stops() {
		fmt.Println(m.Wheel.PlaceText(stop.Step), stop.Moves[0].Do, stop.Moves[0].Channel)
	}
	// Output:
	// 1 pull and 1 drive; 3 pins stay in place.
	// One turn from step 0, always forwards.
	// New is set 16 steps later on the wheel: its step 0 is at step 16, bar 2 beat 1.
	// That saves 6 pulls and drives.
	// 4 pins are needed of the 1500 there are, on the wheel and off it: 1496 left over.
	// Have 1 loose pin at hand at the start. After that, use the pins that were pulled.
	// About 1 minute at the rate given.
	// bar 2 beat 4 +1/2 drive bar-c5
	// bar 3 beat 3 pull bar-c5
}

// A step is done, sent a second time, and taken back. What is left is always the
// difference between what is on the wheel and the target.
func ExampleWork_Take() {
	m := demo.Machine()
	w := &place.Work{
		Job:    place.Job{Kind: place.JobChangeover, Steps: m.Wheel.Steps},
		Latest: true,
		On:     on("Old", "bar-c5", 16).Pins,
		Target: on("New", "bar-c5", 16, 20, 24),
	}
	var kept []place.KeptTap
	for _, tap := range []place.Tap{
		{ID: "1", Kind: place.TapDone, Step: 20, Channels: []string{"bar-c5"}},
		{ID: "2", Kind: place.TapDone, Step: 20, Channels: []string{"bar-c5"}},
		{ID: "3", Kind: place.TapBack, Of: "1"},
	} {
		k, err := w.Take(context.Background(), tap, m, place.Taps(kept))
		if err != nil {
			fmt.Println(err)
			return
		}
		w.Apply(k.Changes)
		kept = append(kept, k)
		fmt.Println(tap.Kind, len(k.Changes), "changed,", w.Left(), "left")
	}
	// Output:
	// done 1 changed, 1 left
	// done 0 changed, 1 left
	// back 1 changed, 2 left
}
