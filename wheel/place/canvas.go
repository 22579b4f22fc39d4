package place

// canvas is a page to draw on. Lengths are mm, from the page's upper left
// corner to the right and down.
type canvas interface {
	line(x1, y1, x2, y2 float64, p pen)
	dots(at []point, diameter float64, grey int)
	box(x, y, w, h float64, p pen) // outlined
	fill(x, y, w, h float64, grey int)
	text(x, y float64, s string, f font, grey int) // y is the baseline's
	clip(x, y, w, h float64, draw func())
}

type point struct{ x, y float64 }

// pen is how a line is drawn: its width in mm, its grey from 0, black, to 255,
// and whether it is dashed.
type pen struct {
	width  float64
	grey   int
	dashed bool
}

const (
	black = 0
	dark  = 70
	mid   = 140
	light = 205
	faint = 235
	white = 255
)

// Where text stands to the point it is given.
const (
	left = iota
	centred
	right
)

// write sets a line of text with its left end, middle or right end at x.
func write(c canvas, x, y float64, s string, f font, align int) {
	switch align {
	case centred:
		x -= f.width(s) / 2
	case right:
		x -= f.width(s)
	}
	c.text(x, y, s, f, black)
}
