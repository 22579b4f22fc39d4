package draw

import (
	"math"

	"pinwright/wheel"
)

// Signs have a size of their own: the file does not give one.
const (
	plateHalfPX = 13
	letterPX    = 8 // radius of the ring round a letter
	feedPX      = 30
)

// plateSign is a plate under the point at which it is struck, told apart by its
// outline.
func plateSign(kind wheel.ChannelKind, class string, part Part) []Shape {
	const w = plateHalfPX
	area := func(points ...Point) []Shape {
		return []Shape{{Kind: Area, Class: class, At: points, Part: part}}
	}
	switch kind {
	case "bar":
		return area(Point{-w, 0}, Point{w, 0}, Point{w, 5}, Point{-w, 5})
	case "tube":
		return append(area(Point{-4, 0}, Point{4, 0}, Point{4, 26}, Point{-4, 26}),
			Shape{Kind: Line, Class: "fine", At: []Point{{-1, 3}, {-1, 26}}})
	case "bell":
		return area(Point{-2, 0}, Point{2, 0}, Point{6, 3}, Point{8, 12}, Point{w, 18}, Point{-w, 18}, Point{-8, 12}, Point{-6, 3})
	case "block":
		return append(area(Point{-10, 0}, Point{10, 0}, Point{10, 12}, Point{-10, 12}),
			Shape{Kind: Line, Class: "fine", At: []Point{{-6, 7}, {6, 7}}})
	case "drum":
		return append(area(Point{-w, 0}, Point{w, 0}, Point{w, 16}, Point{-w, 16}),
			Shape{Kind: Line, Class: "fine", At: []Point{{-w, 3}, {-6, 16}, {0, 3}, {6, 16}, {w, 3}}})
	case "string":
		return []Shape{
			{Kind: Line, Class: class, At: []Point{{-w, 1}, {w, 1}}, Part: part},
			{Kind: Area, Class: "plate", At: []Point{{-w, 1}, {-w + 3, 8}, {-w - 3, 8}}},
			{Kind: Area, Class: "plate", At: []Point{{w, 1}, {w + 3, 8}, {w - 3, 8}}},
		}
	}
	return area(Point{0, 0}, Point{w, 9}, Point{0, 18}, Point{-w, 9})
}

// gateSign is a rocker: a pin lifts its tail, and the flap under the marble
// drops. The lane begins at the origin.
func (d *drawing) gateSign(k *sketch, s *station) {
	var levers, gates, whole []Part
	for _, c := range s.channels {
		whole = append(whole, Part{ChannelPart, c.ID})
		levers = append(levers, Part{LeverPart, c.ID})
		gates = append(gates, Part{GatePart, c.ID})
	}
	id := s.channels[0].ID
	pivot := Point{-9, -1}
	k.add(
		Shape{Kind: Line, Class: d.litClass("lever", append(levers, whole...)...), At: []Point{pivot, {-25, 7}}, Part: Part{LeverPart, id}},
		Shape{Kind: Line, Class: d.litClass("gate", append(gates, whole...)...), At: []Point{pivot, {6, -1}}, Part: Part{GatePart, id}},
		Shape{Kind: Disc, Class: "solid", At: []Point{pivot}, R: 2},
		Shape{Kind: Disc, Class: "solid", At: []Point{{-25, 10}}, R: 1.7}, // a pin on the rim
		Shape{Kind: Line, Class: "fine", At: []Point{{-34, 14}, {-30, 12.6}, {-25, 12}, {-20, 12.6}, {-16, 14}}},
	)
	r := d.m.Marble.DiameterMM / 2 * d.scale
	k.add(marble(Point{0, -1 - r}, r))
	slope, class := 14*math.Pi/180, "placing"
	if deg := s.channels[0].Gate.FeedSlopeDeg.Or(0); deg > 0 {
		slope, class = deg*math.Pi/180, "feed"
	}
	end := Point{-r - 3, -3}
	start := end.plus(-feedPX*math.Cos(slope), -feedPX*math.Sin(slope))
	k.line(class, start, end)
	k.line("placing", Point{start.X, -feedUpPX}, start)
	if r >= 1 {
		for i := range 3 {
			along := (2*float64(i) + 1) * r
			if along+r > feedPX {
				break
			}
			k.add(marble(end.plus(-along*math.Cos(slope)+r*math.Sin(slope), -along*math.Sin(slope)-r*math.Cos(slope)), r))
		}
	}
	if d.anyLit(levers...) {
		k.add(pointer(Point{-25, 17}, 0, 1))
	}
	if d.anyLit(gates...) || d.anyLit(whole...) {
		k.add(pointer(Point{0, -5 - 2*r}, 0, -1))
	}
	for _, c := range s.channels {
		if c.Service == wheel.Playing {
			return
		}
	}
	k.line("fine", Point{-30, -4}, Point{-12, 14}) // all of them rest
	k.line("fine", Point{-12, -4}, Point{-30, 14})
}

// feedUpPX is how far above the gates the rail lies that feeds them.
const feedUpPX = 42

func marble(at Point, r float64) Shape {
	return Shape{Kind: Disc, Class: "marble", At: []Point{at}, R: r}
}

// pointer is a solid wedge: what is lit is told by it as well as by colour. It
// lies beyond its tip in the direction given, one of the four.
func pointer(tip Point, dx, dy float64) Shape {
	const long, half = 12, 5.5
	return Shape{Kind: Area, Class: "pointer", At: []Point{
		tip, tip.plus(dx*long-dy*half, dy*long+dx*half), tip.plus(dx*long+dy*half, dy*long-dx*half),
	}}
}

// ring is a letter in a ring, which stands for a lane.
func ring(at Point, letter, class string) []Shape {
	return []Shape{
		{Kind: Disc, Class: class, At: []Point{at}, R: letterPX},
		{Kind: Text, Class: "letter", At: []Point{at.plus(0, 3.6)}, SizePX: 10, Text: letter, Middle: true},
	}
}
