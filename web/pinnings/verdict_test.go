package pinnings_test

import (
	"testing"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/web/desk"
	"pinwright/web/pinnings"
	"pinwright/wheel/demo"
)

// What mechanics says of a wheel of 1,500 pins once one of them is driven, from
// the pins to the words that are sent to a page: few findings, then as many as
// there can be.
func BenchmarkPinJudged(b *testing.B) {
	for name, atOnce := range map[string]bool{"FewFindings": false, "ManyFindings": true} {
		b.Run(name, func(b *testing.B) {
			works, err := timing.Compile(demo.Machine())
			if err != nil {
				b.Fatal(err)
			}
			now := desk.Snapshot{PinningID: 1, Machine: &store.Machine{File: works.Machine}, Works: works, File: everyHole(works.Machine, atOnce), Turn: works.NewTurn(), TempoBPM: 60}
			now.File.Sort()
			for b.Loop() {
				if err := now.Turn.Load(now.File); err != nil {
					b.Fatal(err)
				}
				before := now.Standing
				now.Standing = now.Turn.Standing()
				works.StandingChange(before, now.Standing)
				if _, err := pinnings.WriteVerdict(b.Context(), now); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
