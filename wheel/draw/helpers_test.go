package draw_test

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
	"pinwright/wheel/draw"
)

// element is an element of an SVG as encoding/xml reads it.
type element struct {
	XMLName xml.Name
	Attrs   []xml.Attr `xml:",any,attr"`
	Text    string     `xml:",chardata"`
	Kids    []element  `xml:",any"`
}

func (e element) attr(name string) string {
	for _, a := range e.Attrs {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

func (e element) has(class string) bool {
	return strings.Contains(" "+e.attr("class")+" ", " "+class+" ")
}

// each visits an element and all within it.
func (e element) each(visit func(element)) {
	visit(e)
	for _, k := range e.Kids {
		k.each(visit)
	}
}

func (e element) all(keep func(element) bool) []element {
	var found []element
	e.each(func(e element) {
		if keep(e) {
			found = append(found, e)
		}
	})
	return found
}

// texts are the lines written in a picture, hard spaces as plain ones.
func (e element) texts() []string {
	var texts []string
	for _, t := range e.all(func(e element) bool { return e.XMLName.Local == "text" }) {
		texts = append(texts, plain(t.Text))
	}
	return texts
}

func plain(text string) string { return strings.ReplaceAll(text, "\u00a0", " ") }

type fataler interface {
	Helper()
	Fatal(...any)
	Fatalf(string, ...any)
}

func written(t fataler, p draw.Picture) ([]byte, element) {
	t.Helper()
	var b bytes.Buffer
	if err := p.WriteSVG(&b); err != nil {
		t.Fatal(err)
	}
	var e element
	if err := xml.Unmarshal(b.Bytes(), &e); err != nil {
		t.Fatal(err)
	}
	return b.Bytes(), e
}

func number(t fataler, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) {
		t.Fatalf("%q is no number", text)
	}
	return v
}

func points(t fataler, e element) []draw.Point {
	t.Helper()
	var at []draw.Point
	for _, pair := range strings.Fields(e.attr("points")) {
		x, y, _ := strings.Cut(pair, ",")
		at = append(at, draw.Point{X: number(t, x), Y: number(t, y)})
	}
	return at
}

// small is a machine whose drawing can be worked out by hand: a wheel of 500 mm
// radius, one channel with a fall of 300 mm, a ramp of 400 mm at 30° after it.
func small() *wheel.Machine {
	m := &wheel.Machine{
		Format: wheel.MachineFormat, Name: "Small",
		Marble: wheel.Marble{DiameterMM: 20, ClearanceMM: 2},
		Wheel:  wheel.Wheel{RadiusMM: 500, SurfaceRadiusMM: 490, Steps: 64, StepsPerBeat: 4, BeatsPerBar: 4},
		Lanes: []wheel.Lane{
			{ID: "fall", Kind: wheel.Fall, LengthMM: wheel.Known(300), Keep: wheel.Known(1)},
			{ID: "ramp", Kind: wheel.Ramp, LengthMM: wheel.Known(400), SlopeDeg: wheel.Known(30), RailGapMM: 7, Rolling: 0.003, Keep: wheel.Known(0.5)},
		},
		Channels: []wheel.Channel{{
			ID: "one", Name: "Bell One", Row: 3, Kind: "bell", Service: wheel.Playing,
			Trip: wheel.Trip{ReachMM: wheel.Known(3.5), HoldMM: wheel.Known(6), ReturnMS: wheel.Known(61), LatchMS: wheel.Known(18), JitterMS: wheel.Known(2.5)},
			Gate: wheel.Gate{ReloadMS: wheel.Known(151), ReloadSDMS: wheel.Known(8), FeedSlopeDeg: wheel.Known(12), Rolling: 0.004, ReleaseMMS: 35},
			Path: []string{"fall"}, Strike: wheel.Strike{ClearMS: wheel.Known(95), Restitution: wheel.Known(0.55)}, ExitMMS: wheel.Known(205), Exit: []string{"ramp"},
			Queue: wheel.Queue{Holds: 24, Least: 4, Most: 20},
		}},
		Lift: wheel.Lift{Drive: "motor", MarblesPerS: 9.5, CarryMS: 5500},
	}
	m.Limits.SetDefaults()
	return m
}

// kindsOfPlates are those of the file.
var kindsOfPlates = wheel.ChannelKinds

// machines draws valid machines of 6 to 64 channels, and some that no workshop
// has: lanes of a kilometre, names without an end, routes without lanes.
func machines() *rapid.Generator[*wheel.Machine] {
	return rapid.Custom(func(t *rapid.T) *wheel.Machine {
		m := small()
		m.Name = rapid.SampledFrom([]string{"Small", strings.Repeat("Great ", 33), "</svg><script>", "\u202eevil"}).Draw(t, "name")
		m.Wheel.RadiusMM = rapid.SampledFrom([]float64{1, 120, 600, 4000, 1e6}).Draw(t, "radius")
		m.Wheel.SurfaceRadiusMM = rapid.SampledFrom([]float64{0, 0.98 * m.Wheel.RadiusMM, min(1.5*m.Wheel.RadiusMM, 1e6)}).Draw(t, "surface")
		m.Wheel.Steps = rapid.SampledFrom([]int{1, 16, 256, wheel.MaxSteps}).Draw(t, "steps")
		m.Marble.DiameterMM = rapid.SampledFrom([]float64{8, 12, 60}).Draw(t, "marble")
		if rapid.Bool().Draw(t, "no lift") {
			m.Lift = wheel.Lift{}
		}
		length := rapid.OneOf(rapid.Float64Range(50, 1500), rapid.SampledFrom([]float64{0.001, 1e6}))
		m.Lanes = nil
		for i := range rapid.IntRange(1, 60).Draw(t, "lanes") {
			id := fmt.Sprint("lane-", i)
			if rapid.IntRange(0, 9).Draw(t, "long id") == 0 {
				id += strings.Repeat("W", 50)
			}
			l := wheel.Lane{ID: id, Kind: wheel.Fall, LengthMM: wheel.Known(length.Draw(t, "length")), Keep: wheel.Known(1)}
			if rapid.Bool().Draw(t, "ramp") {
				l.Kind, l.SlopeDeg = wheel.Ramp, wheel.Known(rapid.Float64Range(-90, 90).Draw(t, "slope"))
			}
			m.Lanes = append(m.Lanes, l)
		}
		m.Channels = nil
		for i := range rapid.IntRange(6, 64).Draw(t, "channels") {
			name := rapid.SampledFrom([]string{fmt.Sprint("Tone ", i), strings.Repeat("W", 200), "琴" + fmt.Sprint(i), "<b>&\"'", "two  spaces"}).Draw(t, "name")
			c := wheel.Channel{ID: fmt.Sprint("c", i), Name: name, Row: 2 * i, Service: wheel.Playing, Kind: rapid.SampledFrom(kindsOfPlates).Draw(t, "kind")}
			if rapid.IntRange(0, 5).Draw(t, "rests") == 0 {
				c.Service = wheel.Resting
			}
			route := rapid.Permutation(m.Lanes).Draw(t, "route")
			if most := rapid.SampledFrom([]int{2, 3, 12}).Draw(t, "longest"); len(route) > most {
				route = route[:most]
			}
			split := rapid.IntRange(0, len(route)).Draw(t, "plate")
			for j, l := range route {
				if j < split {
					c.Path = append(c.Path, l.ID)
				} else {
					c.Exit = append(c.Exit, l.ID)
				}
			}
			m.Channels = append(m.Channels, c)
		}
		if p := m.Check(); len(p) > 0 {
			t.Fatal(p)
		}
		return m
	})
}

func options(m *wheel.Machine) *rapid.Generator[draw.Options] {
	return rapid.Custom(func(t *rapid.T) draw.Options {
		o := draw.Options{WidthPX: rapid.SampledFrom([]float64{0, 280, 300, 620, 700, 1200}).Draw(t, "width")}
		if rapid.IntRange(0, 3).Draw(t, "alone") == 0 {
			o.Channel = rapid.SampledFrom(m.Channels).Draw(t, "channel").ID
		}
		o.Plain = rapid.IntRange(0, 3).Draw(t, "plain") == 0
		kinds := []draw.PartKind{draw.ChannelPart, draw.LeverPart, draw.GatePart, draw.PlatePart}
		for range rapid.IntRange(0, 6).Draw(t, "lit") {
			if rapid.Bool().Draw(t, "lane") {
				o.Lit = append(o.Lit, draw.Part{Kind: draw.LanePart, ID: rapid.SampledFrom(m.Lanes).Draw(t, "lit").ID})
			} else {
				o.Lit = append(o.Lit, draw.Part{Kind: rapid.SampledFrom(kinds).Draw(t, "kind"), ID: rapid.SampledFrom(m.Channels).Draw(t, "lit").ID})
			}
		}
		return o
	})
}

func join(e element) string { return strings.Join(e.texts(), "\n") }

func wantText(t *testing.T, text string, want ...string) {
	t.Helper()
	for _, w := range want {
		if !strings.Contains(text, w) {
			t.Errorf("%q is not in\n%s", w, text)
		}
	}
}
