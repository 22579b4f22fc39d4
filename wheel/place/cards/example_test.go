package cards_test

import (
	"fmt"

	"pinwright/wheel"
	"pinwright/wheel/demo"
	"pinwright/wheel/place/cards"
	"pinwright/wheel/place/paper"
)

// Visitors are not asked to turn within the margin that the house keeps.
func ExampleCrankCard() {
	o := cards.Options{Paper: paper.A6, Song: "Mill Race", TempoBPM: 84, Window: wheel.TempoWindow{RedLineBPM: 100, MaxSafeBPM: 107, TopBPM: 90}}
	card, err := cards.CrankCard(demo.Machine(), o)
	if err != nil {
		fmt.Println(err)
		return
	}
	wide, high := card.PageMM(1)
	fmt.Printf("%d page, %g mm × %g mm\n", card.Pages(), wide, high)
	o.TempoBPM = 96
	_, err = cards.CrankCard(demo.Machine(), o)
	fmt.Println(err)
	// Output:
	// 1 page, 105 mm × 148 mm
	// the tempo, 96 BPM, is within the margin: visitors are asked to turn 90 BPM at most, and the red line is at 100 BPM
}
