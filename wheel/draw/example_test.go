package draw_test

import (
	"fmt"

	"pinwright/wheel/demo"
	"pinwright/wheel/draw"
)

func ExampleMachine() {
	m := demo.Machine()
	p := draw.Machine(m, draw.Options{Lit: []draw.Part{{Kind: draw.LanePart, ID: "drain"}}})
	fmt.Println(p.Title)
	fmt.Println(p.Description)
	fmt.Println(p.Stations[0])
	// Output:
	// Hailstone, drawn from the side
	// A wheel of radius 600 mm with 256 steps. 28 channels, drawn in 10 groups, with 10 falls and 8 ramps. 1 lift. Marked: lane drain.
	// 3 bars, Bar G4, Bar G♯4 and Bar A4: gate; fall drop-1, 248 mm; plate; ramp chute-1, 460 mm, 9°.
}
