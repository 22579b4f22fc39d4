package visitors

import (
	"pinwright/web/page"
	"pinwright/wheel/place/cards"
	"pinwright/wheel/programme"
)

// songLine is what one song of the programme adds up to, as the page shows it.
type songLine struct {
	programme.Line
	Ask    cards.Speeds // as the card and the screen have it
	Strip  page.Strip   // where its pinning is there
	Wear   []wearLine   // of one play
	NoCard string       // why there is neither a crank card nor a visitors' screen
}

// CardOK says whether the song may have a crank card and the visitors' screen.
func (l *songLine) CardOK() bool { return l.NoCard == "" }

type wearLine struct {
	Name           string
	Trips, Strikes int
}

func songLineOf(m page.Compiled, line programme.Line) songLine {
	l := songLine{Line: line, Ask: cards.Asked(m.File.Wheel, line.Song.TempoBPM), Wear: wearLines(m, line.Play.Wear)}
	if !line.There {
		return l
	}
	if err := cards.CheckTempo(line.Song.TempoBPM, line.Window); err != nil {
		l.NoCard = err.Error()
	}
	return l
}

func wearLines(m page.Compiled, wear []programme.Wear) (lines []wearLine) {
	for _, w := range wear {
		lines = append(lines, wearLine{m.File.Channels[w.Channel].Name, w.Trips, w.Strikes})
	}
	return lines
}
