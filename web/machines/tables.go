package machines

import (
	"strings"

	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// channelLine is a channel as the table of a machine shows it, figures in words.
type channelLine struct {
	ID, Name      string
	Row           int
	Resting       bool
	Reload, Clear string
	Strike, Home  string // from the full push: to the strike, to the hopper
	Speed         string // at the strike
	Route         string
}

func channelLines(m page.Compiled) (lines []channelLine) {
	for i := range m.File.Channels {
		c, works := &m.File.Channels[i], &m.Works.Channels[i]
		lines = append(lines, channelLine{
			ID: c.ID, Name: c.Name, Row: c.Row, Resting: works.Resting,
			Reload: say.MS(works.Reload * 1000), Clear: say.MS(works.Clear * 1000),
			Strike: say.MS(works.Strike * 1000), Home: say.MS(works.Home * 1000),
			Speed: say.Rounded(works.StrikeSpeed, 2) + " m/s", Route: routeWords(c),
		})
	}
	return lines
}

// routeWords names a channel's lanes, those after the plate behind a semicolon.
func routeWords(c *wheel.Channel) string {
	words := strings.Join(c.Path, ", ")
	if len(c.Exit) > 0 {
		words += "; " + strings.Join(c.Exit, ", ")
	}
	return words
}

// laneLine is a lane as the table of a machine shows it.
type laneLine struct {
	ID, Kind, Length, Slope, Accel string
	Users                          int // channels
}

func laneLines(m page.Compiled) (lines []laneLine) {
	users := map[string]int{}
	for i := range m.File.Channels {
		for _, id := range m.File.Channels[i].Route() {
			users[id]++
		}
	}
	for i, l := range m.File.Lanes {
		line := laneLine{
			ID: l.ID, Kind: string(l.Kind), Length: figureOf(l.LengthMM, " mm"), Slope: "straight down",
			Accel: say.Rounded(m.Accel(i), 2) + " m/s²", Users: users[l.ID],
		}
		if l.Kind == wheel.Ramp {
			line.Slope = figureOf(l.SlopeDeg, "°")
		}
		lines = append(lines, line)
	}
	return lines
}

// figuresOf are the figures of a machine as a whole.
func figuresOf(f page.MachineFacts) []page.Figure {
	all := []page.Figure{{Name: "Channels", Value: say.Whole(f.Channels), Note: kindsWords(f.Kinds)}}
	all = append(all,
		page.Figure{Name: "Steps round the wheel", Value: say.Whole(f.Wheel.Steps), Note: say.Rounded(f.ArcMM, 2) + " mm each, " + say.Whole(f.Wheel.StepsPerBeat) + " in a beat"},
		page.Figure{Name: "Tempo range", Value: say.TempoRange(f.Limits.TempoMinBPM, f.Limits.TempoMaxBPM), Unit: "BPM"},
		page.Figure{Name: "Lanes", Value: say.Whole(f.Lanes), Note: say.Whole(f.Shared) + " used by more than one channel"},
	)
	return append(all, stockFigure("Marbles", f.Stock), stockFigure("Pins in stock", f.Wheel.PinStock))
}

func stockFigure(name string, n int) page.Figure {
	if n == 0 {
		return page.Figure{Name: name, Value: "–", Note: "not in the file"}
	}
	return page.Figure{Name: name, Value: say.Whole(n)}
}

// kindsWords counts what the channels sound on, as in "18 bars and 4 tubes".
func kindsWords(kinds []page.KindCount) string {
	var words []string
	for _, k := range kinds {
		names, ok := kindNames[k.Kind]
		if !ok {
			names = [2]string{"of another kind", "of other kinds"}
		}
		words = append(words, say.Count(k.Count, names[0], names[1]))
	}
	return say.List(words)
}

var kindNames = map[wheel.ChannelKind][2]string{
	"bar": {"bar", "bars"}, "tube": {"tube", "tubes"}, "bell": {"bell", "bells"}, "block": {"block", "blocks"},
	"drum": {"drum", "drums"}, "string": {"string", "strings"},
}

// figureOf is a figure to a tenth, with its unit.
func figureOf(v wheel.Maybe, unit string) string {
	if value, ok := v.Get(); ok {
		return say.Rounded(value, 1) + unit
	}
	return "unknown"
}
