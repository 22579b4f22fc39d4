package draw

import (
	"fmt"
	"slices"
	"strings"

	"pinwright/wheel"
)

// station is what is drawn once: channels that share their lanes and kind, or
// several such groups that are alike.
type station struct {
	channels []*wheel.Channel // by their rows
	routes   []route          // of the groups in it; the first is drawn
	kept     bool             // something of it is lit: it stays apart
	how      alike
}

// route is the lanes of one group.
type route struct{ path, exit []string }

func (r route) lanes() []string { return slices.Concat(r.path, r.exit) }

// alike says in what the groups of a station agree.
type alike int

const (
	same   alike = iota // they are one group
	equal               // lanes of the same kinds and figures
	built               // lanes of the same kinds, one after another
	kindly              // the kind of what they strike
)

// mostStations can be read at a width.
func (d *drawing) mostStations() int {
	if d.o.WidthPX >= besidePX {
		return 12
	}
	return 8
}

// mostKept is how many stations stay apart for what is lit in them.
const mostKept = 4

// stationsOf gathers the channels, more coarsely until few enough stations
// are left. There are never more than kinds of plates, and those kept.
func (d *drawing) stationsOf() []station {
	order := make([]*wheel.Channel, 0, len(d.m.Channels))
	for i := range d.m.Channels {
		if c := &d.m.Channels[i]; !d.alone || c.ID == d.o.Channel {
			order = append(order, c)
		}
	}
	slices.SortStableFunc(order, byRow)
	var all []station
	for _, c := range order {
		all = append(all, station{channels: []*wheel.Channel{c}, routes: []route{{c.Path, c.Exit}}})
	}
	all = merge(all, same, func(s *station) string {
		return fmt.Sprintf("%s %q %q", s.channels[0].Kind, s.routes[0].path, s.routes[0].exit)
	})
	d.keep(all)
	for _, how := range []alike{equal, built, kindly} {
		if len(all) <= d.mostStations() {
			break
		}
		all = merge(all, how, func(s *station) string { return d.likeness(s, how) })
	}
	return all
}

func byRow(a, b *wheel.Channel) int { return a.Row - b.Row }

// keep marks the stations that show what is lit; a lane is shown by the first
// that uses it.
func (d *drawing) keep(all []station) {
	shown := map[Part]bool{}
	kept := 0
	for i := range all {
		s := &all[i]
		for _, p := range s.parts() {
			if d.lit[p] && !shown[p] && kept < mostKept {
				shown[p], s.kept = true, true
			}
		}
		if s.kept {
			kept++
		}
	}
}

// parts is all that can be lit of a station.
func (s *station) parts() []Part {
	var parts []Part
	for _, c := range s.channels {
		parts = append(parts, Part{ChannelPart, c.ID}, Part{LeverPart, c.ID}, Part{GatePart, c.ID}, Part{PlatePart, c.ID})
	}
	for _, id := range s.routes[0].lanes() {
		parts = append(parts, Part{LanePart, id})
	}
	return parts
}

// merge joins stations with the same key, in the place of the first.
func merge(all []station, how alike, key func(*station) string) []station {
	at := map[string]int{}
	var out []station
	for i := range all {
		s := all[i]
		k := key(&s)
		if j, ok := at[k]; ok && !s.kept {
			into := &out[j]
			into.channels = append(into.channels, s.channels...)
			if how != same {
				into.routes = append(into.routes, s.routes...)
				into.how = how
			}
			continue
		}
		if !s.kept {
			at[k] = len(out)
		}
		out = append(out, s)
	}
	for i := range out {
		slices.SortStableFunc(out[i].channels, byRow)
	}
	return out
}

// likeness is equal for stations that are alike in this way.
func (d *drawing) likeness(s *station, how alike) string {
	var b strings.Builder
	fmt.Fprint(&b, s.channels[0].Kind)
	if how == kindly {
		return b.String()
	}
	for i, id := range s.routes[0].lanes() {
		if i == len(s.routes[0].path) {
			b.WriteString(" plate")
		}
		l := d.lane(id)
		if how == equal {
			fmt.Fprint(&b, " ", l.Kind, " ", l.LengthMM, " ", l.SlopeDeg)
		} else {
			fmt.Fprint(&b, " ", l.Kind)
		}
	}
	return b.String()
}

// lane is the lane with this id, or one without figures.
func (d *drawing) lane(id string) wheel.Lane {
	if i := d.m.Lane(id); i >= 0 {
		return d.m.Lanes[i]
	}
	return wheel.Lane{ID: id}
}

// mostLanes of a path or exit are drawn of a machine; of one channel all are.
const mostLanes = 5

func (d *drawing) drawn(lanes []string) []string {
	if !d.alone && len(lanes) > mostLanes {
		return lanes[:mostLanes]
	}
	return lanes
}

// letter names the lanes that more than one station draws or points to.
func (d *drawing) letter() {
	d.letters, d.owner = map[string]string{}, map[string]int{}
	for i := range d.stations {
		r := d.stations[i].routes[0]
		for _, id := range slices.Concat(d.drawn(r.path), d.drawn(r.exit)) {
			first, used := d.owner[id]
			if !used {
				d.owner[id] = i
			} else if first != i && d.letters[id] == "" {
				d.letters[id] = letterOf(len(d.letters))
			}
		}
	}
}

// letterOf is A to Z, then A2 and so on.
func letterOf(n int) string {
	text := string(rune('A' + n%26))
	if n >= 26 {
		text += fmt.Sprint(n/26 + 1)
	}
	return text
}
