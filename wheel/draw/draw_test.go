package draw_test

import (
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
	"pinwright/wheel/demo"
	"pinwright/wheel/draw"
	"pinwright/wheel/say"
)

// Worked by hand: with s pixels a millimetre the fall goes 300 s down; the ramp
// goes 400 cos 30° s = 346.41 s to the right and 400 sin 30° s = 200 s down; the
// rim has a radius of 500 s, the surface 490 s, a marble 10 s. s is read from the
// scale bar.
func TestGeometryIsToScale(t *testing.T) {
	for _, wide := range []float64{300, 620, 1200} {
		for _, channel := range []string{"", "one"} {
			_, e := written(t, draw.Machine(small(), draw.Options{WidthPX: wide, Channel: channel}))
			s := scaleOf(t, e)
			near := func(what string, got, want float64) {
				t.Helper()
				if math.Abs(got-want) > 0.03 { // written to a hundredth, both ends
					t.Errorf("%s at %v px: %v, want %v", what, wide, got, want)
				}
			}
			fall, ramp := points(t, part(t, e, "lane fall")), points(t, part(t, e, "lane ramp"))
			near("fall across", fall[1].X-fall[0].X, 0)
			near("fall down", fall[1].Y-fall[0].Y, 300*s)
			near("ramp across", ramp[1].X-ramp[0].X, 346.4102*s)
			near("ramp down", ramp[1].Y-ramp[0].Y, 200*s)
			near("slope", math.Atan2(ramp[1].Y-ramp[0].Y, ramp[1].X-ramp[0].X)*180/math.Pi/10, 3)
			radii := map[string]float64{}
			for _, c := range e.all(func(e element) bool { return e.XMLName.Local == "circle" }) {
				r := number(t, c.attr("r"))
				switch {
				case c.has("rim"):
					radii["rim"] = max(radii["rim"], r)
				case c.has("marble"):
					radii["marble"] = r
				case c.has("surface"):
					radii["surface"] = r
				}
			}
			near("rim", radii["rim"], 500*s)
			near("surface", radii["surface"], 490*s)
			near("marble", radii["marble"], 10*s)
		}
	}
}

// scaleOf reads pixels per millimetre from the scale bar and its label.
func scaleOf(t *testing.T, e element) float64 {
	t.Helper()
	foot := e.all(func(e element) bool { return e.has("foot") })[0]
	bar := points(t, foot.all(func(e element) bool { return e.has("ruler") })[0])
	mm := strings.TrimSuffix(foot.texts()[0], " mm")
	return (bar[1].X - bar[0].X) / number(t, mm)
}

func part(t *testing.T, e element, name string) element {
	t.Helper()
	found := e.all(func(e element) bool { return e.attr("data-part") == name })
	if len(found) != 1 {
		t.Fatalf("%s is drawn %d times, want once", name, len(found))
	}
	return found[0]
}

// Slopes up, straight up and flat are drawn as they are.
func TestEverySlopeIsDrawn(t *testing.T) {
	for _, deg := range []float64{-90, -20, 0, 2, 45, 90} {
		m := small()
		m.Lanes[1].SlopeDeg = wheel.Known(deg)
		_, e := written(t, draw.Machine(m, draw.Options{}))
		ramp := points(t, part(t, e, "lane ramp"))
		got := math.Atan2(ramp[1].Y-ramp[0].Y, ramp[1].X-ramp[0].X) * 180 / math.Pi
		if math.Abs(got-deg) > 0.02 {
			t.Errorf("a slope of %v° is drawn at %v°", deg, got)
		}
	}
}

// Of a channel drawn alone every figure that the file gives is told; the list
// is the file's, by hand.
func TestEveryFigureOfAChannelAppears(t *testing.T) {
	for _, wide := range []float64{300, 1200} {
		_, e := written(t, draw.Machine(small(), draw.Options{WidthPX: wide, Channel: "one"}))
		text := strings.Join(e.texts(), " ")
		wantText(t, text,
			"Bell One", "row 3", "reach 3.5 mm", "hold 6 mm", "return 61 ms", "latch 18 ms", "latch jitter 2.5 ms",
			"reload 151 ms", "spread of reload 8 ms", "release 35 mm/s", "feed 12°", "rolling 0.004",
			"holds 24", "least 4", "most 20", "fall 300 mm", "clear after 95 ms", "restitution 0.55", "marbles leave at 205 mm/s",
			"ramp 400 mm, 30°", "rail gap 7 mm", "rolling 0.003", "keeps 50 % of the speed",
			"radius 500 mm", "radius 490 mm", "64 steps", "diameter 20 mm", "clearance 2 mm",
			"driven by the motor", "9.5 marbles a second", "carries in 5.5 s")
	}
}

// Of a machine whose groups all fit, the length and slope of each lane is told.
func TestEveryLengthAndSlopeOfAMachineAppears(t *testing.T) {
	m := demo.Machine()
	_, e := written(t, draw.Machine(m, draw.Options{}))
	text := strings.Join(e.texts(), " ")
	for _, l := range m.Lanes {
		want := say.Rounded(l.LengthMM.Or(0), 1) + " mm"
		if l.Kind == wheel.Ramp {
			want += ", " + say.Rounded(l.SlopeDeg.Or(0), 1) + "°"
		}
		wantText(t, text, l.ID+" "+want)
	}
	wantText(t, text, "radius 600 mm", "256 steps", "8 turns of the crank", "900 marbles", "diameter 12 mm", "480 pockets a turn", "carries in 6 s", "to scale", "schematic")
}

// Sixty-four channels, each with a fall of its own from 200 to 515 mm and one
// drain: the figures are there as ranges, and the picture stays small.
func TestAlikeChannelsAreGathered(t *testing.T) {
	m := small()
	m.Lanes = []wheel.Lane{{ID: "drain", Kind: wheel.Ramp, LengthMM: wheel.Known(900), SlopeDeg: wheel.Known(6), Keep: wheel.Known(1)}}
	m.Channels = nil
	for i := range 64 {
		id := fmt.Sprint("fall-", i)
		m.Lanes = append(m.Lanes, wheel.Lane{ID: id, Kind: wheel.Fall, LengthMM: wheel.Known(200 + 5*float64(i)), Keep: wheel.Known(1)})
		m.Channels = append(m.Channels, wheel.Channel{ID: fmt.Sprint("c", i), Name: fmt.Sprint("Tone ", i), Row: i, Kind: "bar", Service: wheel.Playing, Path: []string{id}, Exit: []string{"drain"}})
	}
	p := draw.Machine(m, draw.Options{})
	_, e := written(t, p)
	wantText(t, join(e), "64 bars", "Tone 0 to 63", "64 falls 200 to 515 mm", "drain 900 mm, 6°")
	if len(p.Stations) != 1 {
		t.Errorf("%d groups, want 1", len(p.Stations))
	}
	// What is lit stays apart, and the rest says that it is not all of them.
	p = draw.Machine(m, draw.Options{Lit: []draw.Part{{Kind: draw.GatePart, ID: "c9"}}})
	_, e = written(t, p)
	wantText(t, join(e), "63 bars", "among Tone 0 to 63", "Tone 9", "fall-9 245 mm")
	wantText(t, p.Description, "Marked: gate of Tone 9.")
	gate := part(t, e, "gate c9")
	if !gate.has("lit") {
		t.Error("the gate of Tone 9 is not lit")
	}
}

// A lane that two groups use is drawn once and pointed to by its letter.
func TestSharedLaneIsDrawnOnce(t *testing.T) {
	_, e := written(t, draw.Machine(demo.Machine(), draw.Options{Lit: []draw.Part{{Kind: draw.LanePart, ID: "drain"}}}))
	if !part(t, e, "lane drain").has("lit") {
		t.Error("the drain is not lit")
	}
	lit := e.all(func(e element) bool { return e.has("lit") && e.attr("data-part") != "" })
	if len(lit) != 1 {
		t.Errorf("%d parts are lit, want 1", len(lit))
	}
	letters := map[string]int{}
	for _, x := range e.all(func(e element) bool { return e.has("letter") }) {
		letters[x.Text]++
	}
	// Beside the lane, at the group that only uses it, and in both captions.
	if letters["A"] != 4 || letters["B"] != 4 || len(letters) != 2 {
		t.Errorf("letters %v, want A and B four times each", letters)
	}
	if n := len(e.all(func(e element) bool { return e.has("pointer") })); n != 2 {
		t.Errorf("%d pointers, want 2: at the drain, and where the drums lead to it", n)
	}
}

var counted = regexp.MustCompile(`with (\d+) steps?\. (\d+) channels?, drawn in (\d+) groups?, with (\d+) falls? and (\d+) ramps?\.`)

// For any machine: what is drawn lies in the picture, no text meets another,
// numbers are numbers, the file is small, and the description's counts are
// right.
func TestAnyMachineIsDrawnWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := machines().Draw(t, "machine")
		o := options(m).Draw(t, "options")
		p := draw.Machine(m, o)
		data, e := written(t, p)
		const most = 160 << 10
		if len(data) > most {
			t.Fatalf("%d bytes, want %d at most", len(data), most)
		}
		inside(t, e)
		apart(t, e)
		if o.Channel == "" {
			counts(t, m, p)
		}
	})
}

func counts(t *rapid.T, m *wheel.Machine, p draw.Picture) {
	found := counted.FindStringSubmatch(p.Description)
	if found == nil {
		t.Fatalf("no counts in %q", p.Description)
	}
	falls, ramps := map[string]bool{}, map[string]bool{}
	for i := range m.Channels {
		for _, id := range m.Channels[i].Route() {
			if m.Lanes[m.Lane(id)].Kind == wheel.Fall {
				falls[id] = true
			} else {
				ramps[id] = true
			}
		}
	}
	for i, want := range []int{m.Wheel.Steps, len(m.Channels), len(p.Stations), len(falls), len(ramps)} {
		if found[i+1] != strconv.Itoa(want) {
			t.Fatalf("count %d of %q is %s, want %d", i, p.Description, found[i+1], want)
		}
	}
	// Every channel is in one group, of a kind.
	sum := 0
	for _, s := range p.Stations {
		n, _ := strconv.Atoi(s[:strings.IndexByte(s, ' ')])
		sum += n
	}
	if sum != len(m.Channels) {
		t.Fatalf("the groups hold %d channels, want %d: %q", sum, len(m.Channels), p.Stations)
	}
	if lift := strings.Contains(p.Description, "1 lift"); lift != (len(m.AllLifts()) > 0) {
		t.Fatalf("a lift is told of: %v", lift)
	}
}

// textWide is how wide a text can be at most: 0.62 of its size for a usual
// character, 1.5 for the widest. The browser's own measure is held against the
// page elsewhere.
func textWide(text string, size float64) float64 {
	wide := 0.0
	for _, r := range text {
		switch {
		case r == '\u00a0' || strings.ContainsRune("ijlt.,;:'| ", r):
			wide += 0.33
		case strings.ContainsRune("mwMW%…", r):
			wide += 0.95
		case r < 0x250:
			wide += 0.58
		default:
			wide += 1
		}
	}
	return wide * size
}

type box struct{ x0, y0, x1, y1 float64 }

func boxOf(t *rapid.T, e element) box {
	x, y, size := number(t, e.attr("x")), number(t, e.attr("y")), number(t, e.attr("font-size"))
	w := textWide(e.Text, size)
	if e.attr("text-anchor") == "middle" {
		x -= w / 2
	}
	return box{x, y - 0.74*size, x + w, y + 0.22*size}
}

func inside(t *rapid.T, e element) {
	var view [4]float64
	for i, v := range strings.Fields(e.attr("viewBox")) {
		view[i] = number(t, v)
	}
	within := func(e element, x0, y0, x1, y1 float64) {
		if x0 < 0 || y0 < 0 || x1 > view[2] || y1 > view[3] {
			t.Fatalf("<%s class=%q> %q covers %v,%v to %v,%v, outside %v", e.XMLName.Local, e.attr("class"), e.Text, x0, y0, x1, y1, view)
		}
	}
	e.each(func(e element) {
		switch e.XMLName.Local {
		case "polyline", "polygon":
			for _, p := range points(t, e) {
				within(e, p.X, p.Y, p.X, p.Y)
			}
		case "circle":
			x, y, r := number(t, e.attr("cx")), number(t, e.attr("cy")), number(t, e.attr("r"))
			if r < 0 {
				t.Fatalf("radius %v", r)
			}
			within(e, x-r, y-r, x+r, y+r)
		case "text":
			b := boxOf(t, e)
			within(e, b.x0, b.y0, b.x1, b.y1)
		}
		for _, a := range e.Attrs {
			if strings.Contains(a.Value, "NaN") || strings.Contains(a.Value, "Inf") {
				t.Fatalf("%s=%q", a.Name.Local, a.Value)
			}
		}
	})
}

func apart(t *rapid.T, e element) {
	texts := e.all(func(e element) bool { return e.XMLName.Local == "text" })
	boxes := make([]box, len(texts))
	for i, text := range texts {
		boxes[i] = boxOf(t, text)
		for j, b := range boxes[:i] {
			if a := boxes[i]; a.x0 < b.x1 && b.x0 < a.x1 && a.y0 < b.y1 && b.y0 < a.y1 {
				t.Fatalf("%q %v meets %q %v", text.Text, a, texts[j].Text, b)
			}
		}
	}
}

// Names are written as text, whatever is in them, both alone and in a page.
func TestNamesAreEscaped(t *testing.T) {
	const hostile = `"></text><script>alert('x')</script>&amp;`
	m := small()
	m.Name, m.Channels[0].Name = hostile, hostile
	m.Lanes[0].ID = `f"><script>`
	m.Channels[0].Path[0] = m.Lanes[0].ID
	for _, channel := range []string{"", "one"} {
		p := draw.Machine(m, draw.Options{Channel: channel})
		data, e := written(t, p)
		var inline strings.Builder
		if err := p.WriteInline(&inline); err != nil {
			t.Fatal(err)
		}
		for _, text := range []string{string(data), inline.String()} {
			if strings.Contains(text, "<script") || strings.Contains(text, "style=") {
				t.Errorf("a name came through as it is, or there is an inline style: %s", text)
			}
		}
		titles := e.all(func(e element) bool { return e.XMLName.Local == "title" })
		if !strings.Contains(titles[0].Text, hostile) {
			t.Errorf("the title is %q", titles[0].Text)
		}
		if n := len(e.all(func(e element) bool { return e.XMLName.Local == "script" })); n > 0 {
			t.Errorf("%d scripts", n)
		}
		part(t, e, "lane "+m.Lanes[0].ID)
	}
}

// Options out of range draw what is nearest to them.
func TestOddOptionsDrawTheWhole(t *testing.T) {
	for _, o := range []draw.Options{{Channel: "no such"}, {WidthPX: math.NaN()}, {WidthPX: -5}, {WidthPX: math.Inf(1)}} {
		p := draw.Machine(small(), o)
		if p.WidthPX < 280 || p.WidthPX > 4000 || !strings.Contains(p.Description, "1 channel, drawn in 1 group,") {
			t.Errorf("%+v: %v px, %s", o, p.WidthPX, p.Description)
		}
	}
}

func BenchmarkMachine(b *testing.B) {
	m := demo.Machine()
	for b.Loop() {
		draw.Machine(m, draw.Options{})
	}
}

// A small picture of a machine has no words, so that it can be made smaller, and
// keeps to one scale: the fall of 300 mm beside the wheel of 500 mm radius.
func TestAPlainPictureHasNoWords(t *testing.T) {
	p := draw.Machine(small(), draw.Options{WidthPX: 800, Plain: true})
	_, e := written(t, p)
	if texts := e.texts(); len(texts) > 0 {
		t.Errorf("it has the words %q", texts)
	}
	rim := e.all(func(e element) bool { return e.has("rim") })
	fall := e.all(func(e element) bool { return e.has("fall") })
	if len(rim) == 0 || len(fall) != 1 {
		t.Fatalf("%d rims, %d falls", len(rim), len(fall))
	}
	at := points(t, fall[0])
	if r, long := number(t, rim[0].attr("r")), at[1].Y-at[0].Y; math.Abs(long/r-300.0/500) > 0.01 {
		t.Errorf("a fall of 300 mm is drawn %g px long beside a radius of 500 mm of %g px", long, r)
	}
	if p.HeightPX > 0.5*p.WidthPX {
		t.Errorf("it is %g by %g px", p.WidthPX, p.HeightPX)
	}
}
