package machines

import (
	"net/url"

	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/draw"
)

// shown is the drawing that a machine's page shows: the whole, or the channel
// with this id.
type shown struct {
	Shown     string // the channel's id; empty for the whole
	ShownName string
	Drawing   page.Drawing
}

func show(m *wheel.Machine, channel string) (shown, error) {
	if channel == "" {
		return shown{Drawing: page.DrawingOf(m, draw.Options{})}, nil
	}
	i := m.Channel(channel)
	if i < 0 {
		return shown{}, wheel.Refuse(wheel.ErrNotFound, "%s has no channel %s", m.Name, wheel.IDText(channel))
	}
	lit := []draw.Part{{Kind: draw.ChannelPart, ID: channel}}
	return shown{channel, m.Channels[i].Name, page.DrawingOf(m, draw.Options{Channel: channel, Lit: lit})}, nil
}

// channelURL is where a machine's page shows one channel.
func channelURL(machine int64, channel string) string {
	return page.MachineURL(machine) + "?channel=" + url.QueryEscape(channel)
}
