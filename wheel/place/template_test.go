package place

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
)

// near says whether two lengths agree to 0.1 mm.
func near(a, b float64) bool { return math.Abs(a-b) <= 0.1 }

func mustTemplate(t testing.TB, m *wheel.Machine, p *wheel.Pinning, o TemplateOptions) *Sheets {
	t.Helper()
	s, err := Template(m, p, o)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// ISO 216:2007 gives A4 as 210 mm × 297 mm and A3 as 297 mm × 420 mm; sides are
// as 1 to √2 and A0 is 1 m², so that A4 is 1/16 m², all rounded to a millimetre.
func TestPapersAreThoseOfISO216(t *testing.T) {
	for paper, want := range map[Paper]size{A4: {210, 297}, A3: {297, 420}} {
		got, err := paper.upright()
		if err != nil || got != want {
			t.Errorf("%s is %v, %v; want %v", paper, got, err, want)
		}
		if ratio := got.h / got.w; math.Abs(ratio-math.Sqrt2) > 1/got.w {
			t.Errorf("%s has sides as 1 to %v", paper, ratio)
		}
	}
	if math.Abs(210*297-1e6/16) > 297 {
		t.Error("A4 is not 1/16 m²")
	}
	for _, c := range []struct {
		said string
		want Paper
	}{{"a4", A4}, {"A3", A3}, {"ROLL", Roll}} {
		if got, err := ParsePaper(c.said); err != nil || got != c.want {
			t.Errorf("%q is %q, %v", c.said, got, err)
		}
	}
	if _, err := ParsePaper("letter"); err == nil || err.Error() != `the paper is "letter"; it should be A4, A3 or roll` {
		t.Errorf("letter: %v", err)
	}
}

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
		s := mustTemplate(t, m, p, TemplateOptions{Paper: Roll, RollWidthMM: 300, Radius: c.radius, EdgeBelow: c.below, Date: day})
		if s.Pages() != 1 {
			t.Fatalf("%d pages", s.Pages())
		}
		d := readPage(t, s, 1)
		if d.height != 300 {
			t.Errorf("the roll is %g mm wide", d.height)
		}
		edge := d.line(t, 1, func(drawnLine) bool { return true })
		seam := d.lines[slices.IndexFunc(d.lines, func(l drawnLine) bool { return l.width == 0.5 })]
		down := 1.0
		if c.below {
			down = -1
		}
		want := func(step, row int) point {
			return point{seam.x1 + float64(step)*c.arc, edge.y1 + down*(40+18*float64(row))}
		}
		pins := d.discs(4)
		for _, pin := range p.Pins {
			row, _ := strconv.Atoi(pin.Channel[1:])
			at := want(pin.Step, row)
			if !slices.ContainsFunc(pins, func(q point) bool { return near(q.x, at.x) && near(q.y, at.y) }) {
				t.Errorf("%s: no pin at %v for %+v; there are %v", c.radius, at, pin, pins)
			}
		}
		once := 0 // others are there again where the end overlaps the start
		for _, pin := range pins {
			if arc := pin.x - seam.x1; arc > -1 && arc < 255.5*c.arc {
				once++
			}
		}
		if once != len(p.Pins) {
			t.Errorf("%d discs for %d pins", once, len(p.Pins))
		}
		holes := 0
		for _, dot := range d.dots {
			if dot.grey == "#8c8c8c" {
				step := math.Round((dot.x - seam.x1) / c.arc)
				row := math.Round((down*(dot.y-edge.y1) - 40) / 18)
				if at := want(int(step), int(row)); !near(at.x, dot.x) || !near(at.y, dot.y) || row < 0 || row > 2 {
					t.Errorf("a hole at %v, %v", dot.x, dot.y)
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
	s := mustTemplate(t, m, p, TemplateOptions{Paper: A4, Date: day})
	for _, page := range []int{2, s.Pages()} {
		out := tool(t, s, "pdftocairo", "-svg", "-noshrink", "-nocenter", "-f", fmt.Sprint(page), "-l", fmt.Sprint(page))
		want := readPage(t, s, page)
		got := strokes(t, out)
		check := func(what string, x, y, width float64) {
			if x < margin+labelWide { // no one sees what is beside the face
				return
			}
			if !slices.ContainsFunc(got, func(l drawnLine) bool {
				return near((l.x1+l.x2)/2, x) && near((l.y1+l.y2)/2, y) && math.Abs(l.width-width) < 0.02
			}) {
				t.Errorf("page %d: no %s at %.2f, %.2f", page, what, x, y)
			}
		}
		for _, dot := range want.dots {
			check("dot", dot.x, dot.y, dot.diameter)
		}
		for _, l := range want.lines {
			check("line", (l.x1+l.x2)/2, (l.y1+l.y2)/2, l.width)
		}
		if len(want.discs(4)) == 0 && len(want.dots) == 0 {
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
func strokes(t *testing.T, svg string) []drawnLine {
	t.Helper()
	var all []drawnLine
	for _, e := range strokePath.FindAllString(svg, -1) {
		matrix := []float64{1, 0, 0, 1, 0, 0}
		if m := strokeMatrix.FindStringSubmatch(e); m != nil {
			matrix = numbers(t, m[1])
		}
		width := numbers(t, strokeWidth.FindStringSubmatch(e)[1])[0] * math.Abs(matrix[0]) * mmPerPoint
		at := func(x, y float64) (float64, float64) {
			return (matrix[0]*x + matrix[2]*y + matrix[4]) * mmPerPoint, (matrix[1]*x + matrix[3]*y + matrix[5]) * mmPerPoint
		}
		for v := numbers(t, strokeTo.FindStringSubmatch(e)[1]); len(v) >= 4; v = v[4:] {
			x1, y1 := at(v[0], v[1])
			x2, y2 := at(v[2], v[3])
			all = append(all, drawnLine{x1, y1, x2, y2, width, false})
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
		paper    Paper
		radiusMM float64
		rows     int
		w, h     float64
	}{
		{A4, 590, 2, 297, 210},
		{A4, 20, 10, 210, 297},
		{A3, 590, 2, 420, 297},
		{A3, 20, 14, 297, 420},
	} {
		m := machine(64, slices.Repeat([]int{60}, c.rows)...)
		m.Wheel.SurfaceRadiusMM = c.radiusMM
		s := mustTemplate(t, m, p, TemplateOptions{Paper: c.paper, Date: day})
		boxes := regexp.MustCompile(`/MediaBox \[0 0 ([0-9.]+) ([0-9.]+)\]`).FindAllStringSubmatch(string(pdfOf(t, s)), -1)
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
		if d := readPage(t, s, 1); d.width != c.w || d.height != c.h {
			t.Errorf("%s: an SVG of %g × %g mm", c.paper, d.width, d.height)
		}
	}
}

func TestPopplerReadsSizesPagesAndFonts(t *testing.T) {
	m, p := machine(64, 60, 62), pinning("Mill Race", []int{0, 1})
	s := mustTemplate(t, m, p, TemplateOptions{Paper: A4, Date: day})
	info := tool(t, s, "pdfinfo")
	for _, want := range []string{"Title:           Template: Mill Race", "Creator:         Pinwright", fmt.Sprintf("Pages:           %d\n", s.Pages()), "841.89 x 595.28 pts (A4)"} {
		if !strings.Contains(info, want) {
			t.Errorf("pdfinfo does not say %q:\n%s", want, info)
		}
	}
	fonts := strings.Split(strings.TrimSpace(tool(t, s, "pdffonts")), "\n")[2:]
	if len(fonts) != 2 {
		t.Errorf("fonts are %q", fonts)
	}
	for _, line := range fonts { // name, type, encoding, emb, sub, uni, object ID
		if fields := strings.Fields(line); fields[len(fields)-5] != "yes" || fields[len(fields)-3] != "yes" {
			t.Errorf("not embedded or not selectable: %s", line)
		}
	}
	roll := mustTemplate(t, m, p, TemplateOptions{Paper: Roll, RollWidthMM: 610})
	long, _ := roll.PageMM(1)
	size := regexp.MustCompile(`Page size: +([0-9.]+) x ([0-9.]+) pts`).FindStringSubmatch(tool(t, roll, "pdfinfo"))
	w, _ := strconv.ParseFloat(size[1], 64)
	h, _ := strconv.ParseFloat(size[2], 64)
	if !near(w*mmPerPoint, long) || !near(h*mmPerPoint, 610) {
		t.Errorf("the roll's page is %g × %g points, want %g × 610 mm", w, h, long)
	}
}

func TestEveryPageSaysWhatItIsAndHasABarToMeasure(t *testing.T) {
	m, p := machine(64, 60, 62), pinning("Mill Race", []int{0, 1})
	s := mustTemplate(t, m, p, TemplateOptions{Paper: A4, Date: day})
	if s.Pages() < 5 {
		t.Fatalf("%d pages", s.Pages())
	}
	for page := 1; page <= s.Pages(); page++ {
		d := readPage(t, s, page)
		for _, want := range []string{"Template", "Mill Race", "Hailstone", "2026-11-25", fmt.Sprintf("page %d of %d", page, s.Pages())} {
			if !d.says(want) {
				t.Errorf("page %d does not say %q", page, want)
			}
		}
		if page == 1 {
			for _, want := range []string{"Lock the wheel", "eye protection", "marbles", "two people", "Local rules", "radius 590 mm", "3707.08 mm", "14.48 mm"} {
				if want == "14.48 mm" {
					want = "57.92 mm" // 64 steps: 2π × 590/64
				}
				if !d.says(want) {
					t.Errorf("the first page does not say %q", want)
				}
			}
			continue
		}
		if !d.says("radius 590 mm") {
			t.Errorf("page %d does not say its radius", page)
		}
		bar := d.line(t, 0.35, func(l drawnLine) bool { return l.y1 == l.y2 })
		if math.Abs(bar.x2-bar.x1-100) > 1e-9 || !d.says("100 mm") {
			t.Errorf("page %d: the bar is %g mm", page, bar.x2-bar.x1)
		}
		for _, text := range d.texts {
			wide := (font{text.bold, text.mm / mmPerPoint}).width(text.text)
			if text.x < margin-0.01 || text.x+wide > d.width-margin+0.01 || text.y > d.height-3 {
				t.Errorf("page %d: %q stands over the margin", page, text.text)
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
	s := mustTemplate(t, m, pinning("Mill Race", []int{0}), TemplateOptions{Paper: A4})
	face := newFace(m, pinning("Mill Race", []int{0}), 150, TemplateOptions{})
	l, err := face.layOut(size{297, 210}, TemplateOptions{Paper: A4})
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
			d := readPage(t, s, l.pageOf(column, band))
			for _, line := range d.lines {
				if line.width != 0.25 || line.dashed || line.y1 != line.y2 || math.Abs(line.x2-line.x1-7) > 1e-3 {
					continue
				}
				arc := (line.x1+line.x2)/2 - tile.left() + tile.startMM(tile.steps())
				arc = math.Mod(arc+face.arcMM, 64*face.arcMM) // half a step before the seam is the turn's end
				at[fmt.Sprintf("%.2f %.2f", arc, line.y1-l.window.y+l.bands[band].from)]++
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
		o := TemplateOptions{Paper: rapid.SampledFrom([]Paper{A4, A3, Roll}).Draw(t, "paper"), RollWidthMM: rapid.Float64Range(100, 1500).Draw(t, "roll"), EdgeBelow: rapid.Bool().Draw(t, "below")}
		face := newFace(m, pinning("A"), m.Wheel.SurfaceRadiusMM, o)
		paper := size{maxPageMM, o.RollWidthMM}
		if o.Paper != Roll {
			paper, _ = o.Paper.upright()
		}
		l, err := face.layOut(paper, o)
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
	s := mustTemplate(t, m, pinning("Mill Race", []int{0}), TemplateOptions{Paper: A4})
	if s.Pages() != 1+8 {
		t.Errorf("%d pages", s.Pages())
	}
	if d := readPage(t, s, 1); !d.says("bars are split") {
		t.Error("the first page does not say that bars are split")
	}
	if d := readPage(t, s, 3); !d.says("part of bar 1, steps 8 to 15") || !d.says("Bar 1 continued") {
		t.Errorf("page 3 says %v", d.texts)
	}
	m.Wheel.SurfaceRadiusMM = 150
	if d := readPage(t, mustTemplate(t, m, pinning("Mill Race", []int{0}), TemplateOptions{Paper: A4}), 1); d.says("split") {
		t.Error("bars that fit are said to be split")
	}
}

func TestTemplateSaysWhichRadiusItIsFor(t *testing.T) {
	m, p := machine(64, 60), pinning("A", []int{0})
	says := func(r Radius, want string) {
		t.Helper()
		if d := readPage(t, mustTemplate(t, m, p, TemplateOptions{Paper: Roll, RollWidthMM: 500, Radius: r}), 1); !d.says(want) {
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
	refuse(TemplateOptions{Paper: A4, Radius: "middle"}, as, `the radius is "middle"; it should be surface or tips`)
	for roll, says := range map[float64]string{0: "0", -5: "−5", 99: "99", 5001: "5001", math.NaN(): "NaN", math.Inf(1): "+Inf"} {
		refuse(TemplateOptions{Paper: Roll, RollWidthMM: roll}, as, "the roll's width is "+says+" mm; it should be 100 to 5000 mm")
	}
	// 2π × 20,000 mm/256 = 490.87 mm; 297 mm less 34 mm and 8 mm beside the face
	// and 12 mm to overlap are 243 mm.
	refuse(TemplateOptions{Paper: A4}, func(w *wheel.Wheel) { w.SurfaceRadiusMM = 20000 },
		"A4 is too small: it leaves 243 mm along the turn, and one step takes 490.87 mm of arc; take larger paper or a roll")
	refuse(TemplateOptions{Paper: A4}, func(w *wheel.Wheel) { w.SurfaceRadiusMM, w.Steps = 1e6, 1<<16 },
		"on A4 the template would take more than 2000 pages; take larger paper or a wider roll")
	refuse(TemplateOptions{Paper: Roll, RollWidthMM: 300}, func(w *wheel.Wheel) { w.SurfaceRadiusMM, w.Steps = 1e6, 1<<16 },
		"on a roll of 300 mm the template would take more than 100 pages; take larger paper or a wider roll")
	refuse(TemplateOptions{Paper: A3}, func(w *wheel.Wheel) { w.RowPitchMM = 1e6 },
		"on A3 the template would take more than 2000 pages; take larger paper or a wider roll")
	refuse(TemplateOptions{Paper: A4}, func(w *wheel.Wheel) { w.RowPitchMM = 0 }, "wheel.row_pitch_mm is 0; a template needs the distance from row to row")
	refuse(TemplateOptions{Paper: A4}, func(w *wheel.Wheel) { w.RadiusMM = -1 }, "wheel.radius_mm is −1; a length cannot be negative")
	m := machine(256, 60)
	if _, err := Template(m, pinning("A", []int{256}), TemplateOptions{Paper: A4}); err == nil || err.Error() != "pins[0].step is 256; the wheel of Hailstone has steps 0 to 255" {
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
	s := mustTemplate(t, m, p, TemplateOptions{Paper: Roll, RollWidthMM: 610})
	if size := len(pdfOf(t, s)); size > 8<<20 {
		t.Errorf("the PDF has %d bytes", size)
	}
	if d := readPage(t, s, 1); len(d.discs(4)) < len(p.Pins) {
		t.Errorf("it shows %d pins", len(d.discs(4)))
	}
}

func TestSheetsAreTheSameBytesEveryTime(t *testing.T) {
	m, p := machine(64, 60, 62), pinning("Mill Race", []int{0, 1})
	for range 3 {
		a := pdfOf(t, mustTemplate(t, m, p, TemplateOptions{Paper: A4, Date: day}))
		b := pdfOf(t, mustTemplate(t, m, p, TemplateOptions{Paper: A4, Date: day}))
		if !slices.Equal(a, b) {
			t.Fatal("two PDFs of one pinning differ")
		}
	}
}

func TestPageThatIsNotThereIsRefused(t *testing.T) {
	s := mustTemplate(t, machine(64, 60), pinning("A", []int{0}), TemplateOptions{Paper: Roll, RollWidthMM: 500})
	for _, page := range []int{0, 2, -1} {
		if err := s.WriteSVG(nil, page); err == nil || !strings.Contains(err.Error(), "pages are 1 to 1") {
			t.Errorf("page %d: %v", page, err)
		}
	}
}
