package main

import "pinwright/wheel/arrange"

// The JSON that "pinwright pin -json" answers with, in full precision.
type (
	pinJSON struct {
		Notes        int          `json:"notes"` // placed + dropped + out_of_range + merged
		Placed       int          `json:"placed"`
		Shifted      int          `json:"shifted"`
		Dropped      int          `json:"dropped"`
		OutOfRange   int          `json:"out_of_range"`
		Merged       int          `json:"merged"`
		Transpose    int          `json:"transpose"` // semitones
		TempoBPM     float64      `json:"tempo_bpm"`
		WorstErrorMS float64      `json:"worst_error_ms"`
		RMSErrorMS   float64      `json:"rms_error_ms"`
		Cost         float64      `json:"cost"`
		Changes      []changeJSON `json:"changes"`
		MaxSafeBPM   *float64     `json:"max_safe_bpm"`      // the bare limit; null where the machine's lowest tempo is not safe
		Swing        float64      `json:"swing,omitempty"`   // long to short; left out where none was straightened
		Eased        *easedJSON   `json:"eased,omitempty"`   // left out without -ease
		Remains      []remainJSON `json:"remains,omitempty"` // left out without -advance, and while a figure is unknown
		EasedToBPM   *float64     `json:"eased_to_bpm"`      // the bare limit that easing reached for; null where nothing was eased
		KeepBelowBPM *float64     `json:"keep_below_bpm"`    // null where no tempo can be trusted, and where a figure is unknown
	}

	changeJSON struct {
		Kind      string `json:"kind"`
		Channel   string `json:"channel"`
		FromStep  int    `json:"from_step"`
		ToStep    int    `json:"to_step"`
		Why       string `json:"why"`
		ToChannel string `json:"to_channel,omitempty"` // left out where it is the same
	}

	easedJSON struct {
		LowerBound float64  `json:"lower_bound"`
		Exact      bool     `json:"exact"`
		BeforeBPM  *float64 `json:"before_bpm"` // null where no tempo was safe
		LeftOut    int      `json:"left_out"`
		Cannot     []string `json:"cannot"` // null where all that was asked can be
	}

	remainJSON struct {
		Channel string  `json:"channel"`
		MS      float64 `json:"ms"`
		LeverMM float64 `json:"lever_mm"`
	}
)

func newPinJSON(r *arrange.Report) pinJSON {
	out := pinJSON{
		Notes: r.Notes, Placed: r.Placed, Shifted: r.Shifted, Dropped: r.Dropped, OutOfRange: r.OutOfRange, Merged: r.Merged,
		Transpose: r.Transpose, TempoBPM: r.TempoBPM, WorstErrorMS: r.WorstErrorMS, RMSErrorMS: r.RMSErrorMS,
		Cost: r.Cost, Changes: make([]changeJSON, len(r.Changes)), MaxSafeBPM: r.MaxSafeBPM, Swing: r.Swing,
		Remains: make([]remainJSON, len(r.Remains)), KeepBelowBPM: r.KeepBelowBPM,
	}
	for i, c := range r.Changes {
		out.Changes[i] = changeJSON{c.Kind, c.Channel, c.FromStep, c.ToStep, c.Why, c.ToChannel}
	}
	if e := r.Eased; e != nil {
		out.Eased, out.EasedToBPM = &easedJSON{e.LowerBound, e.Exact, e.BeforeBPM, e.LeftOut, e.Cannot}, e.EasedToBPM
	}
	for i, left := range r.Remains {
		out.Remains[i] = remainJSON{left.Channel, left.MS, left.LeverMM}
	}
	return out
}
