package draw

import "math"

// Picture is a drawing. Its measures are pixels at its own width.
type Picture struct {
	WidthPX, HeightPX float64
	PXPerMM           float64 // the one scale of all that is to scale
	Title             string  // what is drawn, in a few words
	Description       string  // what is in it, with its counts
	Stations          []string
	Groups            []Group
}

// Group is shapes that belong together. Its name is shown where a pointer
// rests on it.
type Group struct {
	Class, Name string
	Shapes      []Shape
}

// Shape is one line, area, disc or text, or many small marks of one kind.
type Shape struct {
	Kind   ShapeKind
	Class  string
	At     []Point // corners; of discs and marks their centres, of a text the start of its baseline
	R      float64 // of a disc or of marks, in pixels
	Stroke float64 // width in pixels; 0 leaves it to the class
	Dash   []float64
	Text   string
	SizePX float64 // of a text
	Middle bool    // a text stands about its point
	Part   Part    // what it is, where it can be lit
}

// ShapeKind is what a shape is.
type ShapeKind int

const (
	Line ShapeKind = iota
	Area
	Disc
	Text
	Ups   // triangles that point up, one about each point
	Downs // triangles that point down
	Dots  // full discs
)

// Point is a place in a picture; y points down.
type Point struct{ X, Y float64 }

func (p Point) plus(x, y float64) Point { return Point{p.X + x, p.Y + y} }

// Part names a part that can be lit: a lane by its id, or what a channel has by
// the channel's id.
type Part struct {
	Kind PartKind
	ID   string
}

// PartKind is what a part is.
type PartKind string

const (
	LanePart    PartKind = "lane"
	ChannelPart PartKind = "channel"
	LeverPart   PartKind = "lever"
	GatePart    PartKind = "gate"
	PlatePart   PartKind = "plate"
)

// box is what a drawing covers.
type box struct{ x0, y0, x1, y1 float64 }

func noBox() box { return box{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)} }

func (b box) with(c box) box {
	return box{min(b.x0, c.x0), min(b.y0, c.y0), max(b.x1, c.x1), max(b.y1, c.y1)}
}

func (b box) width() float64 { return b.x1 - b.x0 }

func (b box) meets(c box) bool {
	return b.x0 < c.x1 && c.x0 < b.x1 && b.y0 < c.y1 && c.y0 < b.y1
}

// Widest stroke of any class, so that nothing drawn at an edge is cut.
const strokePX = 4

// bounds is what a shape covers, a text by estimate.
func (s Shape) bounds() box {
	b := noBox()
	for _, p := range s.At {
		b = b.with(box{p.X, p.Y, p.X, p.Y})
	}
	if s.Kind == Text {
		w := textWidth(s.Text, s.SizePX)
		if s.Middle {
			b.x0 -= w / 2
		}
		return box{b.x0, b.y0 - 0.8*s.SizePX, b.x0 + w, b.y0 + 0.25*s.SizePX}
	}
	grow := s.R + max(s.Stroke, strokePX)/2
	return box{b.x0 - grow, b.y0 - grow, b.x1 + grow, b.y1 + grow}
}

// sketch gathers shapes about an origin of their own.
type sketch struct {
	name   string
	shapes []Shape
}

func (k *sketch) add(s ...Shape) { k.shapes = append(k.shapes, s...) }

func (k *sketch) line(class string, at ...Point) {
	k.add(Shape{Kind: Line, Class: class, At: at})
}

func (k *sketch) bounds() box {
	b := noBox()
	for _, s := range k.shapes {
		b = b.with(s.bounds())
	}
	return b
}

// at is the sketch's group, moved so that its origin lies there.
func (k *sketch) at(class string, x, y float64) Group {
	g := Group{Class: class, Name: k.name, Shapes: make([]Shape, len(k.shapes))}
	for i, s := range k.shapes {
		moved := make([]Point, len(s.At))
		for j, p := range s.At {
			moved[j] = p.plus(x, y)
		}
		s.At = moved
		g.Shapes[i] = s
	}
	return g
}
