package limits

import (
	"errors"
	"fmt"
	"math"
	"net/http"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// atTempo is what the machine does at one tempo.
type atTempo struct {
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

// timingAt is what changes with the tempo alone, for a hand on the handle.
func (s *area) timingAt(w http.ResponseWriter, r *http.Request) error {
	tr, err := s.readTrial(r, readTimingChoice(r.URL.Query()))
	if bad := (*noTempo)(nil); errors.As(err, &bad) {
		s.Show(w, r, http.StatusUnprocessableEntity, noTempoView(say.Sentence(bad)))
		return nil
	}
	if err != nil && asBadTrial(err) == nil {
		return err
	}
	s.Show(w, r, http.StatusOK, atTempoView(atTempoOf(tr)))
	return nil
}

func atTempoOf(tr trial) atTempo {
	m := tr.works.Machine
	a := atTempo{
		BPM: tr.tempo, Works: tr.works, PinningID: tr.pinning.ID,
		Findings: tr.turn.Findings(tr.tempo, nil),
		FlamMS:   tr.turn.Flam(tr.tempo) * 1000, FlamMostMS: m.Limits.FlamMS,
		ArcMM: m.Wheel.ArcMM(), Crank: m.Wheel.CrankAt(tr.tempo),
	}
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
