package web

import (
	"testing"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/web/page"
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
			kept := &store.Machine{File: works.Machine}
			d := &desk{id: 1, works: page.Compiled{Machine: kept, Works: works}, file: everyHole(works.Machine, atOnce), turn: works.NewTurn()}
			d.file.Sort()
			for b.Loop() {
				if err := d.turn.Load(d.file); err != nil {
					b.Fatal(err)
				}
				before := d.stands
				d.stands = standingOf(d.works.Works, d.turn)
				if _, err := verdictAt(b.Context(), d, 60, d.stands.since(before, d.works)); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
