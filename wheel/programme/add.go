package programme

import (
	"math"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// TempoToAdd is the tempo at which a song is put into a programme: its own,
// brought into its window where that is open, and rounded down to a tenth, which
// is the safe side, or up where down would leave the window. In a window with no
// tenth in it there are more decimals.
func TempoToAdd(w wheel.TempoWindow, bpm float64) float64 {
	if !w.Open {
		return say.Down(bpm)
	}
	bpm = min(max(bpm, w.FromBPM), w.ToBPM)
	for _, unit := range []float64{10, 100, 1000} {
		for _, rounded := range []float64{math.Floor(bpm*unit+1e-9) / unit, math.Ceil(w.FromBPM*unit-1e-9) / unit} {
			if w.Holds(rounded) {
				return rounded
			}
		}
	}
	return bpm
}
