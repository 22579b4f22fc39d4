package timing

import (
	"fmt"
	"math"
	"strconv"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// Sentence says a finding in words a technician can act on: where, when and
// by how much.
func (w *Works) Sentence(f Finding) string { return w.rule(f.Kind).sentence(w, f) }

// pinWords says which pin a finding is of: "Bar C5, bar 3 beat 2".
func (w *Works) pinWords(f Finding) string {
	return fmt.Sprintf("%s, %s", w.Machine.Channels[f.Channel].Name, w.Machine.Wheel.PlaceText(f.Step))
}

// Label names a cause in a few words, for a drawing.
func (w *Works) Label(c Cause) string {
	label := c.Kind.String()
	if c.Lane >= 0 {
		label += " in " + w.Machine.Lanes[c.Lane].ID
	}
	if c.Channel >= 0 {
		label += ": " + w.Machine.Channels[c.Channel].Name
	}
	if c.Other >= 0 && c.Other != c.Channel {
		label += ", " + w.Machine.Channels[c.Other].Name
	}
	return label
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

// figure writes a number to three digits, or in whole ones from 1000 up.
func figure(v float64) string {
	if v >= 1000 {
		return say.Rounded(v, 0)
	}
	return strconv.FormatFloat(v, 'g', 3, 64)
}

// LimitSentence says what happens above the tempo at which a finding first
// bites: where, and what there is too little of.
func (w *Works) LimitSentence(f Finding) string {
	if r, ok := w.rule(f.Kind).(tempoRule); ok {
		return r.limitSentence(w, f)
	}
	return w.Sentence(f)
}

// RungSentence says what a rung of the ladder means: what happens above its
// tempo or, at the machine's lowest, what is broken there already.
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
