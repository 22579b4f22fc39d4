package crank

import (
	"fmt"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// Report is what is known of a crank that is turned, or was.
type Report struct {
	State    State
	Says     string // of the state; may be empty
	Problem  string // what was wrong with what a sensor sent last
	Known    bool   // whether anything was measured
	Measured        // where Known
	RPM      float64
	Marks    int      // of the machine's sensor in a turn of the crank
	Ripples  string   // the ripple in words, or why there is none
	Notes    []string // what was wrong with the sensor's marks, a sentence or two each
	Slower   bool     // it is being turned, above the red line
	Judged   string   // whether it is inside the window; empty where there is none to judge by
}

// measured adds what was measured; present is whether the crank is turned like
// that now.
func (r *Report) measured(w wheel.Wheel, m Measured, window *wheel.TempoWindow, present bool) {
	r.Known, r.Measured, r.RPM = true, m, w.CrankAt(m.LastBPM).Turns
	r.Marks = MarksOf(w)
	r.Ripples, r.Notes = m.rippleSays(r.Marks), m.notes(r.Marks, w.CrankAt(60).Beats)
	if window != nil {
		r.Slower, r.Judged = judge(m.LastBPM, *window, present)
	}
}

func judge(bpm float64, w wheel.TempoWindow, present bool) (slower bool, judged string) {
	ends := fmt.Sprintf("%s to %s BPM", say.TempoUp(w.FromBPM), say.TempoDown(w.ToBPM))
	switch over := w.RedLineBPM > 0 && bpm > w.RedLineBPM; {
	case over && present:
		return true, fmt.Sprintf("Slower: the red line is at %s BPM.", say.TempoDown(w.RedLineBPM))
	case over:
		return false, fmt.Sprintf("It was above the red line at %s BPM.", say.TempoDown(w.RedLineBPM))
	case w.Unknown:
		return false, w.Closed + " " + w.Fastest
	case !w.Open:
		return false, "There is no window for this pinning."
	case w.Holds(bpm):
		return false, "Inside the window, " + ends + "."
	case bpm > w.ToBPM:
		return false, "Above the window, " + ends + "."
	}
	return false, "Below the window, " + ends + "."
}
