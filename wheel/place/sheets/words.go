package sheets

import (
	"math"

	"pinwright/wheel"
	"pinwright/wheel/place/paper"
)

// cautions open every set of sheets.
var cautions = []paper.Para{
	paper.Head("Before hands go in"),
	paper.Body("• Lock the wheel and disconnect its drive. Then check that it cannot turn."),
	paper.Body("• Wear eye protection when driving pins."),
	paper.Body("• Pick marbles up from the floor before you start, and whenever one falls."),
	paper.Body("• A heavy wheel takes two people. Call out before you turn it."),
	paper.Body("• Local rules and the staff trained on this machine come first. These sheets clear nothing and nobody for work."),
}

// madeFor says where a pinning came from if that is not this machine.
func madeFor(m *wheel.Machine, machine string) []paper.Para {
	if machine == "" || machine == m.Name {
		return nil
	}
	return []paper.Para{paper.Body("This pinning was made for a machine called " + machine + ". Every hole of it is there on this wheel too.")}
}

func mmText(mm float64) string { return wheel.Number(round(mm, 2)) + " mm" }

// round brings a figure to so many decimals.
func round(v float64, decimals int) float64 {
	unit := math.Pow10(decimals)
	return math.Round(v*unit) / unit
}
