package demo

import "slices"

// millRace is a dance in C, composed for Hailstone. Its 16 bars are four
// phrases, A B A C:
//
//	A   C      | F        | C    G7  | C    G       half close
//	B   Am  A7 | Dm       | D7       | G            half close, in the key of G
//	A   C      | F        | C    G7  | C    G
//	C   C   C7 | F    Dm  | C/G  G7  | C            full close
//
// The one C♯5, at the end of bar 5, leads A7 to D minor.
func millRace() piece {
	a, b, c := millRaceTune()
	tune := slices.Concat(a, b, a, c)
	a, b, c = millRaceWater()
	water := slices.Concat(a, b, a, c)
	a, b, c = millRaceBass()
	bass := slices.Concat(a, b, a, c)
	return piece{
		title: "Mill Race", fileName: "mill-race.mid", tempoBPM: 84,
		parts: []part{
			{name: "Tune", channel: 1, velocity: 88, bars: tune},
			{name: "Water", channel: 2, velocity: 56, bars: water},
			{name: "Tubes", channel: 3, velocity: 72, bars: bass},
			{name: "Drums and blocks", channel: percussion, velocity: 64, bars: millRaceDrums()},
		},
	}
}

func millRaceTune() (a, b, c [][]note) {
	a = [][]note{
		{{0, c6, 3}, {3, b5, 1}, {4, c6, 2}, {6, g5, 2}, {8, e5, 2}, {10, g5, 2}, {12, c6, 2}, {14, g5, 2}},
		{{0, a5, 3}, {3, g5, 1}, {4, a5, 2}, {6, f5, 2}, {8, f5, 2}, {10, a5, 2}, {12, c6, 2}, {14, a5, 2}},
		{{0, g5, 2}, {2, a5, 1}, {3, g5, 1}, {4, e5, 2}, {6, g5, 2}, {8, f5, 2}, {10, g5, 1}, {11, f5, 1}, {12, d5, 2}, {14, f5, 2}},
		{{0, e5, 2}, {2, g5, 2}, {4, c6, 4}, {8, b5, 6}, {14, g5, 1}, {15, b5, 1}},
	}
	b = [][]note{
		{{0, e5, 2}, {2, a5, 2}, {4, c6, 3}, {7, b5, 1}, {8, a5, 2}, {10, e5, 2}, {12, a5, 2}, {14, g5, 2}},
		{{0, d5, 2}, {2, f5, 2}, {4, a5, 3}, {7, g5, 1}, {8, f5, 2}, {10, d5, 2}, {12, f5, 2}, {14, e5, 2}},
		{{0, fs5, 2}, {2, a5, 2}, {4, c6, 3}, {7, b5, 1}, {8, a5, 2}, {10, g5, 1}, {11, fs5, 1}, {12, e5, 2}, {14, fs5, 2}},
		{{0, g5, 2}, {2, d5, 2}, {4, b4, 2}, {6, d5, 2}, {8, g5, 4}, {12, g5, 1}, {13, a5, 1}, {14, b5, 2}},
	}
	c = [][]note{
		{{0, c6, 2}, {2, g5, 2}, {4, e5, 2}, {6, g5, 2}, {8, as5, 2}, {10, g5, 2}, {12, e5, 1}, {13, f5, 1}, {14, g5, 2}},
		{{0, a5, 2}, {2, f5, 2}, {4, c5, 2}, {6, f5, 2}, {8, a5, 2}, {10, f5, 2}, {12, d5, 1}, {13, e5, 1}, {14, f5, 2}},
		{{0, g5, 2}, {2, e5, 2}, {4, g5, 2}, {6, c6, 2}, {8, b5, 2}, {10, f5, 2}, {12, d5, 2}, {14, b5, 2}},
		{{0, c6, 2}, {2, g5, 2}, {4, e5, 2}, {6, g5, 2}, {8, c6, 4}},
	}
	return a, b, c
}

// millRaceWater is the wheel turning below the tune: broken chords.
func millRaceWater() (a, b, c [][]note) {
	a = [][]note{
		eighths(c5, g4, e5, g4, c5, g4, e5, g4),
		eighths(c5, a4, f5, a4, c5, a4, f5, a4),
		eighths(c5, g4, c5, g4, b4, g4, b4, g4),
		{{0, c5, 2}, {2, g4, 2}, {4, e5, 2}, {6, g4, 2}, {8, d5, 2}, {10, g4, 2}, {12, b4, 1}, {13, d5, 1}},
	}
	b = [][]note{
		eighths(c5, a4, e5, a4, c5, a4, e5, cs5),
		eighths(a4, d5, a4, d5, a4, f5, d5, a4),
		eighths(d5, a4, c5, a4, d5, a4, c5, a4),
		eighths(b4, g4, d5, g4, b4, g4, d5, g4),
	}
	c = [][]note{
		eighths(c5, g4, c5, g4, c5, g4, as4, g4),
		eighths(c5, a4, f5, a4, d5, a4, f5, a4),
		eighths(c5, g4, e5, g4, d5, g4, b4, g4),
		{{0, e5, 2}, {2, c5, 2}, {4, g4, 2}, {6, c5, 2}, {8, e5, 4}},
	}
	return a, b, c
}

func millRaceBass() (a, b, c [][]note) {
	a = [][]note{
		{{0, c3, 8}, {8, g3, 8}},
		{{0, f3, 8}, {8, c3, 8}},
		{{0, c3, 8}, {8, g3, 4}, {12, d3, 4}},
		{{0, c3, 8}, {8, g3, 6}, {14, g3, 2}},
	}
	b = [][]note{
		{{0, c3, 8}, {8, c3, 4}, {12, g3, 4}},
		{{0, f3, 8}, {8, d3, 8}},
		{{0, d3, 6}, {6, d3, 2}, {8, d3, 8}},
		{{0, g3, 8}, {8, d3, 4}, {12, g3, 4}},
	}
	c = [][]note{
		{{0, c3, 8}, {8, c3, 8}},
		{{0, f3, 8}, {8, d3, 8}},
		{{0, g3, 8}, {8, g3, 6}, {14, g3, 2}},
		{{0, c3, 4}, {4, g3, 4}, {8, c3, 4}},
	}
	return a, b, c
}

func millRaceDrums() [][]note {
	beat := slices.Concat(hits(lowDrum, 0, 8), hits(sideDrum, 4, 12))
	clatter := slices.Concat(beat, hits(highBlock, 2, 10), hits(lowBlock, 6, 14))
	turning := slices.Concat(beat, hits(claves, 3, 6, 11, 14))
	ring := hits(triangle, 0)
	a := [][]note{slices.Concat(clatter, ring), clatter, clatter, slices.Concat(beat, hits(highBlock, 2, 6), hits(lowBlock, 10))}
	b := [][]note{slices.Concat(turning, ring), turning, turning, slices.Concat(clatter, hits(triangle, 8))}
	c := [][]note{
		slices.Concat(clatter, ring),
		clatter,
		slices.Concat(clatter, ring, hits(triangle, 8)),
		slices.Concat(hits(lowDrum, 0, 8), hits(sideDrum, 4), hits(triangle, 8), hits(highBlock, 10, 12, 14), hits(lowBlock, 11, 13)),
	}
	return slices.Concat(a, b, a, c)
}
