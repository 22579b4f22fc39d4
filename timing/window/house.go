package window

import (
	"fmt"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// House is a machine's mechanics with the margin that its house keeps below the
// red line, as a part of it.
type House struct {
	*timing.Works
	Margin float64
}

// Window is the tempo window of a pinning.
func (h House) Window(p *wheel.Pinning) (wheel.TempoWindow, error) {
	t, err := h.Turn(p)
	if err != nil {
		return wheel.TempoWindow{}, err
	}
	return t.Window(h.Margin).TempoWindow, nil
}

// Missed is, by channel, how many drops of a pinning fail in a turn at a tempo,
// see [timing.Turn.AsPlayed].
func (h House) Missed(p *wheel.Pinning, tempoBPM float64) ([]int, error) {
	t, err := h.Turn(p)
	if err != nil {
		return nil, err
	}
	missed := make([]int, len(h.Machine.Channels))
	for _, s := range t.AsPlayed(tempoBPM, nil) {
		if s.Missed {
			missed[s.Channel]++
		}
	}
	return missed, nil
}

// CrankText is a window in turns of the crank; empty where it is not open or the
// machine's file does not say how the crank is geared.
func CrankText(w wheel.Wheel, win wheel.TempoWindow) string {
	slow, fast := w.CrankAt(win.FromBPM), w.CrankAt(win.ToBPM)
	if !win.Open || slow.Turns == 0 {
		return ""
	}
	return fmt.Sprintf("%s to %s turns of the crank a minute, one turn every %s to %s s",
		say.TempoUp(slow.Turns), say.TempoDown(fast.Turns), say.TempoUp(fast.EveryS), say.TempoDown(slow.EveryS))
}
