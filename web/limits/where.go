package limits

import (
	"fmt"
	"net/http"
	"net/url"

	"pinwright/timing"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/draw"
	"pinwright/wheel/say"
)

// whereWidthPX is how wide a piece of the machine is drawn: it fits the ladder's
// column and, made smaller, a phone.
const whereWidthPX = 420

// place is where on the machine a limit or a finding is.
type place struct {
	Key     string // tells it from the others of the page
	Name    string // the channels, in words
	URL     string // of the drawing
	Machine string // the page of the machine that shows the channel
}

// placeOf is the place of a rule broken by one channel, or by two in a lane. A
// rule that is of a step alone has none.
func placeOf(tr trial, c timingChoice, key string, cause timing.Cause) *place {
	m := tr.works.Machine
	if cause.Channel < 0 {
		return nil
	}
	v := url.Values{"channel": {m.Channels[cause.Channel].ID}, "part": {string(partOf(cause))}}
	p := &place{Key: key, Name: m.Channels[cause.Channel].Name}
	if cause.Lane >= 0 {
		v.Set("in", m.Lanes[cause.Lane].ID)
		if cause.Other >= 0 && cause.Other != cause.Channel {
			v.Set("other", m.Channels[cause.Other].ID)
			p.Name += " and " + m.Channels[cause.Other].Name
		}
	}
	p.URL = page.PinningURL(tr.pinning.ID, "timing/where?"+v.Encode()+"&"+c.query())
	p.Machine = page.MachineURL(tr.now.ID) + "?channel=" + url.QueryEscape(v.Get("channel"))
	return p
}

// partOf is the part of a channel in which a rule is broken.
func partOf(c timing.Cause) draw.PartKind {
	switch {
	case c.Lane >= 0:
		return draw.LanePart
	case c.Kind.String() == "crowded":
		return draw.LeverPart
	case c.Kind.String() == "unready":
		return draw.GatePart
	case c.Kind.String() == "unclear":
		return draw.PlatePart
	}
	return draw.ChannelPart
}

// whereView is the channels that a rule concerns, each drawn with the part in
// which it is broken lit.
type whereView struct {
	Says     string
	Pictures []draw.Picture
}

// timingWhere draws the place of a limit or a finding.
func (s *area) timingWhere(w http.ResponseWriter, r *http.Request) error {
	tr, err := s.readTrial(r, readTimingChoice(r.URL.Query()))
	if err != nil && asBadTrial(err) == nil {
		return err
	}
	v := r.URL.Query()
	view, err := drawWhere(tr.works.Machine, draw.PartKind(v.Get("part")), v.Get("in"), v.Get("channel"), v.Get("other"))
	if err != nil {
		return err
	}
	s.Show(w, r, http.StatusOK, whereDrawn(view))
	return nil
}

// drawWhere draws a channel, and another where it is not empty, with the part lit.
// The lane is that of a part that is a lane.
func drawWhere(m *wheel.Machine, kind draw.PartKind, lane, channel, other string) (whereView, error) {
	var view whereView
	ids := []string{channel}
	if other != "" {
		ids = append(ids, other)
	}
	for _, id := range ids {
		i := m.Channel(id)
		if i < 0 {
			return view, wheel.Refuse(wheel.ErrNotFound, "%s has no channel %s", m.Name, wheel.IDText(id))
		}
		lit := draw.Part{Kind: kind, ID: id}
		if kind == draw.LanePart {
			lit.ID = lane
		}
		view.Pictures = append(view.Pictures, draw.Machine(m, draw.Options{WidthPX: whereWidthPX, Channel: id, NoWheel: true, Lit: []draw.Part{lit}}))
	}
	name := m.Channels[m.Channel(channel)].Name
	switch {
	case kind == draw.LanePart && other != "":
		view.Says = fmt.Sprintf("In lane %s, which %s and %s share.", lane, name, m.Channels[m.Channel(other)].Name)
	case kind == draw.LanePart:
		view.Says = fmt.Sprintf("In lane %s of %s.", lane, name)
	case kind == draw.ChannelPart:
		view.Says = fmt.Sprintf("%s as a whole.", name)
	default:
		view.Says = fmt.Sprintf("%s of %s.", say.Capital("the "+string(kind)), name)
	}
	return view, nil
}
