package draw

import (
	"math"
	"slices"

	"pinwright/wheel"
)

// pen draws the lanes of a station one after another.
type pen struct {
	*drawing
	*sketch
	s     int // the station
	at    Point
	right float64 // 1 where the next ramp goes to the right, −1 to the left
	rings []box   // what letters keep clear of
}

// station draws a station at the drawing's scale, its gate at the origin. end
// is where its marbles leave it.
func (d *drawing) station(i int) (k *sketch, end Point) {
	s := &d.stations[i]
	k = &sketch{name: stationName(s)}
	d.gateSign(k, s)
	p := &pen{drawing: d, sketch: k, s: i, right: 1}
	r := s.routes[0]
	p.lanes(r.path)
	p.plate(s)
	p.lanes(r.exit)
	return k, p.at
}

func (p *pen) lanes(ids []string) {
	drawn := p.drawn(ids)
	for _, id := range drawn {
		if !p.o.Plain && p.owner[id] != p.s { // a plain picture has no letters to point by
			p.elsewhere(id)
		} else {
			p.lane(p.drawing.lane(id))
		}
	}
	if len(drawn) < len(ids) { // the rest is said beneath
		p.line("fine", p.at.plus(-6, 5), p.at.plus(6, 1))
		p.line("fine", p.at.plus(-6, 9), p.at.plus(6, 5))
		p.at = p.at.plus(0, 10)
	}
}

// What a lane is drawn with whose figures nobody knows yet.
const (
	unknownLengthMM = 250
	unknownSlopeDeg = 10
)

func lengthMM(l wheel.Lane) float64 { return l.LengthMM.Or(unknownLengthMM) }

// vector is a lane from its mouth to its end, in pixels.
func (p *pen) vector(l wheel.Lane) Point {
	long := lengthMM(l) * p.scale
	if l.Kind == wheel.Fall {
		return Point{0, long}
	}
	sin, cos := math.Sincos(l.SlopeDeg.Or(unknownSlopeDeg) * math.Pi / 180)
	return Point{p.right * long * cos, long * sin}
}

func (p *pen) lane(l wheel.Lane) {
	part := Part{LanePart, l.ID}
	v := p.vector(l)
	from, to := p.at, p.at.plus(v.X, v.Y)
	long := math.Hypot(v.X, v.Y)
	p.add(Shape{Kind: Line, Class: p.litClass("lane "+string(l.Kind), part), At: []Point{from, to}, Part: part})
	if l.Kind == wheel.Fall {
		if long > 14 {
			p.line("fine", to.plus(-4, -8), to.plus(0, -1), to.plus(4, -8))
		}
	} else {
		p.slopeMark(from, v, long)
		p.right = -p.right
	}
	if letter := p.letters[l.ID]; letter != "" {
		p.ring(from, v, letter, p.litClass("ring", part))
	}
	if p.lit[part] {
		middle := from.plus(v.X/2, v.Y/2)
		switch {
		case l.Kind == wheel.Fall:
			p.add(pointer(middle.plus(-5, 0), -1, 0))
		case v.X < 0: // its letter is beneath
			p.add(pointer(middle.plus(0, -6), 0, -1))
		default:
			p.add(pointer(middle.plus(0, 6), 0, 1))
		}
	}
	p.at = to
}

// slopeMark is the horizontal at a ramp's mouth and the angle to it; a marble
// rolls on the ramp.
func (p *pen) slopeMark(from, v Point, long float64) {
	if long < 36 {
		return
	}
	const r = 26
	angle := math.Atan2(v.Y, math.Abs(v.X))
	dir := math.Copysign(1, v.X)
	p.line("fine", from, from.plus(dir*(r+8), 0))
	var arc []Point
	for i := range 5 {
		sin, cos := math.Sincos(angle * float64(i) / 4)
		arc = append(arc, from.plus(dir*r*cos, r*sin))
	}
	p.line("fine", arc...)
	ball := p.m.Marble.DiameterMM / 2 * p.scale
	if ball >= 0.5 && ball < long/6 {
		x, y := v.X/long, v.Y/long
		up := Point{y * ball * dir, -math.Abs(x) * ball}
		p.add(marble(from.plus(v.X*0.72+up.X, v.Y*0.72+up.Y), ball))
	}
}

// elsewhere stands for a lane that is drawn at another station.
func (p *pen) elsewhere(id string) {
	centre := p.clear(p.at.plus(0, 10+letterPX))
	p.line("placing", p.at, Point{centre.X, centre.Y - letterPX})
	part := Part{LanePart, id}
	p.add(ring(centre, p.letters[id], p.litClass("ring", part))...)
	if p.lit[part] {
		p.add(pointer(centre.plus(-letterPX-3, 0), -1, 0))
	}
	p.at = centre.plus(0, letterPX)
}

// ring sets a lane's letter beside its middle, clear of the lane before it.
func (p *pen) ring(from, v Point, letter, class string) {
	side := Point{letterPX + 5, 0}
	switch {
	case v.X > 0:
		side = Point{0, -letterPX - 9}
	case v.X < 0: // the ramp before it comes down from above
		side = Point{0, letterPX + 9}
	}
	p.add(ring(p.clear(from.plus(v.X/2+side.X, v.Y/2+side.Y)), letter, class)...)
}

// clear is the place at a point, to its right or beneath where a letter's ring
// meets no other, and keeps it. Of ever more places some are free.
func (p *pen) clear(at Point) Point {
	const r, across = letterPX + 3, 3
	for n := 0; ; n++ {
		to := at.plus(float64(n%across)*2*r, float64(n/across)*2*r)
		want := box{to.X - r, to.Y - r, to.X + r, to.Y + r}
		if !slices.ContainsFunc(p.rings, want.meets) {
			p.rings = append(p.rings, want)
			return to
		}
	}
}

// plate draws the plate under the path's end; the exit begins beside it.
func (p *pen) plate(s *station) {
	var parts, whole []Part
	for _, c := range s.channels {
		parts = append(parts, Part{PlatePart, c.ID})
		whole = append(whole, Part{ChannelPart, c.ID})
	}
	const w = plateHalfPX + 3
	p.rings = append(p.rings, box{p.at.X - w, p.at.Y, p.at.X + w, p.at.Y + 28}) // no letter lies on it
	class := p.litClass("plate", append(parts, whole...)...)
	for _, shape := range plateSign(s.channels[0].Kind, class, Part{PlatePart, s.channels[0].ID}) {
		for i := range shape.At {
			shape.At[i] = shape.At[i].plus(p.at.X, p.at.Y)
		}
		p.add(shape)
	}
	if p.anyLit(parts...) || p.anyLit(whole...) {
		p.add(pointer(p.at.plus(-plateHalfPX-5, 4), -1, 0))
	}
	beside := p.at.plus(p.right*(plateHalfPX+7), 7)
	p.line("placing", p.at.plus(p.right*(plateHalfPX+1), 2), beside)
	p.at = beside
}
