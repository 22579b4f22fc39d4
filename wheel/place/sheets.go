package place

import (
	"fmt"
	"time"

	"pinwright/wheel"
)

// Sheets are pages for the workshop, drawn as they are written.
type Sheets struct {
	heading
	pages []page
	plain bool // no heading on the pages
}

// heading stands on every page.
type heading struct {
	kind  string // what the sheets are: "Pin list"
	title string // of the pinning
	on    string // the machine's name
	date  time.Time
}

type page struct {
	size
	about string // what of the whole is on this page
	draw  func(c canvas)
}

// Pages is how many pages there are.
func (d *Sheets) Pages() int { return len(d.pages) }

// PageMM is the size of a page, counted from 1, in mm.
func (d *Sheets) PageMM(page int) (width, height float64) {
	s := d.pages[page-1].size
	return s.w, s.h
}

func (d *Sheets) pageText(page int) string { return fmt.Sprintf("page %d of %d", page, len(d.pages)) }

// dateText is a day as ISO 8601 writes it.
func (h heading) dateText() string {
	if h.date.IsZero() {
		return "no date"
	}
	return h.date.Format(time.DateOnly)
}

// What every page leaves free, and the height of its heading, in mm. Few
// printers reach nearer to the edge than 5 mm (common practice).
const (
	margin     = 8
	headHeight = 13
)

// frame writes a page's heading.
func (d *Sheets) frame(c canvas, p page, number int) {
	if d.plain {
		return
	}
	const widest = 420
	end := min(p.w, widest) - margin
	title, small := font{true, 11}, font{false, 8.5}
	pages, date := d.pageText(number), d.dateText()
	write(c, end, margin+4.2, pages, font{true, 10}, right)
	write(c, end, margin+9, date, small, right)
	room := end - margin - max(title.width(pages), small.width(date)) - 5
	const between = " · "
	names := room - title.width(d.kind+between+between)
	song := title.cut(d.title, max(names*0.6, names-title.width(d.on)))
	on := title.cut(d.on, names-title.width(song))
	write(c, margin, margin+4.2, d.kind+between+song+between+on, title, left)
	write(c, margin, margin+9, small.cut(p.about, room), small, left)
	c.line(margin, margin+11, end, margin+11, pen{width: 0.2, grey: mid})
}

// para is a paragraph of what is told on sheets.
type para struct {
	text string
	bold bool
}

// cautions open every set of sheets.
var cautions = []para{
	{"Before hands go in", true},
	{"• Lock the wheel and disconnect its drive. Then try whether it stays.", false},
	{"• Wear eye protection when driving pins.", false},
	{"• Pick marbles up from the floor before you start, and whenever one falls.", false},
	{"• A heavy wheel takes two people. Say so aloud before it is turned.", false},
	{"• Local rules and the staff trained on this machine come first. These sheets clear nothing and nobody for work.", false},
}

// madeFor says where a pinning came from if that is not this machine.
func madeFor(m *wheel.Machine, machine string) []para {
	if machine == "" || machine == m.Name {
		return nil
	}
	return []para{{"This pinning was made for a machine called " + machine + ". Every hole of it is there on this wheel too.", false}}
}

// flow sets paragraphs in columns of one width and height, one beside the other,
// and returns how many. A nil canvas only counts.
func flow(c canvas, paras []para, pt, x, y, wide, high, gap float64) (columns int) {
	lineMM := pt * mmPerPoint * 1.35
	at, columns := y, 1
	for i, p := range paras {
		f := font{p.bold, pt}
		if p.bold {
			f.pt *= 1.15
			if i > 0 && at > y {
				at += lineMM * 0.5
			}
		}
		lines := f.wrap(p.text, wide)
		need := float64(len(lines))
		if p.bold {
			need += 3 // of what it heads
		}
		if at > y && at+min(need, 4)*lineMM > y+high {
			at, x, columns = y, x+wide+gap, columns+1
		}
		for _, line := range lines {
			if at > y && at+lineMM > y+high {
				at, x, columns = y, x+wide+gap, columns+1
			}
			if c != nil {
				write(c, x, at+lineMM*0.75, line, f, left)
			}
			at += lineMM
		}
		at += lineMM * 0.2
	}
	return columns
}
