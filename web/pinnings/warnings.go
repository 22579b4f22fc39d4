package pinnings

import (
	"fmt"

	"pinwright/timing"
	"pinwright/web/page"
	"pinwright/wheel/say"
)

// warnings are what keeps the pinning from being played at the tempo as it is,
// each with what resolves it.
func (v verdictPanel) warnings() []page.Warning {
	var all []page.Warning
	beyond := timing.BeyondWords(v.Limits, v.TempoBPM)
	tempo := say.Tempo(v.TempoBPM)
	limits := page.Link{Text: "See what limits it", URL: string(page.PinningURL(v.PinningID, "timing"))}
	switch trust := v.Strip.Trust(v.TempoBPM, len(v.Findings)); {
	case trust == timing.Unknown:
		all = append(all, page.Warning{
			Weight: page.Stop, Text: v.works.UnknownSentence(v.Strip.Stands.Unknown),
			Action: page.Link{Text: "See what to measure", URL: limits.URL},
		})
		return all
	case v.MaxSafeBPM == nil && trust == timing.NotSafe:
		all = append(all, page.Warning{Weight: page.Stop, Text: fmt.Sprintf("Not safe at %s BPM, and no slower tempo is safe.", tempo), Action: limits})
	case trust == timing.NotSafe:
		all = append(all, page.Warning{Weight: page.Stop, Text: fmt.Sprintf("Not safe at %s BPM.", tempo), Action: v.setTrusted(limits)})
	case beyond != "":
		all = append(all, page.Warning{Weight: page.Stop, Text: fmt.Sprintf("%s BPM is %s.", tempo, beyond), Action: v.setTrusted(page.Link{})})
	case v.MaxSafeBPM == nil || v.TempoBPM > *v.MaxSafeBPM:
		all = append(all, page.Warning{Weight: page.Attention, Text: fmt.Sprintf("%s BPM breaks no rule, but the wheel passes unsafe tempos on the way to it.", tempo)})
	case trust == timing.Close:
		all = append(all, page.Warning{Weight: page.Attention, Text: "Close to the limit. " + v.Faults, Action: v.setTrusted(limits)})
	}
	if v.FlamMS > v.Limits.FlamMS {
		w := page.Warning{Weight: page.Attention, Text: fmt.Sprintf("At %s BPM chords spread by up to %s ms; %s ms is the limit.", say.Tempo(v.TempoBPM), say.Rounded(v.FlamMS, 1), say.Rounded(v.Limits.FlamMS, 1))}
		if bpm, ok := v.nearestTogether(); ok {
			w.Action = v.setTempo(bpm)
		}
		all = append(all, w)
	}
	return all
}

// setTrusted leads to the page at the red line, or elsewhere where there is none.
func (v verdictPanel) setTrusted(or page.Link) page.Link {
	if red := v.Strip.Stands.RedLineBPM; red != nil {
		return v.setTempo(*red)
	}
	return or
}

// setTempo leads to the page at a tempo, rounded down.
func (v verdictPanel) setTempo(bpm float64) page.Link {
	bpm = say.Down(bpm)
	return page.Link{Text: "Set " + say.Tempo(bpm) + " BPM", URL: string(page.PinningURL(v.PinningID)) + "?tempo=" + say.Typed(bpm)}
}

// nearestTogether is the trusted tempo nearest to the panel's at which chords hold
// together, to a tenth.
func (v verdictPanel) nearestTogether() (bpm float64, ok bool) {
	red := v.Strip.Stands.RedLineBPM
	if v.Together == nil || red == nil {
		return 0, false
	}
	from, to := say.Up(v.Together.FromBPM), min(v.Together.ToBPM, *red)
	if from > to {
		return 0, false
	}
	if v.TempoBPM > to {
		return to, true
	}
	return from, true
}
