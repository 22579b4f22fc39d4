package demo

import "slices"

// frereJacques is the traditional round, sung since the 18th century, in C, for
// four voices that enter two bars after one another, over a drone of tubes. The
// tune is eight bars, so the first voice sings it twice; all end with the
// wheel, and the first begins anew.
func frereJacques() piece {
	tune := slices.Concat(
		twice([]note{{0, c5, 4}, {4, d5, 4}, {8, e5, 4}, {12, c5, 4}}),                         // Frère Jacques,
		twice([]note{{0, e5, 4}, {4, f5, 4}, {8, g5, 8}}),                                      // dormez-vous ?
		twice([]note{{0, g5, 2}, {2, a5, 2}, {4, g5, 2}, {6, f5, 2}, {8, e5, 4}, {12, c5, 4}}), // Sonnez les matines :
		twice([]note{{0, c5, 4}, {4, g4, 4}, {8, c5, 8}}),                                      // din, din, don.
	)
	const bars, apart = 16, 2
	voice := func(n int) [][]note {
		silent := make([][]note, n*apart)
		return slices.Concat(silent, tune, tune)[:bars]
	}
	drone := slices.Repeat([][]note{{{0, c3, 8}, {8, g3, 6}, {14, c3, 2}}}, bars)
	drone[bars-1] = []note{{0, c3, 8}, {8, g3, 4}, {12, c3, 4}}
	return piece{
		title: "Frère Jacques", fileName: "frere-jacques.mid", tempoBPM: 80,
		parts: []part{
			{name: "First voice", channel: 1, velocity: 84, bars: voice(0)},
			{name: "Second voice", channel: 2, velocity: 80, bars: voice(1)},
			{name: "Third voice", channel: 3, velocity: 76, bars: voice(2)},
			{name: "Fourth voice", channel: 4, velocity: 72, bars: voice(3)},
			{name: "Drone", channel: 5, velocity: 60, bars: drone},
		},
	}
}

func twice(bar []note) [][]note { return [][]note{bar, bar} }
