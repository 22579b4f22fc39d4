package demo

// nineKnocks is a study, composed for Hailstone: someone knocks nine times at
// the mill door, on Bar C5, and is answered. Most knocks stand four steps apart
// or more, in bar 2 three of them two apart, and in bar 3 two one apart, which
// is the nearest that the pins of any channel come.
func nineKnocks() piece {
	return piece{
		title: "Nine Knocks", fileName: "nine-knocks.mid", tempoBPM: 80,
		parts: []part{
			{name: "Knocks", channel: 1, velocity: 96, bars: [][]note{
				hits(c5, 0, 4, 12),
				hits(c5, 0, 2, 4),
				hits(c5, 4, 8, 9),
				nil,
			}},
			{name: "Answers", channel: 2, velocity: 72, bars: [][]note{
				{{8, e5, 4}},
				{{8, g5, 4}, {12, e5, 4}},
				{{12, a5, 4}},
				{{0, g5, 4}, {4, e5, 4}, {8, c6, 8}},
			}},
			{name: "Tubes", channel: 3, velocity: 64, bars: [][]note{
				{{0, c3, 16}},
				{{0, c3, 16}},
				{{0, f3, 16}},
				{{0, g3, 8}, {8, c3, 8}},
			}},
			{name: "Drums", channel: percussion, velocity: 60, bars: [][]note{
				hits(lowDrum, 8),
				hits(lowDrum, 8),
				hits(lowDrum, 0),
				append(hits(lowDrum, 8), hits(triangle, 8)...),
			}},
		},
	}
}
