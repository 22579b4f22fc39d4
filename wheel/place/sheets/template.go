package sheets

import (
	"time"

	"pinwright/wheel"
	"pinwright/wheel/place"
	"pinwright/wheel/place/paper"
)

// TemplateOptions say what a template is printed on, and how.
type TemplateOptions struct {
	Paper       paper.Paper
	RollWidthMM float64 // of a roll alone, 100 to 5000 mm
	Radius      Radius  // Surface where left out
	EdgeBelow   bool    // the wheel's edge at the bottom, for wheels that turn the other way
	PinnedOnly  bool    // only strips that carry pins, where that takes fewer strips than the whole face
	Date        time.Time
}

// ErrNoRowPitch is the error of a template for a machine whose file does not say
// how far apart its rows are.
var ErrNoRowPitch = wheel.Refuse(wheel.ErrInvalid, "wheel.row_pitch_mm is 0; a template needs the distance from row to row")

// Template is the wheel's face at 1:1, to be joined of as many pages as it
// takes, with every hole and pin at its place: step s at the arc s × 2πR/N from
// the seam, row r at first_row_mm + r × row_pitch_mm from the wheel's edge. On a
// roll it is one strip, unless it is longer than a page can be; on other paper
// the long side lies whichever way takes fewer pages.
//
// Pages break between bars. Neighbours overlap; lines and crosses on both say
// how they join. With PinnedOnly strips of rows without pins are left out; each
// strip that is printed still goes all the way round, and says how far from the
// wheel's edge it begins. The error says in words what does not fit the paper, or that
// the machine's file has no distance between rows.
func Template(m *wheel.Machine, p *wheel.Pinning, o TemplateOptions) (*paper.Document, error) {
	if err := place.Fits(m, p, ""); err != nil {
		return nil, err
	}
	if m.Wheel.RowPitchMM == 0 && len(m.Channels) > 1 {
		return nil, ErrNoRowPitch
	}
	radius, err := o.Radius.MM(m.Wheel)
	if err != nil {
		return nil, err
	}
	face := newFace(m, p, radius, o)
	if o.Paper == paper.Roll {
		if err := CheckRollWidth(o.RollWidthMM); err != nil {
			return nil, err
		}
		return rollTemplate(face, o)
	}
	size, err := upright(o.Paper)
	if err != nil {
		return nil, err
	}
	across, errAcross := tiledTemplate(face, size.Turned(), o)
	upright, errUpright := tiledTemplate(face, size, o)
	if errUpright == nil && (errAcross != nil || upright.Pages() < across.Pages()) {
		return upright, nil
	}
	return across, errAcross
}

// tiledTemplate lays the face out on sheets of one size, after a page of
// cautions and instructions.
func tiledTemplate(w *wheelFace, size paper.Size, o TemplateOptions) (*paper.Document, error) {
	l, err := w.layOut(size, o)
	if err != nil {
		return nil, err
	}
	d := &paper.Document{Heading: w.Heading}
	d.Add(paper.Page{Size: size, About: "read this first", Draw: func(c paper.Canvas) { l.cover(c, size) }})
	for band := range l.bands {
		for column := range l.columns {
			tile := tile{l, column, band, 0}
			d.Add(paper.Page{Size: size, About: tile.about(), Draw: tile.draw})
		}
	}
	return d, nil
}

// rollTemplate lays the face out on a roll, with cautions and instructions at the
// start of the strip.
func rollTemplate(w *wheelFace, o TemplateOptions) (*paper.Document, error) {
	const wide, gap = 88, 6
	high := o.RollWidthMM - 2*paper.Margin - paper.HeadHeight
	l, err := w.layOut(paper.Size{W: paper.MaxPageMM, H: o.RollWidthMM}, o)
	if err != nil {
		return nil, err
	}
	opening := float64(paper.Flow(nil, l.instructions(), coverPt, 0, 0, wide, high, gap)) * (wide + gap)
	if l, err = w.layOut(paper.Size{W: paper.MaxPageMM - opening, H: o.RollWidthMM}, o); err != nil {
		return nil, err
	}
	d := &paper.Document{Heading: w.Heading}
	for band := range l.bands {
		for column, steps := range l.columns {
			t, before := tile{l, column, band, 0}, 0.0
			if column == 0 && band == 0 {
				t.shift, before = opening, opening
			}
			long := before + l.window.x + l.long(steps) + paper.Margin
			size := paper.Size{W: max(long, 2*paper.Margin+labelWide+160), H: o.RollWidthMM}
			d.Add(paper.Page{Size: size, About: t.about(), Draw: func(c paper.Canvas) {
				if before > 0 {
					paper.Flow(c, l.instructions(), coverPt, paper.Margin, paper.Margin+paper.HeadHeight, wide, high, gap)
				}
				t.draw(c)
			}})
		}
	}
	return d, nil
}
