package sheets

import (
	"fmt"
	"slices"
	"strconv"

	"pinwright/wheel"
	"pinwright/wheel/place/paper"
	"pinwright/wheel/say"
)

const coverPt = 10.5

// instructions open a template: cautions, what it is made for, how to use it.
func (l *layout) instructions() []paper.Para {
	w := l.machine.Wheel
	edge := "top"
	if l.below {
		edge = "bottom"
	}
	holes := "small dots are holes, "
	if l.holeMM == 0 {
		holes = "holes are too many to be drawn and lie where lines of steps and rows cross, "
	}
	paras := slices.Concat(cautions, madeFor(l.machine, l.pinning.Machine), []paper.Para{
		paper.Head("What this is"),
		paper.Body(fmt.Sprintf("The wheel's face at 1:1, seen from outside, the wheel's edge at the %s: %sblack discs the %s to drive. Steps follow one another to the right, as they pass the levers.",
			edge, holes, say.Count(len(l.pinning.Pins), "pin", "pins"))),
		paper.Body(fmt.Sprintf("Made for the %s: %s round, %s from step to step. On any other radius the pages will not meet round the wheel.",
			l.radius.Words(w, l.radiusMM), mmText(l.arcMM*float64(w.Steps)), mmText(l.arcMM))),
		paper.Head("How to use it"),
		paper.Body("1. Print at 100 %, not fitted to the page. The bar at the foot of every page has to measure 100 mm."),
	})
	join := "2. Cut along the thin solid line at the start. Wrap the strip round the wheel, edge line on edge, seam line on seam, and lay the start on the dashed line at the end."
	if len(l.columns)*len(l.bands) > 1 {
		join = "2. Cut each page along its thin solid lines and lay it on the dashed line of the page before, cross upon cross. Wrap the strip round the wheel, edge line on edge, seam line on seam; the last page's dashed line takes the start of the first."
	}
	paras = append(paras, paper.Body(join),
		paper.Body("3. If crosses do not meet where the end takes the start, the radius or the print is wrong: do not drive a pin."))
	if l.splitBars {
		paras = append(paras, paper.Body("A bar is longer than a page, so bars are split between steps."))
	}
	if len(l.columns)*len(l.bands) > 1 {
		paras = append(paras, paper.Body(fmt.Sprintf("Of the face there are %s: %s along the turn, %s across.",
			say.Count(len(l.columns)*len(l.bands), "page", "pages"), wheel.Number(float64(len(l.columns))), wheel.Number(float64(len(l.bands))))))
	}
	if l.apart {
		paras = append(paras, l.stripsLie()...)
	}
	return paras
}

// stripsLie says where bands that lie apart begin.
func (l *layout) stripsLie() []paper.Para {
	paras := []paper.Para{paper.Body("Only strips that carry pins are printed. Each goes all the way round. Cut a strip along its thin solid lines and measure from the wheel's edge where it lies:")}
	for _, b := range l.bands {
		first, last := l.rowsIn(b)
		rows := fmt.Sprintf("Rows %d to %d", first, last)
		if first == last {
			rows = fmt.Sprintf("Row %d", first)
		}
		at := mmText(b.from) + " from the wheel's edge"
		if b.from == 0 {
			at = "at the wheel's edge"
		}
		paras = append(paras, paper.Body("• "+rows+": "+at+"."))
	}
	return paras
}

// cover is the page before those of the face: words, and a map of the pages.
func (l *layout) cover(c paper.Canvas, size paper.Size) {
	const gap = 10
	x, y := float64(paper.Margin), float64(paper.Margin+paper.HeadHeight+2)
	wide, high := size.W-2*paper.Margin, size.H-y-paper.Margin
	mapX, mapY, mapW, mapH := x, y+high*0.66, wide, high*0.34
	if size.W > size.H {
		wide = (wide - gap) * 0.55
		mapX, mapY, mapW, mapH = x+wide+gap, y, size.W-paper.Margin-(x+wide+gap), high
	}
	paper.Flow(c, l.instructions(), coverPt, x, y, wide, high, gap)
	l.pageMap(c, mapX, mapY, mapW, mapH)
}

// pageMap shows where each page lies on the face, if there is room for it.
func (l *layout) pageMap(c paper.Canvas, x, y, wide, high float64) {
	n, f := len(l.columns), paper.Regular(7)
	perRow := min(n, int(wide/9))
	lines := (n + perRow - 1) / perRow
	cellW, cellH := min(wide/float64(perRow), 16), 6.0
	if float64(lines*(len(l.bands)+1))*cellH+8 > high {
		return
	}
	paper.Write(c, x, y+3.5, "Where the pages lie", paper.Bold(10.5), paper.Left)
	y += 7
	for line := range lines {
		for i := range l.bands {
			band := i
			if l.below {
				band = len(l.bands) - 1 - i
			}
			for column := line * perRow; column < min((line+1)*perRow, n); column++ {
				at := x + float64(column-line*perRow)*cellW
				c.Box(at, y, cellW, cellH, paper.Pen{Width: 0.2, Grey: paper.Mid})
				paper.Write(c, at+cellW/2, y+4, strconv.Itoa(l.pageOf(column, band)), f, paper.Centred)
			}
			y += cellH
		}
		y += cellH
	}
}
