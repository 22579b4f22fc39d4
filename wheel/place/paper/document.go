package paper

import (
	"fmt"
	"time"
)

// Document is pages for the workshop. They are drawn when they are written.
type Document struct {
	Heading
	Plain bool // no heading on the pages
	pages []Page
}

// Heading stands on every page.
type Heading struct {
	Kind  string // what the pages are: "Pin list"
	Title string // of the pinning
	On    string // the machine's name
	Date  time.Time
}

// Page is one page of a document.
type Page struct {
	Size
	About string // which part of the whole is on this page
	Draw  func(c Canvas)
}

// Add adds a page at the end.
func (d *Document) Add(p Page) { d.pages = append(d.pages, p) }

// Pages is how many pages there are.
func (d *Document) Pages() int { return len(d.pages) }

// PageMM is the size of a page, counted from 1, in mm.
func (d *Document) PageMM(page int) (width, height float64) {
	s := d.pages[page-1].Size
	return s.W, s.H
}

func (d *Document) pageText(page int) string { return fmt.Sprintf("page %d of %d", page, len(d.pages)) }

// DateText is the heading's day as ISO 8601 writes it.
func (h Heading) DateText() string {
	if h.Date.IsZero() {
		return "no date"
	}
	return h.Date.Format(time.DateOnly)
}

// What every page leaves free, and the height of its heading, in mm. Few
// printers reach nearer to the edge than 5 mm (common practice).
const (
	Margin     = 8
	HeadHeight = 13
)

// frame writes a page's heading.
func (d *Document) frame(c Canvas, p Page, number int) {
	if d.Plain {
		return
	}
	const widest = 420
	end := min(p.W, widest) - Margin
	title, small := Bold(11), Regular(8.5)
	pages, date := d.pageText(number), d.DateText()
	Write(c, end, Margin+4.2, pages, Bold(10), Right)
	Write(c, end, Margin+9, date, small, Right)
	room := end - Margin - max(title.Width(pages), small.Width(date)) - 5
	const between = " · "
	names := room - title.Width(d.Kind+between+between)
	song := title.Cut(d.Title, max(names*0.6, names-title.Width(d.On)))
	on := title.Cut(d.On, names-title.Width(song))
	Write(c, Margin, Margin+4.2, d.Kind+between+song+between+on, title, Left)
	Write(c, Margin, Margin+9, small.Cut(p.About, room), small, Left)
	c.Line(Margin, Margin+11, end, Margin+11, Pen{Width: 0.2, Grey: Mid})
}
