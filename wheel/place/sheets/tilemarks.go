package sheets

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"pinwright/wheel/place/paper"
)

// ruler numbers bars and steps above the face.
func (t tile) ruler(c paper.Canvas) {
	w, s := t.machine.Wheel, t.steps()
	const apart = 9
	stride := w.Steps
	for _, n := range []int{1, 2, w.StepsPerBeat, 2 * w.StepsPerBeat, w.StepsPerBar()} {
		if float64(n)*t.arcMM >= apart {
			stride = min(stride, n)
		}
	}
	for stride < w.Steps && float64(stride)*t.arcMM < apart {
		stride *= 2
	}
	nextBar, nextStep := math.Inf(-1), math.Inf(-1)
	end := t.left() + t.long(s)
	for step := s.from; step < t.shown().to && t.stepX(step) <= end; step++ {
		on := w.Wrap(step)
		x, in := t.stepX(step), on%w.StepsPerBar()
		if step < s.to && (in == 0 || step == s.from) && x >= nextBar {
			bar, _, _ := w.Place(on)
			name := fmt.Sprintf("Bar %d", bar)
			if in != 0 {
				name += " continued"
			}
			paper.Write(c, x, t.window.y-5.2, name, paper.Bold(8.5), paper.Left)
			nextBar = x + 22
		}
		if (in%stride == 0 || step == s.from) && x >= nextStep {
			paper.Write(c, x, t.window.y-1.4, strconv.Itoa(on), paper.Regular(6.5), paper.Centred)
			c.Line(x, t.window.y-1, x, t.window.y, paper.Pen{Width: 0.15, Grey: paper.Dark})
			nextStep = x + apart - 1e-6
		}
	}
}

// labels names the rows left of the face.
func (t tile) labels(c paper.Canvas) {
	f, number := paper.Regular(7), paper.Bold(7)
	next := math.Inf(-1)
	in := t.inBand()
	if t.below {
		slices.Reverse(in)
	}
	for _, channel := range in {
		y := t.y(t.rowMM(channel))
		if y < next || y < t.window.y || y > t.window.y+t.high(t.band) {
			continue
		}
		next = y + 2.9
		ch := &t.machine.Channels[channel]
		row := strconv.Itoa(ch.Row)
		end := t.left() - 1.5
		paper.Write(c, end, y+0.9, row, number, paper.Right)
		name := f.Cut(ch.Name, labelWide-2.5-number.Width(row))
		paper.Write(c, end-number.Width(row)-1, y+0.9, name, f, paper.Right)
	}
}

// foot draws a bar of 100 mm to check the printer by, and names the neighbours.
func (t tile) foot(c paper.Canvas) {
	const long = 100
	y := t.window.y + t.window.h + footHeight - 3
	x := t.left()
	p := paper.Pen{Width: 0.35, Grey: paper.Black}
	c.Line(x, y, x+long, y, p)
	for mm := 0; mm <= long; mm += 10 {
		tall := 1.5
		if mm%50 == 0 {
			tall = 3
		}
		c.Line(x+float64(mm), y-tall, x+float64(mm), y, p)
	}
	f := paper.Regular(7.5)
	paper.Write(c, x+long+3, y-2.6, "100 mm, or the print is not 1:1.", f, paper.Left)
	if says := t.neighbours(); says != "" {
		paper.Write(c, x+long+3, y+0.8, says, f, paper.Left)
	}
}

// neighbours says which pages join this one.
func (t tile) neighbours() string {
	says := "Its end joins its start"
	if len(t.columns) > 1 {
		says = fmt.Sprintf("Right: page %d", t.pageOf((t.column+1)%len(t.columns), t.band))
	}
	if t.joinedAfter(t.band) {
		under := "below"
		if t.below {
			under = "above"
		}
		says += fmt.Sprintf(", %s: page %d", under, t.pageOf(t.column, t.band+1))
	}
	return says + "."
}

// pageOf is the number of a tile's page, after that of instructions.
func (l *layout) pageOf(column, band int) int {
	n := band*len(l.columns) + column + 1
	if l.tiled {
		n++
	}
	return n
}

// rowNumbers stand small at bar lines, to be read when the pages are joined.
func (t tile) rowNumbers(c paper.Canvas) {
	const apart = 45
	w, next := t.machine.Wheel, math.Inf(-1)
	if w.RowPitchMM < 4 {
		return
	}
	for s := t.steps().from; s < t.steps().to; s++ {
		if w.Wrap(s)%w.StepsPerBeat != 0 || t.stepX(s) < next {
			continue
		}
		next = t.stepX(s) + apart
		for _, channel := range t.inBand() {
			c.Text(t.stepX(s)+t.arcMM/2-1.2, t.y(t.rowMM(channel))-0.6, strconv.Itoa(t.machine.Channels[channel].Row), paper.Regular(5.5), paper.Mid)
		}
	}
}
