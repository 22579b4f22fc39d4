package timing

import (
	"fmt"
	"math"
	"strconv"

	"pinwright/wheel"
)

// Sentence says a finding in words a technician can act on: where, when and
// by how much.
func (w *Works) Sentence(f Finding) string {
	name := func(i int) string { return w.Machine.Channels[i].Name }
	place := w.Machine.Wheel.PlaceText
	at := fmt.Sprintf("%s, %s", name(f.Channel), place(f.Step))
	gap, need := Milliseconds(f.GapS, f.NeedS)
	switch f.Kind {
	case Crowded:
		c := w.Channels[f.Channel]
		if steps := w.stepsOn(f); float64(steps) <= c.Hold {
			return fmt.Sprintf("%s: next pin %s on, while a pin holds the lever for %s steps",
				at, counted(steps, "step"), figure(c.Hold))
		}
		return fmt.Sprintf("%s: the lever has %s before the next pin, it needs %s to fall back", at, gap, need)
	case Unready:
		return fmt.Sprintf("%s: next pin after %s, the gate needs %s", at, gap, need)
	case Unclear:
		return fmt.Sprintf("%s: next strike after %s, the plate is clear after %s", at, gap, need)
	case Meeting:
		lane := w.Machine.Lanes[f.Lane].ID
		if f.Channel == f.Other {
			return fmt.Sprintf("%s: its marble leads the next, of %s, by %s into lane %s, it needs %s",
				at, place(f.OtherStep), gap, lane, need)
		}
		return fmt.Sprintf("%s: its marble leads that of %s, %s, by %s into lane %s, it needs %s",
			at, name(f.Other), place(f.OtherStep), gap, lane, need)
	case Overload:
		return fmt.Sprintf("%s: %.0f pins on this step, the wheel may trip %.0f at once", place(f.Step), f.GapS, f.NeedS)
	default:
		return fmt.Sprintf("%s: a pin on a channel that is resting", at)
	}
}

// stepsOn is how many steps after its pin a finding's other pin comes.
func (w *Works) stepsOn(f Finding) int {
	if d := w.Machine.Wheel.Wrap(f.OtherStep - f.Step); d > 0 {
		return d
	}
	return w.Machine.Wheel.Steps
}

// Milliseconds writes what there is and what is needed, both in seconds, as
// "125 ms" and "140 ms": as few decimals as tell the two apart, up to the
// nanosecond that counts as met.
func Milliseconds(gapS, needS float64) (gap, need string) {
	gapMS, needMS := gapS*1000, needS*1000
	decimals := 0
	if least := min(math.Abs(gapMS), math.Abs(needMS)); least < 10 {
		decimals = 1
	}
	write := func(v float64) string {
		s := strconv.FormatFloat(math.Abs(v), 'f', decimals, 64)
		if v < 0 {
			s = "−" + s
		}
		return s + " ms"
	}
	for ; decimals < 6; decimals++ {
		if write(gapMS) != write(needMS) {
			break
		}
	}
	return write(gapMS), write(needMS)
}

// tenths writes a time in seconds as milliseconds to a tenth.
func tenths(s float64) string {
	return strconv.FormatFloat(math.Round(s*1e4)/10, 'f', -1, 64) + " ms"
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return strconv.Itoa(n) + " " + what + "s"
}

func figure(v float64) string { return strconv.FormatFloat(v, 'g', 3, 64) }

// LimitSentence says what a finding that first bites at a tempo comes to
// there: where, and what there is too little of above it.
func (w *Works) LimitSentence(f Finding) string {
	name := func(i int) string { return w.Machine.Channels[i].Name }
	place := w.Machine.Wheel.PlaceText
	need := tenths(f.NeedS)
	at := fmt.Sprintf("%s, %s", name(f.Channel), place(f.Step))
	switch {
	case f.Kind == Crowded && float64(w.stepsOn(f)) > w.Channels[f.Channel].Hold:
		return fmt.Sprintf("%s: any faster, the lever has less than the %s it needs to fall back", at, need)
	case f.Kind == Unready:
		return fmt.Sprintf("%s: any faster, the next pin comes before the gate is ready, %s", at, need)
	case f.Kind == Unclear:
		return fmt.Sprintf("%s: any faster, the next strike comes before the plate is clear, %s", at, need)
	case f.Kind == Meeting && f.Channel == f.Other:
		return fmt.Sprintf("%s: any faster, its marble and the next, of %s, come too near in lane %s: they need %s between them at its mouth",
			at, place(f.OtherStep), w.Machine.Lanes[f.Lane].ID, need)
	case f.Kind == Meeting:
		return fmt.Sprintf("%s: any faster, its marble and that of %s, %s, come too near in lane %s: they need %s between them at its mouth",
			at, name(f.Other), place(f.OtherStep), w.Machine.Lanes[f.Lane].ID, need)
	}
	return w.Sentence(f)
}

// RungSentence says what a rung of the ladder comes to: that it bites above
// its tempo or, at the machine's lowest, that it is broken there already.
func (w *Works) RungSentence(r Rung) string {
	if r.BPM == w.Machine.Limits.TempoMinBPM {
		return w.Sentence(r.Where)
	}
	return w.LimitSentence(r.Where)
}

// BeyondWords says how a tempo, in beats per minute, lies outside those at which
// a machine turns; empty for one that does not.
func BeyondWords(l wheel.Limits, bpm float64) string {
	switch {
	case bpm > l.TempoMaxBPM:
		return "faster than the machine turns"
	case bpm < l.TempoMinBPM:
		return "slower than the machine turns"
	}
	return ""
}
