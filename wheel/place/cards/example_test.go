package cards_test

import (
	"fmt"

	"pinwright/wheel/demo"
	"pinwright/wheel/place/cards"
	"pinwright/wheel/place/paper"
)

// Nobody is asked to turn faster than is safe.
func ExampleCrankCard() {
	o := cards.Options{Paper: paper.A6, Song: "Mill Race", TempoBPM: 84, RedLineBPM: 92.5}
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
	// the tempo, 96 BPM, is above the red line, 92.5 BPM; nobody is asked to turn faster than is safe
}
