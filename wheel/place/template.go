package place

import (
	"errors"
	"fmt"
	"time"

	"pinwright/wheel"
)

// Radius is what a template is made for. A strip wrapped round pin tips is
// longer than one on the surface.
type Radius string

const (
	Surface Radius = "surface" // surface_radius_mm, or that of the pin tips where the machine's file has none
	Tips    Radius = "tips"    // radius_mm, to the pin tips
)

// MM is the radius on a wheel, in mm.
func (r Radius) MM(w wheel.Wheel) (float64, error) {
	switch r {
	case Surface, "":
		return w.SurfaceMM(), nil
	case Tips:
		return w.RadiusMM, nil
	}
	return 0, fmt.Errorf("the radius is %q; it should be surface or tips", string(r))
}

// short says which radius sheets are made for, with its figure.
func (r Radius) short(w wheel.Wheel, mm float64) string {
	if r == Tips || w.SurfaceRadiusMM == 0 {
		return "pin tips, radius " + mmText(mm)
	}
	return "wheel's surface, radius " + mmText(mm)
}

// Words says which radius sheets are made for, with its figure in mm, and why
// where that is not the one asked for.
func (r Radius) Words(w wheel.Wheel, mm float64) string {
	if r != Tips && w.SurfaceRadiusMM == 0 {
		return r.short(w, mm) + " (the machine's file has no radius of the surface)"
	}
	return r.short(w, mm)
}

func mmText(mm float64) string { return wheel.Number(round(mm, 2)) + " mm" }

// TemplateOptions say what a template is printed on, and how.
type TemplateOptions struct {
	Paper       Paper
	RollWidthMM float64 // of a roll alone, 100 to 5000 mm
	Radius      Radius  // Surface where left out
	EdgeBelow   bool    // the wheel's edge at the bottom, for wheels that turn the other way
	Date        time.Time
}

// ErrNoRowPitch is the error of a template for a machine whose file does not say
// how far apart its rows are.
var ErrNoRowPitch = errors.New("wheel.row_pitch_mm is 0; a template needs the distance from row to row")

// Template is the wheel's face at 1:1, to be joined of as many pages as it
// takes, with every hole and pin at its place: step s at the arc s × 2πR/N from
// the seam, row r at first_row_mm + r × row_pitch_mm from the wheel's edge. On a
// roll it is one strip, unless it is longer than a page can be; on other paper
// the long side lies whichever way takes fewer pages.
//
// Pages break between bars. Neighbours overlap; lines and crosses on both say
// how they join. The error says in words what does not fit the paper, or that
// the machine's file has no distance between rows.
func Template(m *wheel.Machine, p *wheel.Pinning, o TemplateOptions) (*Sheets, error) {
	if err := fit(m, p, ""); err != nil {
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
	if o.Paper == Roll {
		if err := CheckRollWidth(o.RollWidthMM); err != nil {
			return nil, err
		}
		return rollTemplate(face, o)
	}
	paper, err := o.Paper.upright()
	if err != nil {
		return nil, err
	}
	across, errAcross := tiledTemplate(face, paper.turned(), o)
	upright, errUpright := tiledTemplate(face, paper, o)
	if errUpright == nil && (errAcross != nil || upright.Pages() < across.Pages()) {
		return upright, nil
	}
	return across, errAcross
}

// tiledTemplate lays the face out on sheets of one size, after a page of
// cautions and instructions.
func tiledTemplate(w *wheelFace, paper size, o TemplateOptions) (*Sheets, error) {
	l, err := w.layOut(paper, o)
	if err != nil {
		return nil, err
	}
	d := &Sheets{heading: w.heading}
	d.pages = append(d.pages, page{paper, "read this first", func(c canvas) { l.cover(c, paper) }})
	for band := range l.bands {
		for column := range l.columns {
			tile := tile{l, column, band, 0}
			d.pages = append(d.pages, page{paper, tile.about(), tile.draw})
		}
	}
	return d, nil
}

// rollTemplate lays the face out on a roll: what opens the sheets stands at the
// start of the strip.
func rollTemplate(w *wheelFace, o TemplateOptions) (*Sheets, error) {
	const wide, gap = 88, 6
	high := o.RollWidthMM - 2*margin - headHeight
	l, err := w.layOut(size{maxPageMM, o.RollWidthMM}, o)
	if err != nil {
		return nil, err
	}
	opening := float64(flow(nil, l.instructions(), coverPt, 0, 0, wide, high, gap)) * (wide + gap)
	if l, err = w.layOut(size{maxPageMM - opening, o.RollWidthMM}, o); err != nil {
		return nil, err
	}
	d := &Sheets{heading: w.heading}
	for band := range l.bands {
		for column, steps := range l.columns {
			t, before := tile{l, column, band, 0}, 0.0
			if column == 0 && band == 0 {
				t.shift, before = opening, opening
			}
			long := before + l.window.x + l.long(steps) + margin
			paper := size{max(long, 2*margin+labelWide+160), o.RollWidthMM}
			d.pages = append(d.pages, page{paper, t.about(), func(c canvas) {
				if before > 0 {
					flow(c, l.instructions(), coverPt, margin, margin+headHeight, wide, high, gap)
				}
				t.draw(c)
			}})
		}
	}
	return d, nil
}
