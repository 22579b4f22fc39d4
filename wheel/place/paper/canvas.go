package paper

// Canvas is a page to draw on. Lengths are mm, from the page's upper left
// corner to the right and down. Greys go from [Black] to [White].
type Canvas interface {
	Line(x1, y1, x2, y2 float64, p Pen)
	Dots(at []Point, diameter float64, grey int)
	Box(x, y, w, h float64, p Pen) // outlined
	Fill(x, y, w, h float64, grey int)
	Text(x, y float64, s string, f Font, grey int) // y is the baseline's
	Clip(x, y, w, h float64, draw func())
}

// Point is a point of a page, in mm.
type Point struct{ X, Y float64 }

// Pen is how a line is drawn.
type Pen struct {
	Width  float64 // mm
	Grey   int
	Dashed bool
}

// Greys, from 0 to 255.
const (
	Black = 0
	Dark  = 70
	Mid   = 140
	Light = 205
	Faint = 235
	White = 255
)

// Align says where text stands to the point it is given.
type Align int

const (
	Left Align = iota
	Centred
	Right
)

// Write sets a line of text with its left end, middle or right end at x.
func Write(c Canvas, x, y float64, s string, f Font, align Align) {
	switch align {
	case Centred:
		x -= f.Width(s) / 2
	case Right:
		x -= f.Width(s)
	}
	c.Text(x, y, s, f, Black)
}
