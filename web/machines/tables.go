package machines

import (
	"fmt"
	"strings"

	"pinwright/timing"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/say"
)

// channelLine is a channel as the table of a machine shows it, figures in words.
type channelLine struct {
	ID, Name string
	Row      int
	Resting  bool
	times
	Route string
	Known knownMark
}

func channelLines(m page.Compiled, grounds wheel.Grounds) (lines []channelLine) {
	for i := range m.File.Channels {
		c := &m.File.Channels[i]
		line := channelLine{
			ID: c.ID, Name: c.Name, Row: c.Row, Resting: m.Works.Channels[i].Resting, Known: markOf(grounds.Channels[i]), Route: routeWords(c),
			times: times{"–", "–", "–", "–", "–"},
		}
		if !c.Holds() {
			line.times = timesIn(m, grounds, i)
		}
		lines = append(lines, line)
	}
	return lines
}

// times are what a channel's figures come to, in words.
type times struct {
	Reload, Clear string
	Strike, Home  string // from the full push: to the strike, to the hopper
	Speed         string // at the strike
}

// timesIn is what the figures of a channel that drops marbles come to, as far as
// they are known.
func timesIn(m page.Compiled, grounds wheel.Grounds, i int) times {
	c, works := &m.File.Channels[i], &m.Works.Channels[i]
	ms := func(known bool, seconds float64) string {
		if !known {
			return "unknown"
		}
		return say.MS(seconds * 1000)
	}
	clear := c.Strike.ClearMS.IsKnown() || c.Strike.FromBounce() && works.StrikeKnown
	home := works.StrikeKnown && clear && (len(c.Exit) == 0 || c.ExitMMS.IsKnown())
	for _, id := range c.Exit {
		home = home && !anyUnknown(grounds.Lanes[m.File.Lane(id)])
	}
	t := times{
		Reload: ms(c.Gate.ReloadMS.IsKnown() || c.Gate.FromFeed(), works.Reload), Clear: ms(clear, works.Clear),
		Strike: ms(works.StrikeKnown, works.Strike), Home: ms(home, works.Home), Speed: "unknown",
	}
	if works.StrikeKnown {
		t.Speed = say.Rounded(works.StrikeSpeed, 2) + " m/s"
	}
	return t
}

// timesOf is what a channel's figures come to, as its page shows them.
func timesOf(m page.Compiled, grounds wheel.Grounds, i int) []page.Figure {
	c := &m.File.Channels[i]
	if c.Holds() {
		return []page.Figure{{Name: "Row", Value: say.Whole(c.Row)}, {Name: "Drops", Value: "none", Note: "it starts and ends a hold"}}
	}
	t := timesIn(m, grounds, i)
	figures := []page.Figure{{Name: "Row", Value: say.Whole(c.Row)}}
	for _, f := range []struct{ name, value string }{
		{"Reload", t.Reload}, {"Push to strike", t.Strike}, {"Strike speed", t.Speed}, {"Clear", t.Clear}, {"Push to hopper", t.Home},
	} {
		value, unit, _ := strings.Cut(f.value, " ")
		figures = append(figures, page.Figure{Name: f.name, Value: value, Unit: unit})
	}
	return figures
}

// bounceWords says what a marble does on a plate whose time to clear follows from
// its restitution. It is empty for others, and where the strike's speed is not
// known.
func bounceWords(m page.Compiled, i int) string {
	c, works := &m.File.Channels[i], &m.Works.Channels[i]
	if !c.Strike.FromBounce() || !works.StrikeKnown || c.Holds() {
		return ""
	}
	e := c.Strike.Restitution.Or(0)
	words := fmt.Sprintf("The plate counts as clear after one bounce, %s.", say.MS(works.Clear*1000))
	if e <= 0 || e >= 1 {
		return words
	}
	return words + fmt.Sprintf(" A marble that is left to settle takes %s, and strikes a second time at %s m/s, %s times the speed of the first strike.",
		say.MS(timing.SettleTime(e, works.StrikeSpeed)*1000), say.Rounded(e*works.StrikeSpeed, 2), say.Number(e))
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
	ID, Kind, Length, Accel string
	Users                   int // channels
	URL                     string
	Known                   knownMark
}

func laneLines(m page.Compiled, grounds wheel.Grounds) (lines []laneLine) {
	users := map[string]int{}
	for i := range m.File.Channels {
		for _, id := range m.File.Channels[i].Route() {
			users[id]++
		}
	}
	for i, l := range m.File.Lanes {
		line := laneLine{
			URL: page.LaneURL(m.ID, m.File, i), Known: markOf(grounds.Lanes[i]),
			ID: l.ID, Kind: string(l.Kind), Length: figureOf(l.LengthMM, " mm"),
			Accel: say.Rounded(m.Accel(i), 2) + " m/s²", Users: users[l.ID],
		}
		if l.Kind == wheel.Ramp {
			line.Kind += ", " + figureOf(l.SlopeDeg, "°")
			if !l.SlopeDeg.IsKnown() {
				line.Kind, line.Accel = "ramp, slope unknown", "unknown"
			}
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
