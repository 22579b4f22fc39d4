package timing

import (
	"fmt"
	"math"
	"strings"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// MendSentence says what a mend of a rung's limit changes, and how far that lifts
// it, with figures for people: "reload 140 ms → 121 ms lifts the limit from 107.1
// to 123.9 BPM". The figure is rounded to more than enough and tempos down. A limit
// that is not alone the lowest is called "this limit".
func (w *Works) MendSentence(r Rung, m Mend) string {
	change := w.MendChange(r, m)
	if m.Kind == OfSpread {
		return change
	}
	limit := "this limit"
	if r.FreedOK && r.Freed > r.BPM {
		limit = "the limit"
	}
	from, to := tempos(r.BPM, m.Reaches)
	return fmt.Sprintf("%s lifts %s from %s to %s BPM", change, limit, from, to)
}

// MendChange says what a mend changes from what to what: "reload 140 ms → 121 ms".
func (w *Works) MendChange(r Rung, m Mend) string {
	if kind, key, ok := kindOf(m.Path); ok {
		name, unit := w.keyWords(kind, key)
		of := fmt.Sprintf("of all %ss", kind)
		if kind == "other" {
			of = "of all other channels"
		}
		if m.Kind == OfSpread {
			return fmt.Sprintf("spread of %s %s, at most %s%s → %s%s", name, of, wheel.Number(m.From), unit, wheel.Number(m.To), unit)
		}
		return fmt.Sprintf("%s %s × %s", name, of, wheel.Number(m.Workshop()))
	}
	f, err := w.Machine.Figure(m.Path)
	if err != nil {
		return ""
	}
	name := f.Label
	if r.Lane < 0 && r.Channel == r.Other {
		name = f.Name // of the channel that the limit names
	}
	if m.Kind == OfSpread {
		name = "spread of " + name
	}
	unit := unitAfter(f.Unit)
	return fmt.Sprintf("%s %s%s → %s%s", name, wheel.Number(m.From), unit, wheel.Number(m.Workshop()), unit)
}

// kindOf takes the path of a kind of channel apart.
func kindOf(path string) (kind, key string, ok bool) {
	rest, ok := strings.CutPrefix(path, "kind:")
	kind, key, _ = strings.Cut(rest, ".")
	return kind, key, ok
}

// keyWords is what the figure of a key is called, and its unit.
func (w *Works) keyWords(kind, key string) (name, unit string) {
	for i := range w.Machine.Channels {
		if c := &w.Machine.Channels[i]; string(c.Kind) == kind {
			if f, err := w.Machine.Figure("channels." + c.ID + "." + key); err == nil {
				return f.Name, unitAfter(f.Unit)
			}
		}
	}
	return key, ""
}

func unitAfter(unit string) string {
	if unit == "" || unit == "°" {
		return unit
	}
	return " " + unit
}

// tempos writes two tempos rounded down to a tenth, as every highest safe tempo
// is, or to a hundredth where a tenth does not tell them apart.
func tempos(a, b float64) (string, string) {
	for per := 10.; ; per *= 10 {
		from, to := math.Floor(a*per+1e-6)/per, math.Floor(b*per+1e-6)/per
		if from != to || per == 100 {
			return wheel.Number(from), wheel.Number(to)
		}
	}
}

// GainSentence says what a mend wins and what else it moves: "keep below 92.7 →
// 99.1 BPM; flam 12 ms → 31 ms". It is empty while a figure is unknown.
func (w *Works) GainSentence(m Mend) string {
	before, after := m.Before, m.After
	if before.BareBPM == nil && after.BareBPM == nil {
		return ""
	}
	says := []string{"keep below " + tempoChange(before.KeepBelowBPM, after.KeepBelowBPM)}
	if house, ok := w.Machine.Limits.HouseBPM.Get(); ok && after.KeepBelowBPM != nil && house < *after.KeepBelowBPM {
		says = append(says, fmt.Sprintf("the house keeps below %s BPM", say.TempoDown(house)))
	}
	bare := tempoChange(before.BareBPM, after.BareBPM)
	bareSame := strings.HasPrefix(bare, "stays")
	switch {
	case bareSame && strings.HasPrefix(says[0], "keep below stays"):
		says[0] = "wins nothing by itself: " + says[0]
	case !bareSame && (after.BareBPM == nil || math.Abs(*after.BareBPM-m.Reaches) > sameGain):
		says = append(says, "bare limit "+bare)
	}
	if before, after := rateOf(before.Faults), rateOf(after.Faults); before != after {
		says = append(says, fmt.Sprintf("spoilt notes and jams %s → %s a turn", before, after))
	}
	if before, after := say.MS(before.FlamS*1000), say.MS(after.FlamS*1000); before != after {
		says = append(says, fmt.Sprintf("flam %s → %s", before, after))
	}
	if before, after := rangeWords(before.Together), rangeWords(after.Together); before != after {
		says = append(says, fmt.Sprintf("chords together at %s → at %s", before, after))
	}
	if n := len(m.Moves); n > 0 {
		says = append(says, say.Count(n, "other limit moves", "other limits move"))
	}
	return strings.Join(says, "; ")
}

// tempoChange writes a tempo before and after, or that it stays.
func tempoChange(before, after *float64) string {
	from, to := "none", "none"
	if before != nil {
		from = say.TempoDown(*before)
	}
	if after != nil {
		to = say.TempoDown(*after)
	}
	switch {
	case from == to && after == nil:
		return "stays at no tempo"
	case from == to:
		return "stays at " + to + " BPM"
	case after == nil:
		return from + " BPM → none"
	}
	return from + " → " + to + " BPM"
}

// rateOf writes how many faults have to be expected in a turn, to two digits.
func rateOf(f Faults) string {
	n := f.SpoiltPerTurn + f.JamsPerTurn
	if n < 1e-4 {
		return "0"
	}
	return say.Rounded(n, max(0, 1-int(math.Floor(math.Log10(n)))))
}

func rangeWords(r *TempoRange) string {
	if r == nil {
		return "no tempo"
	}
	return say.TempoRange(r.FromBPM, r.ToBPM) + " BPM"
}
