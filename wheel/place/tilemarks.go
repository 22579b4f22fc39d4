package place

import (
	"fmt"
	"math"
	"slices"
	"strconv"
)

// ruler numbers bars and steps above the face.
func (t tile) ruler(c canvas) {
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
			write(c, x, t.window.y-5.2, name, font{true, 8.5}, left)
			nextBar = x + 22
		}
		if (in%stride == 0 || step == s.from) && x >= nextStep {
			write(c, x, t.window.y-1.4, strconv.Itoa(on), font{false, 6.5}, centred)
			c.line(x, t.window.y-1, x, t.window.y, pen{width: 0.15, grey: dark})
			nextStep = x + apart - 1e-6
		}
	}
}

// labels names the rows left of the face.
func (t tile) labels(c canvas) {
	f, number := font{false, 7}, font{true, 7}
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
		write(c, end, y+0.9, row, number, right)
		name := f.cut(ch.Name, labelWide-2.5-number.width(row))
		write(c, end-number.width(row)-1, y+0.9, name, f, right)
	}
}

// foot draws a bar of 100 mm to check the printer by, and names the neighbours.
func (t tile) foot(c canvas) {
	const long = 100
	y := t.window.y + t.window.h + footHeight - 3
	x := t.left()
	p := pen{width: 0.35, grey: black}
	c.line(x, y, x+long, y, p)
	for mm := 0; mm <= long; mm += 10 {
		tall := 1.5
		if mm%50 == 0 {
			tall = 3
		}
		c.line(x+float64(mm), y-tall, x+float64(mm), y, p)
	}
	f := font{false, 7.5}
	write(c, x+long+3, y-2.6, "100 mm, or the print is not 1:1.", f, left)
	if says := t.neighbours(); says != "" {
		write(c, x+long+3, y+0.8, says, f, left)
	}
}

// neighbours says which pages join this one.
func (t tile) neighbours() string {
	says := "Its end joins its start"
	if len(t.columns) > 1 {
		says = fmt.Sprintf("Right: page %d", t.pageOf((t.column+1)%len(t.columns), t.band))
	}
	if t.band < len(t.bands)-1 {
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
func (t tile) rowNumbers(c canvas) {
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
			c.text(t.stepX(s)+t.arcMM/2-1.2, t.y(t.rowMM(channel))-0.6, strconv.Itoa(t.machine.Channels[channel].Row), font{false, 5.5}, mid)
		}
	}
}
