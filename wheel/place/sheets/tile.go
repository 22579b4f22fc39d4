package sheets

import (
	"fmt"
	"math"
	"slices"

	"pinwright/wheel/place/paper"
)

// tile is one page of a template. shift moves all of it right, to leave room for
// the instructions at the start of a roll.
type tile struct {
	*layout
	column, band int
	shift        float64
}

func (t tile) steps() span   { return t.columns[t.column] }
func (t tile) left() float64 { return t.window.x + t.shift }

// x is where an arc from the seam lies on the page.
func (t tile) x(arcMM float64) float64 { return t.left() + arcMM - t.startMM(t.steps()) }

// y is where a distance from the wheel's edge lies on the page.
func (t tile) y(mm float64) float64 {
	from := t.bands[t.band].from
	if t.below {
		return t.window.y + t.high(t.band) - (mm - from)
	}
	return t.window.y + mm - from
}

func (t tile) stepX(step int) float64 { return t.x(float64(step) * t.arcMM) }

// shown is the steps at which a part of a pin may show, past both ends, but no
// more than a turn past.
func (t tile) shown() span {
	s, n := t.steps(), float64(t.machine.Wheel.Steps)
	within := func(mm float64) int { return int(min(math.Round(mm/t.arcMM), n)) } // the first is half a step away
	return span{s.from - within(t.pinMM/2), s.to + within(t.pinMM/2+overlapMM)}
}

// inBand is the channels of whose row a part may show.
func (t tile) inBand() []int {
	b := t.bands[t.band]
	var in []int
	for _, c := range t.order {
		if at := t.rowMM(c); at > b.from-t.pinMM && at < b.from+t.high(t.band)+t.pinMM {
			in = append(in, c)
		}
	}
	return in
}

func (t tile) about() string {
	w, s := t.machine.Wheel, t.steps()
	first, _, _ := w.Place(s.from)
	last, _, _ := w.Place(s.to - 1)
	bars := fmt.Sprintf("bar %d", first)
	if last != first {
		bars = fmt.Sprintf("bars %d to %d", first, last)
	}
	part := ""
	if t.splitBars {
		part = "part of "
	}
	return fmt.Sprintf("%s%s, steps %d to %d%s · made for the %s", part, bars, s.from, s.to-1, t.rowsText(), t.radius.short(w, t.radiusMM))
}

func (t tile) rowsText() string {
	if len(t.bands) == 1 && !t.apart {
		return ""
	}
	first, last := t.rowsIn(t.bands[t.band])
	if first < 0 {
		return ", no rows"
	}
	return fmt.Sprintf(", rows %d to %d", first, last)
}

// rowsIn is the first and the last row of a band; −1 where it has none.
func (l *layout) rowsIn(b bandMM) (first, last int) {
	first, last = -1, -1
	for _, c := range l.order {
		if at := l.rowMM(c); at >= b.from && at < b.to {
			if first < 0 {
				first = l.machine.Channels[c].Row
			}
			last = l.machine.Channels[c].Row
		}
	}
	return first, last
}

func (t tile) draw(c paper.Canvas) {
	wide, high := t.long(t.steps()), t.high(t.band)
	c.Clip(t.left(), t.window.y, wide, high, func() {
		t.lines(c)
		t.holes(c)
		t.crosses(c)
		t.pins(c)
	})
	t.cuts(c)
	t.ruler(c)
	t.labels(c)
	t.foot(c)
}

// lines draws steps, beats, bars, rows, the seam and the wheel's edge, as far as
// they lie apart.
func (t tile) lines(c paper.Canvas) {
	w, shown := t.machine.Wheel, t.shown()
	top, bottom := t.window.y, t.window.y+t.high(t.band)
	every := func(steps int, p paper.Pen) {
		if float64(steps)*t.arcMM < 0.8 {
			return
		}
		for s := shown.from; s < shown.to; s++ {
			if w.Wrap(s)%w.StepsPerBar()%steps == 0 {
				c.Line(t.stepX(s), top, t.stepX(s), bottom, p)
			}
		}
	}
	for _, channel := range t.inBand() {
		y := t.y(t.rowMM(channel))
		c.Line(t.left(), y, t.left()+t.long(t.steps()), y, paper.Pen{Width: 0.12, Grey: paper.Light})
	}
	every(1, paper.Pen{Width: 0.1, Grey: paper.Faint})
	every(w.StepsPerBeat, paper.Pen{Width: 0.12, Grey: paper.Light})
	every(w.StepsPerBar(), paper.Pen{Width: 0.3, Grey: paper.Mid})
	for _, seam := range []int{0, w.Steps} {
		if x := t.stepX(seam); seam >= shown.from && seam < shown.to {
			c.Line(x, top, x, bottom, paper.Pen{Width: 0.5, Grey: paper.Dark})
			if seam == 0 {
				paper.Write(c, x+1, (top+bottom)/2+t.pinMM, "seam", paper.Bold(7), paper.Left)
			}
		}
	}
	if t.bands[t.band].from == 0 {
		y := t.y(0)
		c.Line(t.left(), y, t.left()+t.long(t.steps()), y, paper.Pen{Width: 1, Grey: paper.Black})
		name := y + 3.4
		if t.below {
			name = y - 1.2
		}
		paper.Write(c, t.stepX(t.steps().from)+t.arcMM/2+8, name, "wheel's edge", paper.Bold(7), paper.Left)
	} else if t.apart {
		name := t.window.y + 3.4
		if t.below {
			name = bottom - 1.2
		}
		paper.Write(c, t.stepX(t.steps().from)+t.arcMM/2+8, name, mmText(t.bands[t.band].from)+" from the wheel's edge", paper.Bold(7), paper.Left)
	}
	t.rowNumbers(c)
}

func (t tile) holes(c paper.Canvas) {
	if t.holeMM == 0 {
		return
	}
	shown := t.shown()
	for _, channel := range t.inBand() {
		y := t.y(t.rowMM(channel))
		at := make([]paper.Point, 0, shown.to-shown.from)
		for s := shown.from; s < shown.to; s++ {
			at = append(at, paper.Point{X: t.stepX(s), Y: y})
		}
		c.Dots(at, t.holeMM, paper.Mid)
	}
}

// pins draws black discs with a white centre to strike at.
func (t tile) pins(c paper.Canvas) {
	var at []paper.Point
	for _, channel := range t.inBand() {
		at = t.pinsOf(channel, at)
	}
	c.Dots(at, t.pinMM+0.4, paper.White)
	c.Dots(at, t.pinMM, paper.Black)
	c.Dots(at, min(0.8, t.pinMM/4), paper.White)
}

// pinsOf appends where a channel's pins show, which may be a turn before or
// after.
func (t tile) pinsOf(channel int, at []paper.Point) []paper.Point {
	y, n, shown := t.y(t.rowMM(channel)), t.machine.Wheel.Steps, t.shown()
	for _, turn := range []int{-n, 0, n} {
		steps := t.rows[channel]
		first, _ := slices.BinarySearch(steps, shown.from-turn)
		for _, s := range steps[first:] {
			if s+turn >= shown.to {
				break
			}
			at = append(at, paper.Point{X: t.stepX(s + turn), Y: y})
		}
	}
	return at
}

// crosses lie at the same places of the wheel on both pages that overlap there.
func (t tile) crosses(c paper.Canvas) {
	s, b := t.steps(), t.bands[t.band]
	cross := func(arc, mm float64) {
		const arm = 3.5
		x, y := t.x(arc), t.y(mm)
		c.Line(x-arm, y, x+arm, y, paper.Pen{Width: 0.25, Grey: paper.Black})
		c.Line(x, y-arm, x, y+arm, paper.Pen{Width: 0.25, Grey: paper.Black})
	}
	in := min(9, (b.to-b.from)/4)
	for _, join := range []float64{t.startMM(s), t.joinMM(s)} {
		cross(join+overlapMM/2, b.from+in)
		cross(join+overlapMM/2, b.to-in)
	}
	along := min(24, (t.joinMM(s)-t.startMM(s))/4)
	for i, edge := range []float64{b.from, b.to} {
		if t.band+i > 0 && t.band+i < len(t.bands) && !t.apart {
			cross(t.startMM(s)+along, edge+overlapMM/2)
			cross(t.joinMM(s)-along, edge+overlapMM/2)
		}
	}
}

// cuts draws a solid line where a page is cut and a dashed one where the next
// is laid on.
func (t tile) cuts(c paper.Canvas) {
	s, b := t.steps(), t.bands[t.band]
	top, bottom := t.window.y, t.window.y+t.high(t.band)
	x0, x1, x2 := t.left(), t.x(t.joinMM(s)), t.left()+t.long(s)
	cut, lay := paper.Pen{Width: 0.25, Grey: paper.Black}, paper.Pen{Width: 0.25, Grey: paper.Black, Dashed: true}
	c.Line(x0, top-4, x0, bottom+4, cut)
	c.Line(x1, top-4, x1, bottom+4, lay)
	if b.from > 0 {
		c.Line(x0-4, t.y(b.from), x2, t.y(b.from), cut)
	}
	switch {
	case t.joinedAfter(t.band):
		c.Line(x0-4, t.y(b.to), x2, t.y(b.to), lay)
	case b.to < t.endMM:
		c.Line(x0-4, t.y(b.to), x2, t.y(b.to), cut)
	}
}
