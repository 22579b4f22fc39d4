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
	switch {
	case v.MaxSafeBPM == nil && len(v.Findings) > 0:
		all = append(all, page.Warning{
			Weight: page.Stop, Text: fmt.Sprintf("Not safe at %s BPM, and no slower tempo is safe.", say.Tempo(v.TempoBPM)),
			Action: page.Link{Text: "See what limits it", URL: string(page.PinningURL(v.PinningID, "timing"))},
		})
	case len(v.Findings) > 0:
		all = append(all, page.Warning{Weight: page.Stop, Text: fmt.Sprintf("Not safe at %s BPM.", say.Tempo(v.TempoBPM)), Action: v.setTempo(*v.MaxSafeBPM)})
	case beyond != "" && v.MaxSafeBPM != nil:
		all = append(all, page.Warning{Weight: page.Stop, Text: fmt.Sprintf("%s BPM is %s.", say.Tempo(v.TempoBPM), beyond), Action: v.setTempo(*v.MaxSafeBPM)})
	case beyond != "":
		all = append(all, page.Warning{Weight: page.Stop, Text: fmt.Sprintf("%s BPM is %s.", say.Tempo(v.TempoBPM), beyond)})
	case v.MaxSafeBPM == nil || v.TempoBPM > *v.MaxSafeBPM:
		all = append(all, page.Warning{Weight: page.Attention, Text: fmt.Sprintf("%s BPM is safe, but the wheel passes unsafe tempos on the way to it.", say.Tempo(v.TempoBPM))})
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

// setTempo leads to the page at a tempo that is safe, rounded down.
func (v verdictPanel) setTempo(bpm float64) page.Link {
	bpm = say.Down(bpm)
	return page.Link{Text: "Set " + say.Tempo(bpm) + " BPM", URL: string(page.PinningURL(v.PinningID)) + "?tempo=" + say.Typed(bpm)}
}

// nearestTogether is the safe tempo nearest to the panel's at which chords hold
// together, to a tenth.
func (v verdictPanel) nearestTogether() (bpm float64, ok bool) {
	if v.Together == nil || v.MaxSafeBPM == nil {
		return 0, false
	}
	from, to := say.Up(v.Together.FromBPM), min(v.Together.ToBPM, *v.MaxSafeBPM)
	if from > to {
		return 0, false
	}
	if v.TempoBPM > to {
		return to, true
	}
	return from, true
}
