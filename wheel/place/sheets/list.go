package sheets

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"pinwright/wheel"
	"pinwright/wheel/place"
	"pinwright/wheel/place/paper"
	"pinwright/wheel/say"
)

// ListOptions say what a list is printed on.
type ListOptions struct {
	Paper  paper.Paper // A4 or A3
	Radius Radius      // of a pin list's distance from step to step; Surface where left out
	Date   time.Time
}

// ErrTooLong is the error of a list that would be longer than anyone can use.
var ErrTooLong = wheel.Refuse(wheel.ErrInvalid, "the list would take more than %d pages; the file of comma-separated values holds it all", maxPages)

// PinList lists every pin of a pinning to be ticked by hand, step by step and
// grouped by bar. Pages break between bars; a bar longer than a page is split,
// and says so.
func PinList(m *wheel.Machine, p *wheel.Pinning, o ListOptions) (*paper.Document, error) {
	if err := place.Fits(m, p, ""); err != nil {
		return nil, err
	}
	radius, err := o.Radius.MM(m.Wheel)
	if err != nil {
		return nil, err
	}
	l, err := newList(m, paper.Heading{Kind: "Pin list", Title: p.Title, On: m.Name, Date: o.Date}, o)
	if err != nil {
		return nil, err
	}
	rows, order := m.StepsByChannel(p.Pins), m.ByRow()
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
	opening := append(append([]paper.Para{}, cautions...), madeFor(m, p.Machine)...)
	says := fmt.Sprintf("%s. Bars without pins are left out. Steps count from 0 at the seam, %s apart at the %s.",
		say.Count(len(p.Pins), "pin", "pins"), mmText(2*math.Pi*radius/float64(w.Steps)), o.Radius.Words(w, radius))
	opening = append(opening, paper.Head("The list"), paper.Body(says+" Tick a box once its pin is in: row in bold, then its name."))
	return l.sheets(opening, "This pinning has no pins.")
}

// ChangeoverList lists a plan's pulls and drives to be ticked by hand, in its
// order, after a summary.
func ChangeoverList(m *wheel.Machine, plan *place.Plan, o ListOptions) (*paper.Document, error) {
	l, err := newList(m, paper.Heading{Kind: "Changeover", Title: plan.From + " → " + plan.To, On: m.Name, Date: o.Date}, o)
	if err != nil {
		return nil, err
	}
	for _, stop := range plan.Stops() {
		var pulls, drives []int
		for _, move := range stop.Moves {
			c := m.Channel(move.Channel)
			if c < 0 {
				return nil, wheel.Refuse(wheel.ErrInvalid, "the plan is for a machine with a channel %q; %s has none", move.Channel, m.Name)
			}
			if move.Do == place.Pull {
				pulls = append(pulls, c)
			} else {
				drives = append(drives, c)
			}
		}
		if len(pulls) > 0 {
			l.add(stop.Step, place.Pull, pulls)
		}
		if len(drives) > 0 {
			l.add(stop.Step, place.Drive, drives)
		}
	}
	l.partBar(plan.Start)
	opening := append(append([]paper.Para{}, cautions...), paper.Head("The work"))
	for _, says := range plan.Sentences(m) {
		opening = append(opening, paper.Body("• "+says))
	}
	return l.sheets(opening, "There is nothing to pull and nothing to drive.")
}

// list is lines by bar, on their way to pages.
type list struct {
	paper.Heading
	machine *wheel.Machine
	size    paper.Size
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

// listLine is one line: a step and some of the channels that have work there.
type listLine struct {
	step     int
	do       place.Do // empty on a pin list
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

func newList(m *wheel.Machine, h paper.Heading, o ListOptions) (*list, error) {
	if o.Paper == paper.Roll {
		return nil, wheel.Refuse(wheel.ErrInvalid, "a list is not printed on a roll; take A4 or A3")
	}
	size, err := upright(o.Paper)
	if err != nil {
		return nil, err
	}
	return &list{Heading: h, machine: m, size: size, perLine: int((size.W - 2*paper.Margin - namesAt) / cellWide)}, nil
}

func (l *list) add(step int, do place.Do, channels []int) {
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
func (l *list) sheets(opening []paper.Para, empty string) (*paper.Document, error) {
	const pt, gap = 10.5, 8
	d := &paper.Document{Heading: l.Heading}
	wide := l.size.W - 2*paper.Margin
	top, bottom := float64(paper.Margin+paper.HeadHeight+2), l.size.H-paper.Margin-listFoot
	openingHigh := paper.FlowHeight(opening, pt, wide)
	var draws []func(paper.Canvas)
	bars := span{}
	y := top + openingHigh + 4
	draws = append(draws, func(c paper.Canvas) { paper.Flow(c, opening, pt, paper.Margin, top, wide, bottom-top, gap) })
	end := func() {
		drawn := draws
		d.Add(paper.Page{Size: l.size, About: barsText(bars), Draw: func(c paper.Canvas) {
			for _, draw := range drawn {
				draw(c)
			}
		}})
		draws, y, bars = nil, top, span{}
	}
	columns := func() {
		at := y
		draws = append(draws, func(c paper.Canvas) { l.columnNames(c, at) })
		y += columnsAt
	}
	put := func(high float64, draw func(c paper.Canvas, y float64)) {
		at := y
		draws = append(draws, func(c paper.Canvas) { draw(c, at) })
		y += high
	}
	if len(l.bars) == 0 {
		put(lineHigh, func(c paper.Canvas, y float64) { paper.Write(c, paper.Margin, y+5, empty, paper.Bold(13), paper.Left) })
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
		put(barHigh, func(c paper.Canvas, y float64) { l.barHead(c, y, b, "") })
		bars = joined(bars, b.bar)
		for i, line := range b.lines {
			if y+lineHigh*1.01 > bottom && y > started+barHigh {
				put(0, func(c paper.Canvas, y float64) {
					paper.Write(c, paper.Margin, min(y+5, bottom+5), fmt.Sprintf("Bar %d is longer than the page and goes on on the next.", b.bar), paper.Bold(10), paper.Left)
				})
				end()
				if d.Pages() > maxPages {
					break
				}
				columns()
				started = y
				put(barHigh, func(c paper.Canvas, y float64) { l.barHead(c, y, b, ", continued") })
				bars = joined(bars, b.bar)
			}
			first := i == 0 || b.lines[i-1].step != line.step || y == started+barHigh
			put(lineHigh, func(c paper.Canvas, y float64) { l.line(c, y, line, first) })
		}
		if d.Pages() >= maxPages {
			return nil, ErrTooLong
		}
		put(2, func(paper.Canvas, float64) {})
	}
	end()
	return d, nil
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

func (l *list) columnNames(c paper.Canvas, y float64) {
	f := paper.Regular(9)
	paper.Write(c, paper.Margin+1, y+4.5, "Step", f, paper.Left)
	paper.Write(c, paper.Margin+19, y+4.5, "Beat", f, paper.Left)
	paper.Write(c, paper.Margin+namesAt, y+4.5, "Rows", f, paper.Left)
}

func (l *list) barHead(c paper.Canvas, y float64, b barLines, more string) {
	w := l.machine.Wheel
	per := w.StepsPerBar()
	c.Fill(paper.Margin, y, l.size.W-2*paper.Margin, 7, paper.Faint)
	paper.Write(c, paper.Margin+1, y+5.2, fmt.Sprintf("Bar %d%s%s", b.bar, b.part, more), paper.Bold(14), paper.Left)
	pins := say.Count(b.moves, "pin", "pins")
	says := fmt.Sprintf("steps %d to %d · %s", (b.bar-1)*per, min(b.bar*per, w.Steps)-1, pins)
	paper.Write(c, l.size.W-paper.Margin-1, y+5, says, paper.Regular(10), paper.Right)
}

func (l *list) line(c paper.Canvas, y float64, line listLine, first bool) {
	w := l.machine.Wheel
	base := y + 5.8
	if first {
		_, beat, _ := strings.Cut(w.PlaceText(line.step), "beat ")
		paper.Write(c, paper.Margin+1, base, strconv.Itoa(line.step), paper.Bold(14), paper.Left)
		paper.Write(c, paper.Margin+19, base, beat, paper.Regular(11), paper.Left)
		c.Line(paper.Margin, y, l.size.W-paper.Margin, y, paper.Pen{Width: 0.15, Grey: paper.Light})
	}
	switch line.do { // word and shape tell them apart, not colour
	case place.Pull:
		c.Box(paper.Margin+33.5, y+1.6, 11.5, 5.4, paper.Pen{Width: 0.3, Grey: paper.Black})
		paper.Write(c, paper.Margin+39.2, base-0.2, "pull", paper.Bold(9.5), paper.Centred)
	case place.Drive:
		c.Fill(paper.Margin+33.5, y+1.6, 11.5, 5.4, paper.Black)
		f := paper.Bold(9.5)
		c.Text(paper.Margin+39.2-f.Width("drive")/2, base-0.2, "drive", f, paper.White)
	}
	for i, channel := range line.channels {
		ch := &l.machine.Channels[channel]
		x := float64(paper.Margin + namesAt + i*cellWide)
		c.Box(x, y+1.6, 5, 5, paper.Pen{Width: 0.4, Grey: paper.Black})
		row, number := strconv.Itoa(ch.Row), paper.Bold(13)
		paper.Write(c, x+6.5, base, row, number, paper.Left)
		at := 6.5 + max(number.Width(row), number.Width("00")) + 1.5
		name := paper.Regular(11)
		paper.Write(c, x+at, base, name.Cut(ch.Name, cellWide-at-2), name, paper.Left)
	}
}
