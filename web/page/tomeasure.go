package page

import (
	"fmt"
	"net/url"
	"slices"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// ChannelURL is where a machine's page shows one channel.
func ChannelURL(machine int64, channel string) string {
	return MachineURL(machine) + "?channel=" + url.QueryEscape(channel)
}

// LaneURL is where the figures of a lane are: with the first channel that uses
// it. It is empty for a lane that none uses.
func LaneURL(machine int64, m *wheel.Machine, lane int) string {
	users := UsersOf(m, m.Lanes[lane].ID)
	if len(users) == 0 {
		return ""
	}
	return ChannelURL(machine, m.Channels[users[0]].ID) + "#" + LaneAnchor(lane)
}

// LaneAnchor names a lane's figures on a channel's page.
func LaneAnchor(lane int) string { return fmt.Sprint("lane-", lane+1) }

// UsersOf are the channels that send marbles into a lane.
func UsersOf(m *wheel.Machine, lane string) (users []int) {
	for i := range m.Channels {
		if c := &m.Channels[i]; !c.Holds() && slices.Contains(c.Route(), lane) {
			users = append(users, i)
		}
	}
	return users
}

// ToMeasure lists what is unknown of a machine and asked for by its path, each
// with where its part's figures are.
func ToMeasure(m Compiled, grounds wheel.Grounds, asked func(path string) bool) (all []Link) {
	add := func(figures []wheel.Based, address string) {
		for _, b := range figures {
			if b.Basis == wheel.UnknownBasis && asked(b.Path) {
				all = append(all, Link{Text: say.Capital(b.Label), URL: address})
			}
		}
	}
	add(grounds.Machine, MachineURL(m.ID)+"#known")
	for i, figures := range grounds.Channels {
		add(figures, ChannelURL(m.ID, m.File.Channels[i].ID)+"#channel")
	}
	for i, figures := range grounds.Lanes {
		add(figures, LaneURL(m.ID, m.File, i))
	}
	return all
}
