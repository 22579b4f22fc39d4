package visitors

import (
	"fmt"

	"pinwright/web/page"
	"pinwright/wheel/programme"
	"pinwright/wheel/say"
)

// shownWarnings is how many warnings stand above the songs; the rest are folded.
const shownWarnings = 3

// weightOf is how much a warning matters: a tempo that is not safe, or not known
// to be, stops, and so does a song that is not there.
func weightOf(kind programme.Kind) page.Weight {
	switch kind {
	case programme.NotSafe, programme.Unknown, programme.Removed:
		return page.Stop
	}
	return page.Attention
}

// warnings are those of all songs, each with what resolves it.
func (p *programmePage) warnings() (all []page.Warning) {
	for i := range p.Songs {
		line := &p.Songs[i]
		of := fmt.Sprintf("song %d, %s", i+1, line.Song.Title)
		for _, w := range line.Warnings {
			warning := page.Warning{Weight: weightOf(w.Kind), Text: say.Capital(of) + ": " + w.Text}
			press := func(text, value string) {
				warning.Press = page.Press{Text: text, Of: of, Form: "programme", Name: "do", Value: value}
			}
			switch value := say.Typed(w.Set); {
			case w.Kind == programme.Removed:
				press("Take it out", fmt.Sprintf("remove %d", i+1))
			case w.Kind == programme.Unknown:
				warning.Action = page.Link{Text: "See the machine’s figures", URL: page.MachineURL(p.MachineID) + "#figures"}
			case w.Kind == programme.Resting:
				warning.Action = page.Link{Text: "See the machine", URL: page.MachineURL(p.MachineID)}
			case w.Kind == programme.ShortPause && w.Set == 0:
				warning.Action = page.Link{Text: "Set a rate", URL: "#rate"}
			case w.Kind == programme.ShortPause:
				press("Set a pause of "+say.Minutes(w.Set), fmt.Sprintf("pause %d %s", i+1, value))
			case w.Set > 0:
				press("Set "+say.Number(w.Set)+" BPM", fmt.Sprintf("tempo %d %s", i+1, value))
			default:
				warning.Action = page.Link{Text: "See its tempo window", URL: page.PinningURL(line.Song.PinningID, "window")}
			}
			all = append(all, warning)
		}
		if line.Before != "" {
			all = append(all, page.Warning{Weight: page.Note, Text: say.Capital(of) + ": " + line.Before,
				Action: page.Link{Text: "See the pinning", URL: page.PinningURL(line.Song.PinningID)}})
		}
	}
	return page.Gravest(all)
}

// gravestOf is the weight of a song's gravest warning; ok is false where it has
// none.
func gravestOf(line *songLine) (weight page.Weight, ok bool) {
	for _, w := range line.Warnings {
		weight, ok = max(weight, weightOf(w.Kind)), true
	}
	return weight, ok
}
