package sheets

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
	"pinwright/wheel/place/paper"
	"pinwright/wheel/place/placetest"
)

// near says whether two lengths agree to 0.1 mm.
func near(a, b float64) bool { return math.Abs(a-b) <= 0.1 }

func mustTemplate(t testing.TB, m *wheel.Machine, p *wheel.Pinning, o TemplateOptions) *paper.Document {
	t.Helper()
	s, err := Template(m, p, o)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// ISO 216:2007 gives A0 as 841 mm × 1189 mm; every next size is the one before
// with its long side halved, down to the millimetre. What is written, as PDF in
// points of 25.4/72 mm and as SVG, has these sizes.
func TestPapersAreThoseOfISO216(t *testing.T) {
	short, long := 841, 1189
	for n := 1; n <= 4; n++ {
		if short, long = long/2, short; n < 3 {
			continue
		}
		on, err := ParsePaper(fmt.Sprint("a", n))
		if err != nil {
			t.Fatal(err)
		}
		s := mustList(t, machine(64, 60), pinning("Mill Race", []int{0, 1}), ListOptions{Paper: on, Date: placetest.Day})
		box := mediaBox.FindStringSubmatch(string(placetest.PDF(t, s)))
		if box == nil {
			t.Fatalf("A%d: no MediaBox", n)
		}
		w, errW := strconv.ParseFloat(box[1], 64)
		h, errH := strconv.ParseFloat(box[2], 64)
		if errW != nil || errH != nil || !near(w*25.4/72, float64(short)) || !near(h*25.4/72, float64(long)) {
			t.Errorf("A%d: a PDF of %s × %s points, want %d × %d mm", n, box[1], box[2], short, long)
		}
		if d := placetest.ReadPage(t, s, 1); d.Width != float64(short) || d.Height != float64(long) {
			t.Errorf("A%d: an SVG of %g × %g mm, want %d × %d", n, d.Width, d.Height, short, long)
		}
	}
}

func TestPapersAreReadInLargeAndSmallLetters(t *testing.T) {
	for _, c := range []struct {
		said string
		want paper.Paper
	}{{"a4", paper.A4}, {"A3", paper.A3}, {"ROLL", paper.Roll}} {
		if got, err := ParsePaper(c.said); err != nil || got != c.want {
			t.Errorf("%q is %q, %v", c.said, got, err)
		}
	}
	if _, err := ParsePaper("letter"); err == nil || err.Error() != `the paper is "letter"; it should be A4, A3 or roll` {
		t.Errorf("letter: %v", err)
	}
}

var mediaBox = regexp.MustCompile(`/MediaBox \[0 0 ([0-9.]+) ([0-9.]+)\]`)

// Worked by hand for 256 steps: on the surface, R = 590 mm, a step takes
// 2π × 590/256 = 14.48077 mm, on the tips, 600 mm, 14.72622 mm; rows lie 40 mm +
// r × 18 mm from the edge.
func TestRollHasEveryPinAndHoleAtItsPlace(t *testing.T) {
	m := machine(256, 60, 62, 64)
	p := pinning("Mill Race", []int{0, 1, 100}, []int{255}, []int{128})
	for _, c := range []struct {
		radius Radius
		arc    float64
		below  bool
	}{{"", 14.48077, false}, {Surface, 14.48077, true}, {Tips, 14.72622, false}} {
		s := mustTemplate(t, m, p, TemplateOptions{Paper: paper.Roll, RollWidthMM: 300, Radius: c.radius, EdgeBelow: c.below, Date: placetest.Day})
		if s.Pages() != 1 {
			t.Fatalf("%d pages", s.Pages())
		}
		d := placetest.ReadPage(t, s, 1)
		if d.Height != 300 {
			t.Errorf("the roll is %g mm wide", d.Height)
		}
		edge := d.Line(t, 1, func(placetest.Line) bool { return true })
		seam := d.Lines[slices.IndexFunc(d.Lines, func(l placetest.Line) bool { return l.Width == 0.5 })]
		down := 1.0
		if c.below {
			down = -1
		}
		want := func(step, row int) paper.Point {
			return paper.Point{X: seam.X1 + float64(step)*c.arc, Y: edge.Y1 + down*(40+18*float64(row))}
		}
		pins := d.Discs(4)
		for _, pin := range p.Pins {
			row, _ := strconv.Atoi(pin.Channel[1:])
			at := want(pin.Step, row)
			if !slices.ContainsFunc(pins, func(q paper.Point) bool { return near(q.X, at.X) && near(q.Y, at.Y) }) {
				t.Errorf("%s: no pin at %v for %+v; there are %v", c.radius, at, pin, pins)
			}
		}
		once := 0 // others are there again where the end overlaps the start
		for _, pin := range pins {
			if arc := pin.X - seam.X1; arc > -1 && arc < 255.5*c.arc {
				once++
			}
		}
		if once != len(p.Pins) {
			t.Errorf("%d discs for %d pins", once, len(p.Pins))
		}
		holes := 0
		for _, dot := range d.Dots {
			if dot.Grey == "#8c8c8c" {
				step := math.Round((dot.X - seam.X1) / c.arc)
				row := math.Round((down*(dot.Y-edge.Y1) - 40) / 18)
				if at := want(int(step), int(row)); !near(at.X, dot.X) || !near(at.Y, dot.Y) || row < 0 || row > 2 {
					t.Errorf("a hole at %v, %v", dot.X, dot.Y)
				}
				if step >= 0 && step < 256 {
					holes++
				}
			}
		}
		if holes != 3*256 {
			t.Errorf("%d holes, want %d", holes, 3*256)
		}
	}
}

// What poppler reads from the PDF, against what stands in the SVG.
func TestPDFHasTheSamePlacesAsSVG(t *testing.T) {
	m := machine(64, 60, 62, 64)
	p := pinning("Mill Race", []int{0, 1, 17}, []int{30}, []int{16, 63})
	s := mustTemplate(t, m, p, TemplateOptions{Paper: paper.A4, Date: placetest.Day})
	for _, page := range []int{2, s.Pages()} {
		out := placetest.Tool(t, s, "pdftocairo", "-svg", "-noshrink", "-nocenter", "-f", fmt.Sprint(page), "-l", fmt.Sprint(page))
		want := placetest.ReadPage(t, s, page)
		got := strokes(t, out)
		check := func(what string, x, y, width float64) {
			if x < paper.Margin+labelWide { // no one sees what is beside the face
				return
			}
			if !slices.ContainsFunc(got, func(l placetest.Line) bool {
				return near((l.X1+l.X2)/2, x) && near((l.Y1+l.Y2)/2, y) && math.Abs(l.Width-width) < 0.02
			}) {
				t.Errorf("page %d: no %s at %.2f, %.2f", page, what, x, y)
			}
		}
		for _, dot := range want.Dots {
			check("dot", dot.X, dot.Y, dot.Diameter)
		}
		for _, l := range want.Lines {
			check("line", (l.X1+l.X2)/2, (l.Y1+l.Y2)/2, l.Width)
		}
		if len(want.Discs(4)) == 0 && len(want.Dots) == 0 {
			t.Errorf("page %d is empty", page)
		}
	}
}

// What pdftocairo writes of a stroke, as style or as attributes by its version.
var (
	strokePath   = regexp.MustCompile(`<path [^>]*stroke-linecap[^>]*>`)
	strokeWidth  = regexp.MustCompile(`stroke-width(?::|=")([0-9.]+)`)
	strokeTo     = regexp.MustCompile(` d="([^"]*)"`)
	strokeMatrix = regexp.MustCompile(`matrix\(([^)]*)\)`)
)

// strokes are the strokes of an SVG that pdftocairo wrote, in mm.
func strokes(t *testing.T, svg string) []placetest.Line {
	t.Helper()
	var all []placetest.Line
	for _, e := range strokePath.FindAllString(svg, -1) {
		matrix := []float64{1, 0, 0, 1, 0, 0}
		if m := strokeMatrix.FindStringSubmatch(e); m != nil {
			matrix = placetest.Numbers(t, m[1])
		}
		width := placetest.Numbers(t, strokeWidth.FindStringSubmatch(e)[1])[0] * math.Abs(matrix[0]) * paper.MMPerPoint
		at := func(x, y float64) (float64, float64) {
			return (matrix[0]*x + matrix[2]*y + matrix[4]) * paper.MMPerPoint, (matrix[1]*x + matrix[3]*y + matrix[5]) * paper.MMPerPoint
		}
		for v := placetest.Numbers(t, strokeTo.FindStringSubmatch(e)[1]); len(v) >= 4; v = v[4:] {
			x1, y1 := at(v[0], v[1])
			x2, y2 := at(v[2], v[3])
			all = append(all, placetest.Line{X1: x1, Y1: y1, X2: x2, Y2: y2, Width: width})
		}
	}
	return all
}

// A face of 2 rows is low: pages across hold more of the turn. One of 10 rows
// reaches 40 + 9 × 18 mm from the edge, over A4's 210 mm with the margins, and
// one of 14 rows 40 + 13 × 18 mm, over A3's 297: across, either would take two
// pages one above the other for what is once round, 126 mm on a radius of 20.
func TestPageSizesAreThoseOfThePaperTurnedForFewerPages(t *testing.T) {
	p := pinning("Mill Race", []int{0, 1})
	for _, c := range []struct {
		paper    paper.Paper
		radiusMM float64
		rows     int
		w, h     float64
	}{
		{paper.A4, 590, 2, 297, 210},
		{paper.A4, 20, 10, 210, 297},
		{paper.A3, 590, 2, 420, 297},
		{paper.A3, 20, 14, 297, 420},
	} {
		m := machine(64, slices.Repeat([]int{60}, c.rows)...)
		m.Wheel.SurfaceRadiusMM = c.radiusMM
		s := mustTemplate(t, m, p, TemplateOptions{Paper: c.paper, Date: placetest.Day})
		boxes := mediaBox.FindAllStringSubmatch(string(placetest.PDF(t, s)), -1)
		if len(boxes) == 0 {
			t.Fatal("no MediaBox")
		}
		for _, box := range boxes {
			w, _ := strconv.ParseFloat(box[1], 64)
			h, _ := strconv.ParseFloat(box[2], 64)
			if !near(w*25.4/72, c.w) || !near(h*25.4/72, c.h) {
				t.Errorf("%s: a page of %g × %g points, want %g × %g mm", c.paper, w, h, c.w, c.h)
			}
		}
		if d := placetest.ReadPage(t, s, 1); d.Width != c.w || d.Height != c.h {
			t.Errorf("%s: an SVG of %g × %g mm", c.paper, d.Width, d.Height)
		}
	}
}

func TestPopplerReadsSizesPagesAndFonts(t *testing.T) {
	m, p := machine(64, 60, 62), pinning("Mill Race", []int{0, 1})
	s := mustTemplate(t, m, p, TemplateOptions{Paper: paper.A4, Date: placetest.Day})
	info := placetest.Tool(t, s, "pdfinfo")
	for _, want := range []string{"Title:           Template: Mill Race", "Creator:         Pinwright", fmt.Sprintf("Pages:           %d\n", s.Pages()), "841.89 x 595.28 pts (A4)"} {
		if !strings.Contains(info, want) {
			t.Errorf("pdfinfo does not say %q:\n%s", want, info)
		}
	}
	fonts := strings.Split(strings.TrimSpace(placetest.Tool(t, s, "pdffonts")), "\n")[2:]
	if len(fonts) != 2 {
		t.Errorf("fonts are %q", fonts)
	}
	for _, line := range fonts { // name, type, encoding, emb, sub, uni, object ID
		if fields := strings.Fields(line); fields[len(fields)-5] != "yes" || fields[len(fields)-3] != "yes" {
			t.Errorf("not embedded or not selectable: %s", line)
		}
	}
	roll := mustTemplate(t, m, p, TemplateOptions{Paper: paper.Roll, RollWidthMM: 610})
	long, _ := roll.PageMM(1)
	size := regexp.MustCompile(`Page size: +([0-9.]+) x ([0-9.]+) pts`).FindStringSubmatch(placetest.Tool(t, roll, "pdfinfo"))
	w, _ := strconv.ParseFloat(size[1], 64)
	h, _ := strconv.ParseFloat(size[2], 64)
	if !near(w*paper.MMPerPoint, long) || !near(h*paper.MMPerPoint, 610) {
		t.Errorf("the roll's page is %g × %g points, want %g × 610 mm", w, h, long)
	}
}

func TestEveryPageSaysWhatItIsAndHasABarToMeasure(t *testing.T) {
	m, p := machine(64, 60, 62), pinning("Mill Race", []int{0, 1})
	s := mustTemplate(t, m, p, TemplateOptions{Paper: paper.A4, Date: placetest.Day})
	if s.Pages() < 5 {
		t.Fatalf("%d pages", s.Pages())
	}
	for page := 1; page <= s.Pages(); page++ {
		d := placetest.ReadPage(t, s, page)
		for _, want := range []string{"Template", "Mill Race", "Hailstone", "2026-11-25", fmt.Sprintf("page %d of %d", page, s.Pages())} {
			if !d.Says(want) {
				t.Errorf("page %d does not say %q", page, want)
			}
		}
		if page == 1 {
			for _, want := range []string{"Lock the wheel", "eye protection", "marbles", "two people", "Local rules", "radius 590 mm", "3707.08 mm", "57.92 mm"} { // 2π × 590 = 3707.08; ÷ 64 steps
				if !d.Says(want) {
					t.Errorf("the first page does not say %q", want)
				}
			}
			continue
		}
		if !d.Says("radius 590 mm") {
			t.Errorf("page %d does not say its radius", page)
		}
		bar := d.Line(t, 0.35, func(l placetest.Line) bool { return l.Y1 == l.Y2 })
		if math.Abs(bar.X2-bar.X1-100) > 1e-9 || !d.Says("100 mm") {
			t.Errorf("page %d: the bar is %g mm", page, bar.X2-bar.X1)
		}
		for _, text := range d.Texts {
			wide := font(text).Width(text.Text)
			if text.X < paper.Margin-0.01 || text.X+wide > d.Width-paper.Margin+0.01 || text.Y > d.Height-3 {
				t.Errorf("page %d: %q stands over the paper.Margin", page, text.Text)
			}
		}
	}
}

// The crosses on two pages that overlap lie at the same place of the wheel,
// counted from a hole that both have.
func TestNeighboursHaveTheirCrossesAtTheSamePlaces(t *testing.T) {
	keys := make([]int, 20)
	m := machine(64, keys...)
	m.Wheel.SurfaceRadiusMM = 150 // 14.73 mm to the step
	s := mustTemplate(t, m, pinning("Mill Race", []int{0}), TemplateOptions{Paper: paper.A4})
	face := newFace(m, pinning("Mill Race", []int{0}), 150, TemplateOptions{})
	l, err := face.layOut(paper.Size{W: 297, H: 210}, TemplateOptions{Paper: paper.A4})
	if err != nil {
		t.Fatal(err)
	}
	if len(l.columns) != 4 || len(l.bands) != 3 || s.Pages() != 13 {
		t.Fatalf("%d columns, %d bands, %d pages", len(l.columns), len(l.bands), s.Pages())
	}
	at := map[string]int{} // crosses by place on the wheel
	for band := range l.bands {
		for column := range l.columns {
			tile := tile{l, column, band, 0}
			d := placetest.ReadPage(t, s, l.pageOf(column, band))
			for _, line := range d.Lines {
				if line.Width != 0.25 || line.Dashed || line.Y1 != line.Y2 || math.Abs(line.X2-line.X1-7) > 1e-3 {
					continue
				}
				arc := (line.X1+line.X2)/2 - tile.left() + tile.startMM(tile.steps())
				arc = math.Mod(arc+face.arcMM, 64*face.arcMM) // half a step before the seam is the turn's end
				at[fmt.Sprintf("%.2f %.2f", arc, line.Y1-l.window.y+l.bands[band].from)]++
			}
		}
	}
	if len(at) == 0 {
		t.Error("there are no crosses")
	}
	for place, pages := range at {
		if pages < 2 {
			t.Errorf("the cross at %s is on one page alone", place)
		}
	}
}

// Every hole lies within the cuts of exactly one page, pages are no longer than
// the paper, and they break between bars unless one is longer than a page.
func TestPagesShareTheFaceOutBetweenBars(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		channels := rapid.IntRange(1, 40).Draw(t, "channels")
		m := machine(rapid.IntRange(1, 300).Draw(t, "steps"), make([]int, channels)...)
		m.Wheel.SurfaceRadiusMM = rapid.Float64Range(0.5, 3000).Draw(t, "radius")
		m.Wheel.StepsPerBeat = rapid.IntRange(1, 6).Draw(t, "beat")
		m.Wheel.BeatsPerBar = rapid.IntRange(1, 6).Draw(t, "bar")
		m.Wheel.RowPitchMM = rapid.Float64Range(0.5, 60).Draw(t, "pitch")
		m.Wheel.FirstRowMM = rapid.Float64Range(0, 400).Draw(t, "first")
		m.Wheel.PinDiameterMM = rapid.Float64Range(0, 10).Draw(t, "pin")
		for i := range m.Channels {
			m.Channels[i].Row = i * rapid.SampledFrom([]int{1, 1, 3}).Draw(t, "rows")
			if i > 0 {
				m.Channels[i].Row = max(m.Channels[i].Row, m.Channels[i-1].Row+1)
			}
		}
		o := TemplateOptions{Paper: rapid.SampledFrom([]paper.Paper{paper.A4, paper.A3, paper.Roll}).Draw(t, "paper"), RollWidthMM: rapid.Float64Range(100, 1500).Draw(t, "roll"), EdgeBelow: rapid.Bool().Draw(t, "below")}
		face := newFace(m, pinning("A"), m.Wheel.SurfaceRadiusMM, o)
		size := paper.Size{W: paper.MaxPageMM, H: o.RollWidthMM}
		if o.Paper != paper.Roll {
			size, _ = o.Paper.Size()
		}
		l, err := face.layOut(size, o)
		if err != nil {
			if !strings.Contains(err.Error(), "is too small: it leaves") && !strings.Contains(err.Error(), "would take more than") {
				t.Fatal(err)
			}
			return
		}
		next, per := 0, m.Wheel.StepsPerBar()
		for _, s := range l.columns {
			if s.from != next || s.to <= s.from {
				t.Fatalf("columns are %v", l.columns)
			}
			next = s.to
			if l.long(s) > l.window.w+1e-6 {
				t.Fatalf("steps %v take %g mm of %g", s, l.long(s), l.window.w)
			}
			if s.to%per != 0 && s.to != m.Wheel.Steps && float64(per)*l.arcMM+overlapMM < l.window.w {
				t.Fatalf("a page ends within a bar, at step %d", s.to)
			}
		}
		if next != m.Wheel.Steps {
			t.Fatalf("the last column ends at %d", next)
		}
		to := 0.0
		for i, b := range l.bands {
			if b.from != to || b.to <= b.from || l.high(i) > l.window.h+1e-6 {
				t.Fatalf("band %d is %v, %g mm of %g", i, b, l.high(i), l.window.h)
			}
			to = b.to
			for _, c := range l.order {
				if at := l.rowMM(c); math.Abs(at-b.to) < min(clearMM, m.Wheel.RowPitchMM/2)-1e-9 {
					t.Fatalf("row at %g mm is cut at %g mm", at, b.to)
				}
			}
		}
		if to != l.endMM || to < l.rowMM(l.order[len(l.order)-1]) {
			t.Fatalf("the last band ends at %g mm", to)
		}
	})
}

func TestBarLongerThanThePageIsSplitAndSaysSo(t *testing.T) {
	m := machine(64, 60)
	m.Wheel.SurfaceRadiusMM = 300 // 29.45 mm to the step: 8 on a page, 16 to the bar
	s := mustTemplate(t, m, pinning("Mill Race", []int{0}), TemplateOptions{Paper: paper.A4})
	if s.Pages() != 1+8 {
		t.Errorf("%d pages", s.Pages())
	}
	if d := placetest.ReadPage(t, s, 1); !d.Says("bars are split") {
		t.Error("the first page does not say that bars are split")
	}
	if d := placetest.ReadPage(t, s, 3); !d.Says("part of bar 1, steps 8 to 15") || !d.Says("Bar 1 continued") {
		t.Errorf("page 3 says %v", d.Texts)
	}
	m.Wheel.SurfaceRadiusMM = 150
	if d := placetest.ReadPage(t, mustTemplate(t, m, pinning("Mill Race", []int{0}), TemplateOptions{Paper: paper.A4}), 1); d.Says("split") {
		t.Error("bars that fit are said to be split")
	}
}

func TestTemplateSaysWhichRadiusItIsFor(t *testing.T) {
	m, p := machine(64, 60), pinning("A", []int{0})
	says := func(r Radius, want string) {
		t.Helper()
		if d := placetest.ReadPage(t, mustTemplate(t, m, p, TemplateOptions{Paper: paper.Roll, RollWidthMM: 500, Radius: r}), 1); !d.Says(want) {
			t.Errorf("%s: it does not say %q", r, want)
		}
	}
	says(Surface, "wheel's surface, radius 590 mm")
	says(Tips, "pin tips, radius 600 mm")
	m.Wheel.SurfaceRadiusMM = 0
	says(Surface, "pin tips, radius 600 mm")
}

func TestTemplateRefusesInWords(t *testing.T) {
	p := pinning("A", []int{0})
	refuse := func(o TemplateOptions, change func(w *wheel.Wheel), want string) {
		t.Helper()
		m := machine(256, 60, 62)
		change(&m.Wheel)
		if _, err := Template(m, p, o); err == nil || err.Error() != want {
			t.Errorf("%+v: the error is %v\nwant %s", o, err, want)
		}
	}
	as := func(*wheel.Wheel) {}
	refuse(TemplateOptions{Paper: "B5"}, as, `the paper is "B5"; it should be A4, A3 or roll`)
	refuse(TemplateOptions{}, as, `the paper is ""; it should be A4, A3 or roll`)
	refuse(TemplateOptions{Paper: paper.A4, Radius: "middle"}, as, `the radius is "middle"; it should be surface or tips`)
	for roll, says := range map[float64]string{0: "0", -5: "−5", 99: "99", 5001: "5001", math.NaN(): "NaN", math.Inf(1): "+Inf"} {
		refuse(TemplateOptions{Paper: paper.Roll, RollWidthMM: roll}, as, "the roll's width is "+says+" mm; it should be 100 to 5000 mm")
	}
	// 2π × 20,000 mm/256 = 490.87 mm; 297 mm less 34 mm and 8 mm beside the face
	// and 12 mm to overlap are 243 mm.
	refuse(TemplateOptions{Paper: paper.A4}, func(w *wheel.Wheel) { w.SurfaceRadiusMM = 20000 },
		"A4 is too small: it leaves 243 mm along the turn, and one step takes 490.87 mm of arc; take larger paper or a roll")
	refuse(TemplateOptions{Paper: paper.A4}, func(w *wheel.Wheel) { w.SurfaceRadiusMM, w.Steps = 1e6, 1<<16 },
		"on A4 the template would take more than 2000 pages; take larger paper or a wider roll")
	refuse(TemplateOptions{Paper: paper.Roll, RollWidthMM: 300}, func(w *wheel.Wheel) { w.SurfaceRadiusMM, w.Steps = 1e6, 1<<16 },
		"on a roll of 300 mm the template would take more than 100 pages; take larger paper or a wider roll")
	refuse(TemplateOptions{Paper: paper.A3}, func(w *wheel.Wheel) { w.RowPitchMM = 1e6 },
		"on A3 the template would take more than 2000 pages; take larger paper or a wider roll")
	refuse(TemplateOptions{Paper: paper.A4}, func(w *wheel.Wheel) { w.RowPitchMM = 0 }, "wheel.row_pitch_mm is 0; a template needs the distance from row to row")
	refuse(TemplateOptions{Paper: paper.A4}, func(w *wheel.Wheel) { w.RadiusMM = -1 }, "wheel.radius_mm is −1; a length cannot be negative")
	m := machine(256, 60)
	if _, err := Template(m, pinning("A", []int{256}), TemplateOptions{Paper: paper.A4}); err == nil || err.Error() != "pins[0].step is 256; the wheel of Hailstone has steps 0 to 255" {
		t.Errorf("a step past the wheel: %v", err)
	}
}

func TestLargeWheelsAreDrawn(t *testing.T) {
	m := machine(4096, make([]int, 32)...)
	m.Wheel.RowPitchMM = 6
	steps := make([][]int, 32)
	for i := range steps {
		for s := i; s < 4096; s += 32 {
			steps[i] = append(steps[i], s)
		}
	}
	p := pinning("A", steps...)
	s := mustTemplate(t, m, p, TemplateOptions{Paper: paper.Roll, RollWidthMM: 610})
	if size := len(placetest.PDF(t, s)); size > 8<<20 {
		t.Errorf("the PDF has %d bytes", size)
	}
	if d := placetest.ReadPage(t, s, 1); len(d.Discs(4)) < len(p.Pins) {
		t.Errorf("it shows %d pins", len(d.Discs(4)))
	}
}

func TestSheetsAreTheSameBytesEveryTime(t *testing.T) {
	m, p := machine(64, 60, 62), pinning("Mill Race", []int{0, 1})
	for range 3 {
		a := placetest.PDF(t, mustTemplate(t, m, p, TemplateOptions{Paper: paper.A4, Date: placetest.Day}))
		b := placetest.PDF(t, mustTemplate(t, m, p, TemplateOptions{Paper: paper.A4, Date: placetest.Day}))
		if !slices.Equal(a, b) {
			t.Fatal("two PDFs of one pinning differ")
		}
	}
}

func TestPageThatIsNotThereIsRefused(t *testing.T) {
	s := mustTemplate(t, machine(64, 60), pinning("A", []int{0}), TemplateOptions{Paper: paper.Roll, RollWidthMM: 500})
	for _, page := range []int{0, 2, -1} {
		if err := s.WriteSVG(nil, page); err == nil || !strings.Contains(err.Error(), "pages are 1 to 1") {
			t.Errorf("page %d: %v", page, err)
		}
	}
}
