package timing

import (
	"fmt"
	"math"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// RateWords says how often something happens that is expected so many times in
// a turn: "about one spoilt note in 40 turns", "about 3 spoilt notes a turn".
func RateWords(perTurn float64, one, many string) string {
	switch {
	case perTurn < 1e-6:
		return "practically no " + many
	case perTurn < 0.67:
		return fmt.Sprintf("about one %s in %s turns", one, rounded(1/perTurn))
	case perTurn < 1.5:
		return fmt.Sprintf("about one %s a turn", one)
	}
	return fmt.Sprintf("about %s %s a turn", rounded(perTurn), many)
}

// rounded writes a number to two digits, and one below ten to one.
func rounded(v float64) string {
	if v < 10 {
		return say.Rounded(max(math.Round(v), 2), 0)
	}
	per := math.Pow(10, math.Floor(math.Log10(v))-1)
	return say.Rounded(math.Round(v/per)*per, 0)
}

// FaultWords says what has to be expected in a turn: "about one spoilt note in
// 40 turns and practically no jams".
func FaultWords(f Faults) string {
	spoilt, jams := RateWords(f.SpoiltPerTurn, "spoilt note", "spoilt notes"), RateWords(f.JamsPerTurn, "jam", "jams")
	if f.SpoiltPerTurn < 1e-6 && f.JamsPerTurn < 1e-6 {
		return "practically no spoilt notes or jams"
	}
	return spoilt + " and " + jams
}

// FaultSentence says what has to be expected at a tempo, and where most of it
// comes from: "At 95 BPM: about one spoilt note in 30 turns and practically no
// jams, most of them Tube D3."
func (t *Turn) FaultSentence(tempoBPM float64) string {
	says := fmt.Sprintf("At %s BPM: %s", say.Tempo(tempoBPM), FaultWords(t.Faults(tempoBPM)))
	if worst := t.Contributions(tempoBPM, 1); len(worst) > 0 && worst[0].PerTurn >= 1e-6 {
		says += ", most of them " + t.works.causePlace(worst[0].Cause)
	}
	return says + "."
}

// causePlace names what causes faults: a channel, or two, or a lane.
func (w *Works) causePlace(c Cause) string {
	name := func(i int) string { return w.Machine.Channels[i].Name }
	switch {
	case c.Lane >= 0 && c.Other >= 0 && c.Other != c.Channel:
		return fmt.Sprintf("%s and %s in lane %s", name(c.Channel), name(c.Other), w.Machine.Lanes[c.Lane].ID)
	case c.Lane >= 0:
		return fmt.Sprintf("%s in lane %s", name(c.Channel), w.Machine.Lanes[c.Lane].ID)
	case c.Other >= 0 && c.Other != c.Channel:
		return name(c.Channel) + " and " + name(c.Other)
	case c.Channel >= 0:
		return name(c.Channel)
	}
	return "too many pins on one step"
}

// KeepSentence says how fast a pinning can be trusted to be played: "Keep below
// 91 BPM. If every figure were exact: 113.2 BPM."
func (w *Works) KeepSentence(s Standing) string {
	limits := w.Machine.Limits
	switch {
	case len(s.Unknown) > 0:
		return w.UnknownSentence(s.Unknown)
	case !s.Safe:
		return fmt.Sprintf("No tempo is safe, not even the slowest, %s BPM.", say.Tempo(limits.TempoMinBPM))
	}
	exact := fmt.Sprintf("If every figure were exact: %s BPM.", say.TempoDown(s.MaxSafeBPM))
	if s.KeepBelowBPM == nil {
		return fmt.Sprintf("No tempo can be trusted: even at %s BPM more faults are expected than the machine's limits allow. %s", say.Tempo(limits.TempoMinBPM), exact)
	}
	return fmt.Sprintf("Keep below %s BPM. %s%s", say.TempoDown(*s.KeepBelowBPM), exact, houseWords(limits, s))
}

// houseWords says the house's limit where it is below keep-below.
func houseWords(l wheel.Limits, s Standing) string {
	if !s.ByHouse() {
		return ""
	}
	words := fmt.Sprintf(" The house keeps below %s BPM", say.TempoDown(*s.RedLineBPM))
	if l.HouseWhy != "" {
		words += ": " + l.HouseWhy
	}
	return words + "."
}

// ByHouse reports whether the red line is the house's limit.
func (s Standing) ByHouse() bool {
	return s.RedLineBPM != nil && s.KeepBelowBPM != nil && *s.RedLineBPM < *s.KeepBelowBPM
}

// Of the causes of faults the first few are named, and none that is rarer than
// once in ten thousand turns.
const (
	namedSources = 3
	leastSource  = 1e-4
)

// FaultSources says which causes add most to the faults to be expected at a
// tempo, one a sentence. It is empty where fewer than two are worth naming:
// [Turn.FaultSentence] names the first.
func (t *Turn) FaultSources(tempoBPM float64) (says []string) {
	for _, c := range t.Contributions(tempoBPM, namedSources) {
		if c.PerTurn >= leastSource {
			says = append(says, t.works.ContributionSentence(c))
		}
	}
	if len(says) < 2 {
		return nil
	}
	return says
}

// ContributionSentence says what one cause adds to the faults that have to be
// expected, and where most of it comes from.
func (w *Works) ContributionSentence(c Contribution) string {
	one, many := "spoilt note", "spoilt notes"
	if c.Jam {
		one, many = "jam", "jams"
	}
	says := fmt.Sprintf("%s (%s): %s", w.causePlace(c.Cause), c.Kind, RateWords(c.PerTurn, one, many))
	if c.Step >= 0 {
		says += ", most of it at " + w.Machine.Wheel.PlaceText(c.Step)
	}
	return says
}
