package place

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"pinwright/wheel"
)

// ListOptions say what a list is printed on.
type ListOptions struct {
	Paper  Paper  // A4 or A3
	Radius Radius // of a pin list's distance from step to step; Surface where left out
	Date   time.Time
}

// ErrTooLong is the error of a list that would be longer than anyone can use.
var ErrTooLong = fmt.Errorf("the list would take more than %d pages; the file of comma-separated values holds it all", maxPages)

// PinList lists every pin of a pinning to be ticked by hand, step by step and
// grouped by bar. Pages break between bars; a bar longer than a page is split,
// and says so.
func PinList(m *wheel.Machine, p *wheel.Pinning, o ListOptions) (*Sheets, error) {
	if err := fit(m, p, ""); err != nil {
		return nil, err
	}
	radius, err := o.Radius.MM(m.Wheel)
	if err != nil {
		return nil, err
	}
	l, err := newList(m, heading{"Pin list", p.Title, m.Name, o.Date}, o)
	if err != nil {
		return nil, err
	}
	rows, order := rowsOf(m, p), inWheelOrder(m)
	at := map[int][]int{} // channels by step
	for _, c := range order {
		for _, step := range rows[c] {
			at[step] = append(at[step], c)
		}
	}
	w := m.Wheel
	for step := range w.Steps {
		if len(at[step]) > 0 {
			l.add(step, "", at[step])
		}
	}
	opening := append(append([]para{}, cautions...), madeFor(m, p.Machine)...)
	says := fmt.Sprintf("%s. Bars without pins are left out. Steps count from 0 at the seam, %s apart at the %s.",
		counted(len(p.Pins), "pin", "pins"), mmText(2*math.Pi*radius/float64(w.Steps)), o.Radius.Words(w, radius))
	opening = append(opening, para{"The list", true}, para{says + " Tick a box once its pin is in: row in bold, then its name.", false})
	return l.sheets(opening, "This pinning has no pins.")
}

// ChangeoverList lists a plan's pulls and drives to be ticked by hand, in its
// order, after what it comes to.
func ChangeoverList(m *wheel.Machine, plan *Plan, o ListOptions) (*Sheets, error) {
	l, err := newList(m, heading{"Changeover", plan.From + " → " + plan.To, m.Name, o.Date}, o)
	if err != nil {
		return nil, err
	}
	for _, stop := range plan.Stops() {
		var pulls, drives []int
		for _, move := range stop.Moves {
			c := m.Channel(move.Channel)
			if c < 0 {
				return nil, fmt.Errorf("the plan is for a machine with a channel %q; %s has none", move.Channel, m.Name)
			}
			if move.Do == Pull {
				pulls = append(pulls, c)
			} else {
				drives = append(drives, c)
			}
		}
		if len(pulls) > 0 {
			l.add(stop.Step, Pull, pulls)
		}
		if len(drives) > 0 {
			l.add(stop.Step, Drive, drives)
		}
	}
	l.partBar(plan.Start)
	opening := append(append([]para{}, cautions...), para{"The work", true})
	for _, says := range plan.Sentences(m) {
		opening = append(opening, para{"• " + says, false})
	}
	return l.sheets(opening, "There is nothing to pull and nothing to drive.")
}

// list is lines by bar, on their way to pages.
type list struct {
	heading
	machine *wheel.Machine
	paper   size
	perLine int
	bars    []barLines
}

// barLines is a bar with its lines. A turn of work that starts within a bar
// comes back to it in the end, so that a bar may be there twice.
type barLines struct {
	bar   int
	part  string // which of it, where it is there twice
	moves int
	lines []listLine
}

// listLine is one line: some of the channels to be seen to at a step.
type listLine struct {
	step     int
	do       Do // empty on a pin list
	channels []int
}

// How a list is set, in mm.
const (
	cellWide  = 46
	lineHigh  = 8
	barHigh   = 9
	namesAt   = 47 // of the cells, from the margin
	listFoot  = 8
	columnsAt = 7 // height of the names of columns
)

func newList(m *wheel.Machine, h heading, o ListOptions) (*list, error) {
	if o.Paper == Roll {
		return nil, errors.New("a list is not printed on a roll; take A4 or A3")
	}
	paper, err := o.Paper.upright()
	if err != nil {
		return nil, err
	}
	return &list{heading: h, machine: m, paper: paper, perLine: int((paper.w - 2*margin - namesAt) / cellWide)}, nil
}

func (l *list) add(step int, do Do, channels []int) {
	bar, _, _ := l.machine.Wheel.Place(step)
	if n := len(l.bars); n == 0 || l.bars[n-1].bar != bar || step < l.bars[n-1].lines[0].step {
		l.bars = append(l.bars, barLines{bar: bar})
	}
	b := &l.bars[len(l.bars)-1]
	b.moves += len(channels)
	for len(channels) > l.perLine {
		b.lines = append(b.lines, listLine{step, do, channels[:l.perLine]})
		channels = channels[l.perLine:]
	}
	b.lines = append(b.lines, listLine{step, do, channels})
}

// partBar says of the bar in which the turn of work starts which part comes
// first and which last.
func (l *list) partBar(start int) {
	bar, beat, past := l.machine.Wheel.Place(start)
	if beat == 1 && past == 0 {
		return
	}
	for i := range l.bars {
		switch b := &l.bars[i]; {
		case b.bar != bar:
		case b.lines[0].step >= start:
			b.part = fmt.Sprintf(" from step %d", start)
		default:
			b.part = fmt.Sprintf(" before step %d", start)
		}
	}
}

// sheets sets the list on pages, the opening before it. empty is said where
// there is nothing in the list.
func (l *list) sheets(opening []para, empty string) (*Sheets, error) {
	const pt, gap = 10.5, 8
	d := &Sheets{heading: l.heading}
	wide := l.paper.w - 2*margin
	top, bottom := float64(margin+headHeight+2), l.paper.h-margin-listFoot
	openingHigh := flowHeight(opening, pt, wide)
	var draws []func(canvas)
	bars := span{}
	y := top + openingHigh + 4
	draws = append(draws, func(c canvas) { flow(c, opening, pt, margin, top, wide, bottom-top, gap) })
	end := func() {
		drawn := draws
		d.pages = append(d.pages, page{l.paper, barsText(bars), func(c canvas) {
			for _, draw := range drawn {
				draw(c)
			}
		}})
		draws, y, bars = nil, top, span{}
	}
	columns := func() {
		at := y
		draws = append(draws, func(c canvas) { l.columnNames(c, at) })
		y += columnsAt
	}
	put := func(high float64, draw func(c canvas, y float64)) {
		at := y
		draws = append(draws, func(c canvas) { draw(c, at) })
		y += high
	}
	if len(l.bars) == 0 {
		put(lineHigh, func(c canvas, y float64) { write(c, margin, y+5, empty, font{true, 13}, left) })
		end()
		return d, nil
	}
	columns()
	for _, b := range l.bars {
		need, page := barHigh+lineHigh*float64(len(b.lines)), bottom-top-columnsAt
		split := need > page
		if !split && y+need > bottom || split && y+barHigh+3*lineHigh > bottom {
			end()
			columns()
		}
		started := y
		put(barHigh, func(c canvas, y float64) { l.barHead(c, y, b, "") })
		bars = joined(bars, b.bar)
		for i, line := range b.lines {
			if y+lineHigh*1.01 > bottom && y > started+barHigh {
				put(0, func(c canvas, y float64) {
					write(c, margin, min(y+5, bottom+5), fmt.Sprintf("Bar %d is longer than the page and goes on on the next.", b.bar), font{true, 10}, left)
				})
				end()
				if len(d.pages) > maxPages {
					break
				}
				columns()
				started = y
				put(barHigh, func(c canvas, y float64) { l.barHead(c, y, b, ", continued") })
				bars = joined(bars, b.bar)
			}
			first := i == 0 || b.lines[i-1].step != line.step || y == started+barHigh
			put(lineHigh, func(c canvas, y float64) { l.line(c, y, line, first) })
		}
		if len(d.pages) >= maxPages {
			return nil, ErrTooLong
		}
		put(2, func(canvas, float64) {})
	}
	end()
	return d, nil
}

// flowHeight is how high paragraphs come to in one column.
func flowHeight(paras []para, pt, wide float64) float64 {
	for high := 20.0; ; high += 2 {
		if flow(nil, paras, pt, 0, 0, wide, high, 0) == 1 {
			return high
		}
	}
}

func joined(s span, bar int) span {
	if s.from == 0 {
		return span{bar, bar}
	}
	return span{s.from, bar}
}

func barsText(s span) string {
	switch {
	case s.from == 0:
		return ""
	case s.from == s.to:
		return fmt.Sprintf("bar %d", s.from)
	}
	return fmt.Sprintf("bars %d to %d", s.from, s.to)
}

func (l *list) columnNames(c canvas, y float64) {
	f := font{false, 9}
	write(c, margin+1, y+4.5, "Step", f, left)
	write(c, margin+19, y+4.5, "Beat", f, left)
	write(c, margin+namesAt, y+4.5, "Rows", f, left)
}

func (l *list) barHead(c canvas, y float64, b barLines, more string) {
	w := l.machine.Wheel
	per := w.StepsPerBar()
	c.fill(margin, y, l.paper.w-2*margin, 7, faint)
	write(c, margin+1, y+5.2, fmt.Sprintf("Bar %d%s%s", b.bar, b.part, more), font{true, 14}, left)
	pins := counted(b.moves, "pin", "pins")
	says := fmt.Sprintf("steps %d to %d · %s", (b.bar-1)*per, min(b.bar*per, w.Steps)-1, pins)
	write(c, l.paper.w-margin-1, y+5, says, font{false, 10}, right)
}

func (l *list) line(c canvas, y float64, line listLine, first bool) {
	w := l.machine.Wheel
	base := y + 5.8
	if first {
		_, beat, _ := strings.Cut(w.PlaceText(line.step), "beat ")
		write(c, margin+1, base, strconv.Itoa(line.step), font{true, 14}, left)
		write(c, margin+19, base, beat, font{false, 11}, left)
		c.line(margin, y, l.paper.w-margin, y, pen{width: 0.15, grey: light})
	}
	switch line.do { // told apart by word and shape, not by colour
	case Pull:
		c.box(margin+33.5, y+1.6, 11.5, 5.4, pen{width: 0.3, grey: black})
		write(c, margin+39.2, base-0.2, "pull", font{true, 9.5}, centred)
	case Drive:
		c.fill(margin+33.5, y+1.6, 11.5, 5.4, black)
		f := font{true, 9.5}
		c.text(margin+39.2-f.width("drive")/2, base-0.2, "drive", f, white)
	}
	for i, channel := range line.channels {
		ch := &l.machine.Channels[channel]
		x := float64(margin + namesAt + i*cellWide)
		c.box(x, y+1.6, 5, 5, pen{width: 0.4, grey: black})
		row, number := strconv.Itoa(ch.Row), font{true, 13}
		write(c, x+6.5, base, row, number, left)
		at := 6.5 + max(number.width(row), number.width("00")) + 1.5
		name := font{false, 11}
		write(c, x+at, base, name.cut(ch.Name, cellWide-at-2), name, left)
	}
}
