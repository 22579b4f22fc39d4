package limits

import (
	"errors"
	"fmt"
	"math"
	"net/http"

	"pinwright/timing"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// atTempo is what the machine does at one tempo.
type atTempo struct {
	trial      trial
	choice     timingChoice
	BPM        float64
	Findings   []timing.Finding
	Works      *timing.Works
	PinningID  int64
	FlamMS     float64
	FlamMostMS float64
	Worst      []string // the chords that spread most, in words
	Errors     []errorLine
	AxisMS     float64 // the chart's reach to either side
	ArcMM      float64 // of a step
	Crank      wheel.Cranking
	Stands     timing.Standing
	Trust      timing.Trust
	Faults     string   // what has to be expected, in words
	Sources    []string // what adds most to the faults that have to be expected, in words
	BeyondFlam float64  // the share of chords to be expected beyond FlamMostMS in a turn
}

// errorLine is how early and late one channel strikes, in ms against the
// middle of all.
type errorLine struct {
	Name                 string
	EarliestMS, LatestMS float64
	X, Width             float64 // on the chart, 0 to 100
	Says                 string
}

const shownFindingsAt = 12

func (a atTempo) Listed() []timing.Finding {
	return a.Findings[:min(len(a.Findings), shownFindingsAt)]
}

// where is the place of the nth finding.
func (a atTempo) where(n int) *place {
	f := a.Findings[n]
	return placeOf(a.trial, a.choice, fmt.Sprintf("where-at-%s-%d-%d-%d-%d", f.Kind, f.Channel, f.Step, f.Other, f.OtherStep), f.Cause())
}

func (a atTempo) findingsTitle() string { return say.Count(len(a.Findings), "finding", "findings") }

// warnings say that the tempo cannot be trusted, and lead to one that can.
func (a atTempo) warnings() []page.Warning {
	var w page.Warning
	switch a.Trust {
	case timing.Trusted, timing.Unknown: // what to measure first stands above
		return nil
	case timing.NotSafe:
		w.Weight, w.Text = page.Stop, say.Tempo(a.BPM)+" BPM is not safe. "+sentenceOf(a.Works.Sentence(a.Findings[0]))
	default:
		w.Weight, w.Text = page.Attention, say.Tempo(a.BPM)+" BPM is close to the limit. "+a.Works.KeepSentence(a.Stands)
	}
	if red := a.Stands.RedLineBPM; red != nil && say.Down(*red) < a.BPM {
		tempo := say.Down(*red)
		w.Action = page.Link{Text: "Set " + say.Number(tempo) + " BPM", URL: page.PinningURL(a.PinningID, "timing?"+a.choice.at(say.Typed(tempo)).query())}
	}
	return []page.Warning{w}
}

// figures are how the machine turns at the tempo, and how far chords spread.
func (a atTempo) figures() []page.Figure {
	all := []page.Figure{
		{Name: "Step", Value: say.Rounded(a.Crank.StepS*1000, 1), Unit: "ms", Note: say.Rounded(a.ArcMM, 2) + " mm of arc"},
		{Name: "One turn of the wheel", Value: say.Rounded(a.Crank.TurnS, 1), Unit: "s", Note: say.Rounded(a.Crank.SurfaceMMS, 1) + " mm/s at the surface"},
		{Name: "Wheel", Value: say.Rounded(a.Crank.WheelTurns, 2), Unit: "turns a minute"},
	}
	if a.Crank.Turns > 0 {
		all = append(all, page.Figure{Name: "Crank", Value: say.Rounded(a.Crank.Turns, 1), Unit: "turns a minute"})
	}
	if a.Trust == timing.Unknown {
		return all
	}
	if len(a.Worst) > 0 {
		note := say.Rounded(a.FlamMostMS, 1) + " ms is this machine's bound; with jitter and pins as they stand, " + say.Rounded(a.BeyondFlam*100, 1) + " % of chords go beyond it"
		all = append(all, page.Figure{Name: "Chords spread by", Value: say.Rounded(a.FlamMS, 1), Unit: "ms at most", Note: note})
	} else {
		all = append(all, page.Figure{Name: "Chords", Value: "none"})
	}
	return all
}

// timingAt is what changes with the tempo alone, for a hand on the handle.
func (s *area) timingAt(w http.ResponseWriter, r *http.Request) error {
	c := readTimingChoice(r.URL.Query())
	tr, err := s.readTrial(r, c)
	if bad := (*noTempo)(nil); errors.As(err, &bad) {
		s.Show(w, r, http.StatusUnprocessableEntity, noTempoView(say.Sentence(bad)))
		return nil
	}
	if err != nil && asBadTrial(err) == nil {
		return err
	}
	s.Show(w, r, http.StatusOK, atTempoView(atTempoOf(tr, c)))
	return nil
}

func atTempoOf(tr trial, c timingChoice) atTempo {
	m := tr.works.Machine
	a := atTempo{
		trial: tr, choice: c, BPM: tr.tempo, Works: tr.works, PinningID: tr.pinning.ID,
		Findings: tr.turn.Findings(tr.tempo, nil),
		FlamMS:   tr.turn.Flam(tr.tempo) * 1000, FlamMostMS: m.Limits.FlamMS,
		ArcMM: m.Wheel.ArcMM(), Crank: m.Wheel.CrankAt(tr.tempo),
	}
	a.Stands = tr.turn.Standing()
	if a.Trust = a.Stands.Trust(a.BPM, len(a.Findings) > 0); a.Trust == timing.Unknown {
		return a // how early and late strikes are is unknown too
	}
	a.Faults, a.BeyondFlam = tr.turn.FaultSentence(a.BPM), tr.turn.BeyondFlam(a.BPM)
	a.Sources = tr.turn.FaultSources(a.BPM)
	chords := tr.turn.Chords(tr.tempo)
	for _, c := range chords[:min(len(chords), 3)] {
		a.Worst = append(a.Worst, chordWords(tr.works, c))
	}
	errors := tr.turn.ErrorsByChannel(tr.tempo)
	a.AxisMS = m.Limits.FlamMS
	for _, e := range errors {
		a.AxisMS = max(a.AxisMS, math.Abs(e.EarliestS)*1000, math.Abs(e.LatestS)*1000)
	}
	a.AxisMS = math.Ceil(a.AxisMS/5) * 5
	for _, e := range errors {
		line := errorLine{Name: m.Channels[e.Channel].Name, EarliestMS: e.EarliestS * 1000, LatestMS: e.LatestS * 1000}
		at := func(ms float64) float64 { return 50 + ms/max(a.AxisMS, 1)*50 }
		line.X = at(line.EarliestMS)
		line.Width = max(0.8, at(line.LatestMS)-line.X)
		line.Says = say.EarlyLate(line.EarliestMS)
		if say.Rounded(line.EarliestMS, 1) != say.Rounded(line.LatestMS, 1) {
			line.Says += " to " + say.EarlyLate(line.LatestMS)
		}
		a.Errors = append(a.Errors, line)
	}
	return a
}

func chordWords(w *timing.Works, c timing.ChordFlam) string {
	early, late := c.Members[0], c.Members[0]
	for _, m := range c.Members {
		if m.ErrorS < early.ErrorS {
			early = m
		}
		if m.ErrorS > late.ErrorS {
			late = m
		}
	}
	return fmt.Sprintf("%s: %s ms from %s to %s", w.Machine.Wheel.PlaceText(c.Step), say.Rounded(c.SpreadS*1000, 1),
		w.Machine.Channels[early.Channel].Name, w.Machine.Channels[late.Channel].Name)
}
