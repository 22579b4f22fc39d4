package draw

import (
	"math"
	"slices"
	"strings"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// caption is one thing said beneath a part: what, in bold or behind a small
// picture of it, and its figures.
type caption struct {
	head    bool
	icon    string // "fall", "ramp", or a lane's letter
	name    string // may be cut; the figures never are
	figures string
	lit     bool
}

// Type sizes and the advance from line to line, in pixels.
const (
	headPX  = 13.5
	smallPX = 12
	linePX  = 16.5
	iconPX  = 20 // room for a caption's icon
)

// kindNames are what a channel sounds on, one and many.
var kindNames = map[wheel.ChannelKind][2]string{
	"bar": {"bar", "bars"}, "tube": {"tube", "tubes"}, "bell": {"bell", "bells"}, "block": {"block", "blocks"},
	"drum": {"drum", "drums"}, "string": {"string", "strings"}, "other": {"other plate", "other plates"},
}

func kindCount(n int, kind wheel.ChannelKind) string {
	names, ok := kindNames[kind]
	if !ok {
		names = kindNames["other"]
	}
	return say.Count(n, names[0], names[1])
}

// laneFigures are the length of a lane and the slope of a ramp.
func laneFigures(l wheel.Lane) string {
	return rangeFigures(string(l.Kind), []wheel.Lane{l})
}

// rangeFigures are the lengths and slopes of lanes of one kind, from the least
// to the greatest.
func rangeFigures(kind string, lanes []wheel.Lane) string {
	text := rangeOf(lanes, nbsp+"mm", "length", func(l wheel.Lane) wheel.Maybe { return l.LengthMM })
	if kind == string(wheel.Ramp) {
		text += ", " + rangeOf(lanes, "°", "slope", func(l wheel.Lane) wheel.Maybe { return l.SlopeDeg })
	}
	return text
}

// rangeOf is the range of one figure, with its unit. One that no lane has is
// called unknown by its name.
func rangeOf(lanes []wheel.Lane, unit, name string, of func(wheel.Lane) wheel.Maybe) string {
	low, high := math.Inf(1), math.Inf(-1)
	for _, l := range lanes {
		if v, ok := of(l).Get(); ok {
			low, high = min(low, v), max(high, v)
		}
	}
	switch {
	case low > high:
		return name + nbsp + "unknown"
	case say.Rounded(low, 1) == say.Rounded(high, 1):
		return say.Rounded(low, 1) + unit
	}
	text := say.Rounded(low, 1) + " to " + say.Rounded(high, 1) + unit
	if name == "slope" {
		return strings.ReplaceAll(text, " ", nbsp)
	}
	return text
}

// stationName is every channel of a station, as far as a sentence lists them.
func stationName(s *station) string {
	names := make([]string, len(s.channels))
	for i, c := range s.channels {
		names[i] = say.Steady(c.Name)
	}
	return say.List(names)
}

// shortName is the first channel and the last: "Bar G4 to B4".
func shortName(s *station) string {
	first := say.Steady(s.channels[0].Name)
	last := say.Steady(s.channels[len(s.channels)-1].Name)
	if word, _, ok := strings.Cut(first, " "); ok {
		if rest, ok := strings.CutPrefix(last, word+" "); ok {
			last = rest
		}
	}
	switch len(s.channels) {
	case 1:
		return first
	case 2:
		return first + ", " + last
	}
	return first + " to " + last
}

// neighbours tells whether every channel between a station's first row and its
// last is in it.
func (d *drawing) neighbours(s *station) bool {
	between := 0
	for i := range d.m.Channels {
		if row := d.m.Channels[i].Row; row >= s.channels[0].Row && row <= s.channels[len(s.channels)-1].Row {
			between++
		}
	}
	return between == len(s.channels)
}

// captionsOf are the lines beneath a station.
func (d *drawing) captionsOf(s *station) []caption {
	c := s.channels[0]
	lines := []caption{{head: true, name: shortName(s), lit: d.anyLit(d.wholes(s)...)}}
	if n := len(s.channels); n > 1 {
		lines[0].name = kindCount(n, c.Kind)
		among := shortName(s)
		if !d.neighbours(s) {
			among = "among " + among
		}
		lines = append(lines, caption{name: among})
	}
	if resting := restingOf(s); resting > 0 && len(s.channels) > 1 {
		lines = append(lines, caption{name: say.Whole(resting) + " resting"})
	} else if resting > 0 {
		lines = append(lines, caption{name: "resting"})
	}
	if d.alone {
		return append(lines, d.channelCaptions(c)...)
	}
	switch s.how {
	case same:
		lines = append(lines, d.routeCaptions(s.routes[0].path)...)
		lines = append(lines, d.routeCaptions(s.routes[0].exit)...)
	case kindly:
		lines = append(lines, d.kindCaptions(s)...)
	default:
		lines = append(lines, d.likeCaptions(s)...)
	}
	return append(lines, d.litCaptions(s)...)
}

func restingOf(s *station) int {
	n := 0
	for _, c := range s.channels {
		if c.Service == wheel.Resting {
			n++
		}
	}
	return n
}

func (d *drawing) wholes(s *station) []Part {
	var whole []Part
	for _, c := range s.channels {
		whole = append(whole, Part{ChannelPart, c.ID})
	}
	return whole
}

// litCaptions name the lit parts of channels that share a station's signs.
func (d *drawing) litCaptions(s *station) []caption {
	if len(s.channels) == 1 {
		return nil
	}
	var lines []caption
	for _, c := range s.channels {
		var what []string
		for _, kind := range []PartKind{ChannelPart, LeverPart, GatePart, PlatePart} {
			switch {
			case !d.lit[Part{kind, c.ID}]:
			case kind == ChannelPart:
				what = append(what, "marked")
			default:
				what = append(what, string(kind))
			}
		}
		if what != nil && len(lines) < mostKept {
			lines = append(lines, caption{name: say.Steady(c.Name) + ":", figures: say.List(what), lit: true})
		}
	}
	return lines
}

func (d *drawing) laneIcon(l wheel.Lane) string {
	if letter := d.letters[l.ID]; letter != "" {
		return letter
	}
	return string(l.Kind)
}

// routeCaptions are the lanes of a path or an exit, one a line.
func (d *drawing) routeCaptions(ids []string) []caption {
	var lines []caption
	drawn := d.drawn(ids)
	for _, id := range drawn {
		l := d.lane(id)
		lines = append(lines, caption{icon: d.laneIcon(l), name: say.Steady(id), figures: laneFigures(l), lit: d.lit[Part{LanePart, id}]})
	}
	if rest := ids[len(drawn):]; len(rest) > 0 {
		sum := 0.0
		for _, id := range rest {
			sum += d.lane(id).LengthMM.Or(0)
		}
		lines = append(lines, caption{name: "and " + say.Count(len(rest), "lane", "lanes") + " more,", figures: say.Rounded(sum, 1) + nbsp + "mm"})
	}
	return lines
}

// likeCaptions are the lanes of groups that are built alike, one a line with
// the range of its figures.
func (d *drawing) likeCaptions(s *station) []caption {
	var lines []caption
	drawn := slices.Concat(d.drawn(s.routes[0].path), d.drawn(s.routes[0].exit))
	at := func(i int) int { // of a lane drawn, its place in the whole route
		if n := len(d.drawn(s.routes[0].path)); i >= n {
			return len(s.routes[0].path) + i - n
		}
		return i
	}
	for i, id := range drawn {
		var lanes []wheel.Lane
		for _, r := range s.routes {
			l := d.lane(r.lanes()[at(i)])
			if !slices.ContainsFunc(lanes, func(m wheel.Lane) bool { return m.ID == l.ID }) {
				lanes = append(lanes, l)
			}
		}
		first := d.lane(id)
		line := caption{icon: d.laneIcon(first), name: say.Steady(id), figures: rangeFigures(string(first.Kind), lanes), lit: d.lit[Part{LanePart, id}]}
		if len(lanes) > 1 {
			line.icon = string(first.Kind)
			line.name = laneCount(lanes)
		}
		lines = append(lines, line)
	}
	if more := len(s.routes[0].lanes()) - len(drawn); more > 0 {
		lines = append(lines, caption{name: "and " + say.Count(more, "lane", "lanes") + " more each"})
	}
	return lines
}

// kindCaptions are the lanes of groups that are built in several ways.
func (d *drawing) kindCaptions(s *station) []caption {
	seen := map[string]bool{}
	byKind := map[wheel.LaneKind][]wheel.Lane{}
	for _, r := range s.routes {
		for _, id := range r.lanes() {
			if !seen[id] {
				seen[id] = true
				l := d.lane(id)
				byKind[l.Kind] = append(byKind[l.Kind], l)
			}
		}
	}
	lines := []caption{{name: "of several builds,", figures: "the first drawn"}}
	for _, kind := range []wheel.LaneKind{wheel.Fall, wheel.Ramp} {
		if lanes := byKind[kind]; len(lanes) > 0 {
			lines = append(lines, caption{icon: string(kind), name: laneCount(lanes), figures: rangeFigures(string(kind), lanes)})
		}
	}
	return lines
}

func laneCount(lanes []wheel.Lane) string {
	kind := string(lanes[0].Kind)
	return say.Count(len(lanes), kind, kind+"s")
}

// channelCaptions are all figures of one channel that its file gives.
func (d *drawing) channelCaptions(c *wheel.Channel) []caption {
	lines := []caption{
		{name: "row", figures: say.Whole(c.Row)},
		given("lever:", d.lit[Part{LeverPart, c.ID}],
			figure{"reach ", c.Trip.ReachMM, nbsp + "mm"}, figure{"hold ", c.Trip.HoldMM, nbsp + "mm"}, figure{"return ", c.Trip.ReturnMS, nbsp + "ms"},
			figure{"latch ", c.Trip.LatchMS, nbsp + "ms"}, figure{"latch jitter ", c.Trip.JitterMS, nbsp + "ms"}),
		given("gate:", d.lit[Part{GatePart, c.ID}],
			figure{"reload ", c.Gate.ReloadMS, nbsp + "ms"}, figure{"spread of reload ", c.Gate.ReloadSDMS, nbsp + "ms"},
			figure{"release ", unless0(c.Gate.ReleaseMMS), nbsp + "mm/s"}, figure{"feed ", c.Gate.FeedSlopeDeg, "°"}, figure{"rolling ", unless0(c.Gate.Rolling), ""}),
		given("queue:", false, figure{"holds ", unless0(float64(c.Queue.Holds)), ""}, figure{"least ", unless0(float64(c.Queue.Least)), ""}, figure{"most ", unless0(float64(c.Queue.Most)), ""}),
	}
	lines = append(lines, d.fullRoute(c.Path)...)
	lines = append(lines, given("plate:", d.lit[Part{PlatePart, c.ID}],
		figure{"clear after ", c.Strike.ClearMS, nbsp + "ms"}, figure{"restitution ", c.Strike.Restitution, ""}, figure{"marbles leave at ", c.ExitMMS, nbsp + "mm/s"}))
	lines = append(lines, d.fullRoute(c.Exit)...)
	return slices.DeleteFunc(lines, func(l caption) bool { return l.figures == "" })
}

func (d *drawing) fullRoute(ids []string) []caption {
	lines := d.routeCaptions(ids)
	for i := range lines {
		l := d.lane(ids[i])
		more := given("", false, figure{"rail gap ", unless0(l.RailGapMM), nbsp + "mm"}, figure{"rolling ", unless0(l.Rolling), ""}).figures
		if more != "" {
			lines[i].figures += "; " + more
		}
		if keep := l.KeepOf(); keep != 1 {
			lines[i].figures += "; keeps " + say.Percent(keep) + nbsp + "% of the speed"
		}
	}
	return lines
}

// figure is a number with what stands before and after it.
type figure struct {
	before string
	value  wheel.Maybe
	unit   string
}

// unless0 is a figure of which 0 means that there is none.
func unless0(value float64) wheel.Maybe {
	if value == 0 {
		return wheel.Maybe{}
	}
	return wheel.Known(value)
}

// given lists figures, but for those that the file leaves out.
func given(name string, lit bool, figures ...figure) caption {
	var texts []string
	for _, f := range figures {
		if value, ok := f.value.Get(); ok {
			texts = append(texts, f.before+say.Number(value)+f.unit)
		}
	}
	return caption{name: name, figures: strings.Join(texts, ", "), lit: lit}
}

// wheelCaptions are the figures of the wheel, the marbles and the lift.
func (d *drawing) wheelCaptions() []caption {
	w, mb, lifts := d.m.Wheel, d.m.Marble, d.m.AllLifts()
	lines := []caption{
		{head: true, name: "Wheel"},
		{figures: "radius " + say.Number(w.RadiusMM) + nbsp + "mm to the pin tips"},
	}
	if w.SurfaceRadiusMM > 0 {
		lines = append(lines, caption{figures: "radius " + say.Number(w.SurfaceRadiusMM) + nbsp + "mm to the surface"})
	}
	lines = append(lines, caption{figures: say.Count(w.Steps, "step", "steps") + ", one every " + say.Rounded(w.ArcMM(), 2) + nbsp + "mm"})
	if w.CrankTurns > 0 {
		lines = append(lines, caption{figures: turns(w.CrankTurns) + " of the crank a turn"})
	}
	marbles := "Marbles"
	if mb.Stock > 0 {
		marbles = say.Count(mb.Stock, "marble", "marbles")
	}
	lines = append(lines, caption{head: true, name: marbles},
		caption{figures: "diameter " + say.Number(mb.DiameterMM) + nbsp + "mm"},
		caption{figures: "clearance " + say.Number(mb.ClearanceMM) + nbsp + "mm"})
	for _, l := range lifts {
		lines = append(lines, liftCaptions(l)...)
	}
	return lines
}

func liftCaptions(l wheel.Lift) []caption {
	name := "Lift"
	if l.ID != "" {
		name += " " + say.Steady(l.ID)
	}
	if l.Drive != "" {
		name += ", driven by the " + say.Steady(l.Drive)
	}
	lines := []caption{{head: true, name: name}}
	for _, f := range []figure{{"", unless0(l.PocketsPerTurn), " pockets a turn"}, {"", unless0(l.MarblesPerS), " marbles a second"}, {"carries in ", unless0(l.CarryMS / 1000), nbsp + "s"}} {
		if c := given("", false, f); c.figures != "" {
			lines = append(lines, c)
		}
	}
	return lines
}

func turns(n float64) string {
	if n == 1 {
		return "1 turn"
	}
	return say.Number(n) + " turns"
}

// naturalPX is how wide captions would like to be, without their wrapped parts.
func naturalPX(lines []caption) float64 {
	wide := 0.0
	for _, l := range lines {
		w := textWidth(strings.TrimSpace(l.name+" "+l.figures), l.sizePX())
		if l.icon != "" {
			w += iconPX
		}
		wide = max(wide, w)
	}
	return wide
}

func (l caption) sizePX() float64 {
	if l.head {
		return headPX
	}
	return smallPX
}

// set writes captions in a column whose upper left corner is the origin. It
// returns how tall the column is.
func setCaptions(k *sketch, lines []caption, wide float64) (tall float64) {
	y := 0.0
	for _, l := range lines {
		class, size := "figures", l.sizePX()
		if l.head {
			class = "heading"
			if y > 0 {
				y += 6
			}
		}
		if l.lit {
			class += " lit"
		}
		x := 0.0
		if l.icon != "" {
			x = iconPX
			k.icon(l.icon, Point{7, y + 0.62*linePX})
		}
		for _, text := range l.texts(size, wide-x) {
			y += linePX
			k.add(Shape{Kind: Text, Class: class, At: []Point{{x, y - 4}}, SizePX: size, Text: text})
		}
	}
	return y
}

// texts are a caption's lines: name and figures in one where they fit, else
// one beneath the other, unless the name is short. A name too long is cut.
func (l caption) texts(size, wide float64) []string {
	name := cut(strings.Join(strings.Fields(l.name), " "), size, wide)
	both := strings.TrimSpace(name + " " + l.figures)
	switch {
	case l.figures == "":
		return []string{name}
	case textWidth(both, size) <= wide, textWidth(name, size) < wide/5:
		return wrap(both, size, wide)
	}
	return append([]string{name}, wrap(l.figures, size, wide)...)
}

// icon is a small picture of a lane, centred on a point, or its letter.
func (k *sketch) icon(what string, at Point) {
	switch what {
	case string(wheel.Fall):
		k.line("lane fall icon", at.plus(0, -6), at.plus(0, 6))
		k.line("fine", at.plus(-3.5, 1.5), at.plus(0, 6), at.plus(3.5, 1.5))
	case string(wheel.Ramp):
		k.line("lane ramp icon", at.plus(-7, -3.5), at.plus(7, 3.5))
	default:
		k.add(Shape{Kind: Disc, Class: "ring", At: []Point{at}, R: 7},
			Shape{Kind: Text, Class: "letter", At: []Point{at.plus(0, 3.4)}, SizePX: 9.5, Text: what, Middle: true})
	}
}
