package draw

import (
	"strings"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// title is what the picture is of.
func (d *drawing) title() string {
	if d.alone {
		return say.Steady(d.stations[0].channels[0].Name) + " of " + d.name() + ", drawn from the side"
	}
	return d.name() + ", drawn from the side"
}

// description says what is drawn, and how many.
func (d *drawing) description() string {
	var parts []string
	for i := range d.m.Channels {
		if d.alone && d.m.Channels[i].ID != d.o.Channel {
			continue
		}
		parts = append(parts, d.m.Channels[i].Route()...)
	}
	falls, ramps, seen := 0, 0, map[string]bool{}
	for _, id := range parts {
		if seen[id] {
			continue
		}
		seen[id] = true
		if d.lane(id).Kind == wheel.Fall {
			falls++
		} else {
			ramps++
		}
	}
	sentences := []string{"A wheel of radius " + say.Number(d.m.Wheel.RadiusMM) + " mm with " + say.Count(d.m.Wheel.Steps, "step", "steps") + "."}
	what := say.Count(len(d.m.Channels), "channel", "channels") + ", drawn in " + say.Count(len(d.stations), "group", "groups") + ","
	if d.alone {
		what = "1 channel"
	}
	sentences = append(sentences, what+" with "+say.Count(falls, "fall", "falls")+" and "+say.Count(ramps, "ramp", "ramps")+".")
	if n := len(d.m.AllLifts()); n > 0 {
		sentences = append(sentences, say.Count(n, "lift", "lifts")+".")
	}
	if lit := d.litWords(); lit != "" {
		sentences = append(sentences, "Marked: "+lit+".")
	}
	return strings.Join(sentences, " ")
}

// litWords names what is lit, in the order it was asked for.
func (d *drawing) litWords() string {
	var names []string
	for _, p := range d.o.Lit {
		if p.Kind == LanePart {
			if d.m.Lane(p.ID) >= 0 {
				names = append(names, "lane "+say.Steady(p.ID))
			}
		} else if i := d.m.Channel(p.ID); i >= 0 {
			names = append(names, string(p.Kind)+" of "+say.Steady(d.m.Channels[i].Name))
			if p.Kind == ChannelPart {
				names[len(names)-1] = say.Steady(d.m.Channels[i].Name)
			}
		}
	}
	return say.List(names)
}

// stationWords is a station in a sentence, in the order in which a marble goes
// through it.
func (d *drawing) stationWords(s *station) string {
	texts := []string{say.Capital(kindCount(len(s.channels), s.channels[0].Kind)) + ", " + stationName(s) + ": gate"}
	switch s.how {
	case same:
		texts = append(texts, d.laneWords(s.routes[0].path)...)
		texts = append(texts, "plate")
		texts = append(texts, d.laneWords(s.routes[0].exit)...)
	case kindly:
		for _, c := range d.kindCaptions(s) {
			texts = append(texts, strings.TrimSuffix(c.name, ",")+", "+c.figures)
		}
	default:
		for _, c := range d.likeCaptions(s) {
			texts = append(texts, strings.TrimSpace(c.name+" "+c.figures))
		}
	}
	text := strings.Join(texts, "; ")
	if n := restingOf(s); n > 0 {
		text += "; " + say.Whole(n) + " of them resting"
		if len(s.channels) == 1 {
			text = strings.TrimSuffix(text, "1 of them resting") + "resting"
		}
	}
	return strings.ReplaceAll(text, nbsp, " ") + "."
}

func (d *drawing) laneWords(ids []string) []string {
	var texts []string
	for _, c := range d.routeCaptions(ids) {
		texts = append(texts, strings.TrimSuffix(strings.TrimSpace(c.name), ",")+", "+c.figures)
	}
	for i, id := range d.drawn(ids) {
		texts[i] = string(d.lane(id).Kind) + " " + texts[i]
	}
	return texts
}
