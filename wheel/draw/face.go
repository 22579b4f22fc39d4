package draw

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"pinwright/wheel"
	"pinwright/wheel/place"
	"pinwright/wheel/say"
)

// FaceOptions say how wide a wheel's face is drawn, and where work on it begins.
type FaceOptions struct {
	WidthPX float64 // 280 to 4,000; 0 for 1,200
	Start   int     // step at which a turn of work begins; 0, the seam, is not marked
}

// Face draws a wheel unrolled, with the pins that are on it and what turns them
// into others: pins to be pulled are open triangles that point up, pins to be
// driven full triangles that point down, pins that stay are discs. Where on and
// to are the same pins, all of them stay.
//
// It lies as sheets lie on the wheel: steps run to the right from the seam, rows
// down from the wheel's edge. A turn that is too long for the width is broken
// between bars into lines. Where there is work, lines without any are named
// instead of drawn.
//
// Pins on channels or steps that the machine does not have are left out.
func Face(m *wheel.Machine, on, to []wheel.Pin, o FaceOptions) Picture {
	switch {
	case o.WidthPX == 0:
		o.WidthPX = usualPX
	case !(o.WidthPX >= leastPX):
		o.WidthPX = leastPX
	}
	o.WidthPX = math.Round(min(o.WidthPX, mostPX))
	f := &faceDrawing{m: m, o: o, rows: m.ByRow()}
	f.sortOut(on, to)
	f.layOut()
	return f.picture()
}

// What is to be done at a hole, and the class by which a style sheet knows it.
const (
	pulls = iota
	drives
	stays
)

var holeClasses = [...]string{pulls: "pull", drives: "drive", stays: "stay"}

// hole is a hole that has a pin or will have one.
type hole struct{ step, row int } // row counts from the edge, without gaps

// faceDrawing is a picture of a face in the making.
type faceDrawing struct {
	m     *wheel.Machine
	o     FaceOptions
	rows  []int // channels from the wheel's edge
	holes [len(holeClasses)][]hole

	gutterPX, stepPX, rowPX, markPX float64
	perLine                         int // steps
}

// sortOut finds what is to be done at each hole.
func (f *faceDrawing) sortOut(on, to []wheel.Pin) {
	row := make(map[string]int, len(f.rows))
	for i, c := range f.rows {
		row[f.m.Channels[c].ID] = i
	}
	add := func(what int, pins []wheel.Pin) {
		for _, pin := range pins {
			if r, ok := row[pin.Channel]; ok && pin.Step >= 0 && pin.Step < f.m.Wheel.Steps {
				f.holes[what] = append(f.holes[what], hole{pin.Step, r})
			}
		}
	}
	gone, come := place.Apart(on, to)
	add(pulls, gone)
	add(drives, come)
	left := make(map[hole]bool, len(f.holes[pulls]))
	for _, h := range f.holes[pulls] {
		left[h] = true
	}
	add(stays, on)
	kept := f.holes[stays][:0]
	for _, h := range f.holes[stays] {
		if !left[h] {
			kept = append(kept, h)
		}
	}
	f.holes[stays] = kept
}

// Measures of a face, in pixels. A step is no narrower than leastStepPX, unless
// the turn then takes more lines than mostLines.
const (
	faceTextPX  = 10
	rulerPX     = 15
	footPX      = 14
	linesApart  = 12
	namedApart  = 3
	leastStepPX = 4
	leastRowPX  = 6
	mostRowPX   = 14
	mostLines   = 12
)

// layOut finds how the turn is broken into lines, and how large everything is.
func (f *faceDrawing) layOut() {
	rowsPX := 200.0 // of a line, unless its rows would come too near
	f.gutterPX = 24
	if f.wide() {
		rowsPX, f.gutterPX = 285, 92
	}
	f.rowPX = min(max(rowsPX/float64(len(f.rows)), leastRowPX), mostRowPX)
	perBar := f.m.Wheel.StepsPerBar()
	bars := (f.m.Wheel.Steps + perBar - 1) / perBar
	across := f.o.WidthPX - f.gutterPX - faceTextPX
	fit := max(int(across/leastStepPX)/perBar, 1)
	lines := min((bars+fit-1)/fit, mostLines)
	f.perLine = (bars + lines - 1) / lines * perBar
	f.stepPX = across / float64(min(f.perLine, f.m.Wheel.Steps))
	f.markPX = min(max(min(0.9*f.stepPX, 0.5*f.rowPX), 2.6), 5)
}

// wide is true where there is room for names beside the rows.
func (f *faceDrawing) wide() bool { return f.o.WidthPX >= besidePX }

func (f *faceDrawing) work() int { return len(f.holes[pulls]) + len(f.holes[drives]) }

func (f *faceDrawing) picture() Picture {
	p := Picture{WidthPX: f.o.WidthPX, Title: "The wheel of " + say.Steady(f.m.Name) + ", unrolled"}
	y, gap := 0.0, 0.0
	for from := 0; from < f.m.Wheel.Steps; from += f.perLine {
		l := faceLine{faceDrawing: f, from: from, to: min(from+f.perLine, f.m.Wheel.Steps), top: y}
		words := l.words()
		p.Stations = append(p.Stations, words)
		if f.work() > 0 && l.count(pulls)+l.count(drives) == 0 {
			p.Groups = append(p.Groups, l.named(words))
			gap = namedApart
			y += rulerPX + gap
			continue
		}
		p.Groups = append(p.Groups, l.drawn(words)...)
		gap = linesApart
		y += l.high() + gap
	}
	p.HeightPX = math.Ceil(y - gap)
	p.Description = f.description()
	if len(p.Stations) > 1 {
		for _, words := range p.Stations {
			p.Description += " " + words
		}
	}
	return p
}

// description says how many pins are to be pulled, to be driven and stay.
func (f *faceDrawing) description() string {
	if f.work() == 0 {
		return say.Count(len(f.holes[stays]), "pin", "pins") + " in " + say.Count(f.m.Wheel.Steps, "step", "steps") + " and " + say.Count(len(f.rows), "row", "rows") + "."
	}
	return f.counts(len(f.holes[pulls]), len(f.holes[drives]), len(f.holes[stays]))
}

func (f *faceDrawing) counts(pull, drive, stay int) string {
	return fmt.Sprintf("%s, %s, %s.", say.Count(pull, "pull", "pulls"), say.Count(drive, "drive", "drives"), say.Count(stay, "pin stays", "pins stay"))
}

// faceLine is one line of a face: its steps, and where it begins.
type faceLine struct {
	*faceDrawing
	from, to int
	top      float64
}

func (l faceLine) has(h hole) bool { return h.step >= l.from && h.step < l.to }

func (l faceLine) count(what int) (n int) {
	for _, h := range l.holes[what] {
		if l.has(h) {
			n++
		}
	}
	return n
}

// words says which bars of the wheel a line has, and what is in them.
func (l faceLine) words() string {
	first, _, _ := l.m.Wheel.Place(l.from)
	last, _, _ := l.m.Wheel.Place(l.to - 1)
	bars := fmt.Sprintf("Bar %d of the wheel: ", first)
	if last > first {
		bars = fmt.Sprintf("Bars %d to %d of the wheel: ", first, last)
	}
	switch pull, drive, stay := l.count(pulls), l.count(drives), l.count(stays); {
	case l.work() == 0:
		return bars + say.Count(stay, "pin", "pins") + "."
	case pull+drive == 0:
		return bars + "nothing to pull or drive, " + say.Count(stay, "pin stays", "pins stay") + "."
	default:
		return bars + l.counts(pull, drive, stay)
	}
}

func (l faceLine) x(step float64) float64 { return l.gutterPX + (step-float64(l.from)+0.5)*l.stepPX }
func (l faceLine) y(row int) float64      { return l.top + rulerPX + (float64(row)+0.5)*l.rowPX }

// edge is where a step begins.
func (l faceLine) edge(step int) float64 { return l.gutterPX + float64(step-l.from)*l.stepPX }

// begins is true where a turn of work begins in the line.
func (l faceLine) begins() bool { return l.o.Start > 0 && l.o.Start >= l.from && l.o.Start < l.to }

func (l faceLine) high() float64 {
	high := rulerPX + float64(len(l.rows))*l.rowPX
	if l.begins() {
		high += footPX
	}
	return high
}

// named is a line in words alone.
func (l faceLine) named(words string) Group {
	text, _, _ := strings.Cut(words, ", ")
	text = cut(text, faceTextPX, l.o.WidthPX)
	return Group{Class: "line named", Name: words, Shapes: []Shape{{Kind: Text, Class: "figures", At: []Point{{0, l.top + faceTextPX}}, SizePX: faceTextPX, Text: text}}}
}

func (l faceLine) drawn(words string) []Group {
	ground := Group{Class: "ground", Name: words, Shapes: append(l.ruled(), l.names()...)}
	groups := []Group{ground}
	for what, kind := range [...]ShapeKind{pulls: Ups, drives: Downs, stays: Dots} {
		s := Shape{Kind: kind, Class: holeClasses[what], R: l.markPX}
		if what == stays {
			s.R *= 0.75
		}
		for _, h := range l.holes[what] {
			if l.has(h) {
				s.At = append(s.At, Point{l.x(float64(h.step)), l.y(h.row)})
			}
		}
		if len(s.At) > 0 {
			name := [...]string{pulls: say.Count(len(s.At), "pull", "pulls"), drives: say.Count(len(s.At), "drive", "drives"), stays: say.Count(len(s.At), "pin stays", "pins stay")}[what]
			groups = append(groups, Group{Class: "marks", Name: name, Shapes: []Shape{s}})
		}
	}
	return groups
}

// ruled is the lines of rows and bars, the seam, the numbers of bars and where
// work begins.
func (l faceLine) ruled() []Shape {
	var shapes []Shape
	left, right, top := l.edge(l.from), l.edge(l.to), l.top+rulerPX
	bottom := top + float64(len(l.rows))*l.rowPX
	line := func(class string, a, b Point) {
		shapes = append(shapes, Shape{Kind: Line, Class: class, At: []Point{a, b}})
	}
	for r := range l.rows {
		line("row", Point{left, l.y(r)}, Point{right, l.y(r)})
	}
	perBar := l.m.Wheel.StepsPerBar()
	next := math.Inf(-1)
	for s := l.from; s < l.to; s += perBar {
		x := l.edge(s)
		class := "bar"
		if s == 0 {
			class = "seam"
		}
		line(class, Point{x, top}, Point{x, bottom})
		number := strconv.Itoa(s/perBar + 1)
		if s == l.from {
			number = "bar " + number
		}
		if x >= next && x+textWidth(number, faceTextPX) <= l.o.WidthPX {
			shapes = append(shapes, Shape{Kind: Text, Class: "figures", At: []Point{{x + 1, l.top + faceTextPX}}, SizePX: faceTextPX, Text: number})
			next = x + textWidth(number, faceTextPX) + 6
		}
	}
	class := "bar"
	if l.to == l.m.Wheel.Steps {
		class = "seam"
	}
	line(class, Point{right, top}, Point{right, bottom})
	if l.begins() {
		x := l.x(float64(l.o.Start))
		text := "begin at step " + strconv.Itoa(l.o.Start)
		line("start", Point{x, top}, Point{x, bottom + footPX})
		at := x + 4
		if wide := textWidth(text, faceTextPX); at+wide > l.o.WidthPX {
			at = x - 4 - wide
		}
		shapes = append(shapes, Shape{Kind: Text, Class: "figures", At: []Point{{at, bottom + faceTextPX + 1}}, SizePX: faceTextPX, Text: text})
	}
	return shapes
}

// names numbers the rows and, where there is room, names their channels; as many
// as can be read.
func (l faceLine) names() []Shape {
	var shapes []Shape
	every := max(int(math.Ceil(faceTextPX/l.rowPX)), 1)
	for r := 0; r < len(l.rows); r += every {
		c := &l.m.Channels[l.rows[r]]
		y := l.y(r) + 0.35*faceTextPX
		number := strconv.Itoa(c.Row)
		shapes = append(shapes, Shape{Kind: Text, Class: "figures", At: []Point{{0, y}}, SizePX: faceTextPX, Text: number})
		if l.wide() {
			const from = 22
			shapes = append(shapes, Shape{Kind: Text, Class: "name", At: []Point{{from, y}}, SizePX: faceTextPX, Text: cut(say.Steady(c.Name), faceTextPX, l.gutterPX-from-4)})
		}
	}
	return shapes
}
