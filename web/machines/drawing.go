package machines

import (
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/draw"
)

// shown is what a machine's page shows: the whole, or the channel with this id.
type shown struct {
	Shown        string // the channel's id; empty for the whole
	ShownName    string
	ShownNote    string
	ShownBounce  string // what follows from a plate's restitution; may be empty
	ShownFigures []figureGroup
	ShownTimes   []page.Figure
	Drawing      page.Drawing
}

func show(m page.Compiled, grounds wheel.Grounds, channel string) (shown, error) {
	if channel == "" {
		return shown{Drawing: page.DrawingOf(m.File, draw.Options{})}, nil
	}
	i := m.File.Channel(channel)
	if i < 0 {
		return shown{}, wheel.Refuse(wheel.ErrNotFound, "%s has no channel %s", m.File.Name, wheel.IDText(channel))
	}
	lit := []draw.Part{{Kind: draw.ChannelPart, ID: channel}}
	c := &m.File.Channels[i]
	return shown{
		Shown: channel, ShownName: c.Name, ShownNote: c.Note, ShownBounce: bounceWords(m, i),
		ShownFigures: channelFigures(m, grounds, i), ShownTimes: timesOf(m, grounds, i),
		Drawing: page.DrawingOf(m.File, draw.Options{Channel: channel, Lit: lit}),
	}, nil
}
