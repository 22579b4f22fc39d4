package draw

import (
	"math"
)

// Distances in pixels.
const (
	marginPX    = 10
	gapPX       = 14  // between stations, at least
	rowGapPX    = 22  // between rows
	textInPX    = 15  // from a gate to the captions beside it
	leastTextPX = 104 // of a column of captions
	mostTextPX  = 164
	wheelTextPX = 206 // of the captions of the wheel
	sideTextPX  = 320 // of the captions of a channel drawn alone
	liftRoomPX  = 42
)

// block is a station drawn at the drawing's scale, about its gate.
type block struct {
	draw, text *sketch
	end        Point // where marbles leave it
	box        box   // what it covers, captions and all
}

// row is stations beside each other.
type row struct {
	blocks   []block
	wide     float64
	up, down float64 // above and below its gates
}

func (r *row) tall() float64 { return r.up + r.down }

// sheet is a drawing set out at one scale.
type sheet struct {
	*drawing
	beside      bool    // the wheel stands beside the rows, not above them
	left, right float64 // edges of the rows
	wheel       *sketch
	wheelWide   float64
	wheelText   *sketch
	wheelTextAt Point
	wheelTall   float64 // with its captions
	sideText    *sketch // captions of a channel drawn alone
	sideTall    float64
	rows        []row
	over        bool // something is wider than there is room for
	tall        float64
}

// fit sets the drawing out at the largest scale at which it fits its width and
// is not too tall; what captions take alone is the least it can be.
func (d *drawing) fit() Picture {
	largest := max(2*d.m.Wheel.RadiusMM, 2*d.m.Wheel.SurfaceRadiusMM, d.m.Marble.DiameterMM)
	for i := range d.stations {
		for _, id := range d.stations[i].routes[0].lanes() {
			largest = max(largest, lengthMM(d.lane(id)))
		}
	}
	if !(largest > 0) {
		largest = 1
	}
	top := d.o.WidthPX / largest
	s := d.setOut(top * 1e-6)
	limit := max(d.tallest(), s.tall*1.2)
	// In coarse steps down to what fits, then in fine ones from the step before.
	const coarse, fine, tries = 0.75, 0.97, 50 // down to less than a millionth
	for scale, i := top, 0; i < tries; scale, i = scale*coarse, i+1 {
		at := d.setOut(scale)
		if !at.fits(limit) {
			continue
		}
		s = at
		for scale /= coarse; scale > s.scale; scale *= fine {
			if at := d.setOut(scale); at.fits(limit) {
				s = at
				break
			}
		}
		break
	}
	d.scale = s.scale
	return s.picture()
}

func (s *sheet) fits(limit float64) bool { return !s.over && s.tall <= limit }

// tallest is how tall a picture may be where its captions leave the choice.
func (d *drawing) tallest() float64 {
	switch w := d.o.WidthPX; {
	case d.o.Plain:
		return 0.36 * w
	case d.o.NoWheel:
		return 0.8 * w
	case w >= besidePX:
		return 0.46 * w
	case d.alone:
		return 600 + 0.5*w
	default:
		return 1300 - 0.2*w
	}
}

func (d *drawing) setOut(scale float64) *sheet {
	at := *d
	at.scale = scale
	s := &sheet{drawing: &at, beside: d.o.WidthPX >= besidePX || d.o.Plain, left: marginPX, right: d.o.WidthPX - marginPX - liftRoomPX}
	s.setWheel()
	s.setSide()
	s.fill()
	for i := range s.rows {
		s.tall += s.rows[i].tall() + rowGapPX
	}
	s.tall -= rowGapPX
	if s.beside {
		s.tall = max(s.tall, s.wheelTall, s.sideTall)
	} else {
		s.tall += s.wheelTall + rowGapPX
		if s.sideText != nil {
			s.tall += s.sideTall + rowGapPX
		}
	}
	return s
}

// setWheel draws the wheel and its captions: beneath it, or beside it where
// that is free.
func (s *sheet) setWheel() {
	if s.o.NoWheel {
		return
	}
	s.wheel = s.wheelSketch()
	s.wheelWide = s.wheel.bounds().width()
	s.wheelText = &sketch{name: "Wheel, marbles and lift"}
	if s.o.Plain {
		s.wheelTall = s.wheelWide
		s.left += s.wheelWide + 20
		s.over = s.wheelWide > 0.35*s.o.WidthPX
		return
	}
	lines := s.wheelCaptions()
	free := s.o.WidthPX - 2*marginPX - s.wheelWide - 18
	if !s.beside && free >= 190 {
		tall := setCaptions(s.wheelText, lines, free)
		s.wheelTextAt = Point{s.wheelWide + 18, 0}
		s.wheelTall = max(s.wheelWide, tall)
		return
	}
	wide := float64(wheelTextPX)
	if !s.beside {
		wide = s.o.WidthPX - 2*marginPX
	}
	tall := setCaptions(s.wheelText, lines, wide)
	s.wheelTextAt = Point{0, s.wheelWide + 10}
	s.wheelTall = s.wheelWide + 10 + tall
	if s.beside {
		s.left += max(s.wheelWide, wheelTextPX) + 28
		s.over = s.wheelWide > 0.4*s.o.WidthPX
	} else {
		s.over = s.wheelWide > s.o.WidthPX-2*marginPX
	}
}

// setSide sets the captions of a channel drawn alone in a column of their own.
func (s *sheet) setSide() {
	if !s.alone || s.o.Plain {
		return
	}
	wide := s.o.WidthPX - 2*marginPX
	if s.beside {
		wide = sideTextPX
		s.right -= sideTextPX + 16
	}
	s.sideText = &sketch{name: stationName(&s.stations[0])}
	s.sideTall = setCaptions(s.sideText, s.captionsOf(&s.stations[0]), wide)
}

// mostText is how wide captions beside a gate may be: where stations stand one
// above the other, there is more room.
func (s *sheet) mostText() float64 {
	if s.o.WidthPX < 2*mostTextPX+100 {
		return s.right - s.left - 56
	}
	return mostTextPX
}

// block draws a station with its captions to the right of its gate, above all
// that is drawn there.
func (s *sheet) block(i int) block {
	var b block
	b.draw, b.end = s.station(i)
	b.box = b.draw.bounds()
	b.box.y0 = min(b.box.y0, -feedUpPX)
	if s.alone || s.o.Plain {
		return b
	}
	lines := s.captionsOf(&s.stations[i])
	wide := max(min(max(naturalPX(lines), leastTextPX), s.mostText()), min(b.box.x1-textInPX, 260))
	text := &sketch{name: b.draw.name}
	tall := setCaptions(text, lines, wide)
	bottom := math.Inf(1)
	for _, shape := range b.draw.shapes {
		if at := shape.bounds(); at.x1 > textInPX-4 {
			bottom = min(bottom, at.y0)
		}
	}
	top := min(-feedUpPX+6, bottom-8-tall)
	b.text = &sketch{name: text.name, shapes: text.at("", textInPX, top).Shapes}
	b.box = b.box.with(box{textInPX, top - 4, textInPX + wide, top + tall + 4})
	return b
}

// fill sets the stations in as few rows as hold them, evenly filled.
func (s *sheet) fill() {
	blocks := make([]block, len(s.stations))
	room := s.right - s.left
	for i := range blocks {
		blocks[i] = s.block(i)
		if blocks[i].box.width() > room {
			s.over = true
		}
	}
	s.rows = inRows(blocks, room)
	for i := range s.rows {
		r := &s.rows[i]
		for _, b := range r.blocks {
			r.up, r.down = max(r.up, -b.box.y0), max(r.down, b.box.y1, b.end.Y)
		}
		r.down += 12
	}
}

// inRows breaks blocks into rows: as few as hold them, and of those ways the
// one with the least sum of squares of what is left free.
func inRows(blocks []block, room float64) []row {
	type way struct {
		rows, first int // first of the last row
		free        float64
	}
	best := make([]way, len(blocks)+1) // of the first so many blocks
	for n := 1; n <= len(blocks); n++ {
		wide := -float64(gapPX)
		for first := n - 1; first >= 0; first-- {
			wide += gapPX + blocks[first].box.width()
			if wide > room && first < n-1 {
				break
			}
			free := max(room-wide, 0)
			w := way{best[first].rows + 1, first, best[first].free + free*free}
			if b := best[n]; b.rows == 0 || w.rows < b.rows || w.rows == b.rows && w.free < b.free {
				best[n] = w
			}
		}
	}
	rows := make([]row, best[len(blocks)].rows)
	for n := len(blocks); n > 0; n = best[n].first {
		r := row{blocks: blocks[best[n].first:n], wide: -gapPX}
		for _, b := range r.blocks {
			r.wide += gapPX + b.box.width()
		}
		rows[best[n].rows-1] = r
	}
	return rows
}

func (s *sheet) picture() Picture {
	pic := Picture{WidthPX: s.o.WidthPX, PXPerMM: s.scale, Title: s.title(), Description: s.description()}
	for i := range s.stations {
		pic.Stations = append(pic.Stations, s.stationWords(&s.stations[i]))
	}
	put := func(k *sketch, class string, x, y float64) { pic.Groups = append(pic.Groups, k.at(class, x, y)) }

	y := float64(marginPX)
	setWheel := func(top float64) (bottom float64) {
		if s.wheel == nil {
			return top
		}
		put(s.wheel, "wheel", marginPX+s.wheelWide/2, top+s.wheelWide/2)
		if !s.o.Plain {
			put(s.wheelText, "captions", marginPX+s.wheelTextAt.X, top+s.wheelTextAt.Y)
		}
		return top + s.wheelTall
	}
	last := s.alone && !s.beside // the channel that was asked for comes first
	bottom := y
	if !last {
		bottom = setWheel(y)
		if !s.beside && s.wheel != nil {
			y = bottom + rowGapPX
		}
	}
	rowsTall := -float64(rowGapPX)
	for i := range s.rows {
		rowsTall += s.rows[i].tall() + rowGapPX
	}
	if s.beside { // rows that are few stand at the wheel's middle
		y += max(0, (s.wheelWide-rowsTall)/2)
	}
	top, foot := y, y
	ways := &sketch{name: "Where marbles are fed and gathered"}
	liftX := s.right + liftRoomPX/2
	for i := range s.rows {
		foot = s.setRow(put, ways, &s.rows[i], y, liftX)
		y += s.rows[i].tall() + rowGapPX
	}
	bottom = max(bottom, y-rowGapPX)
	put(ways, "ways", 0, 0)
	if len(s.m.AllLifts()) > 0 {
		put(liftSketch(foot-top+8), "lifts", liftX, foot+8)
		bottom = max(bottom, foot+8)
	}
	switch {
	case s.sideText == nil:
	case s.beside:
		at := marginPX + max(0, (s.wheelWide-s.sideTall)/2)
		put(s.sideText, "captions", s.o.WidthPX-marginPX-sideTextPX, at)
		bottom = max(bottom, at+s.sideTall)
	default:
		put(s.sideText, "captions", marginPX, bottom+rowGapPX)
		bottom += rowGapPX + s.sideTall
	}
	if last && s.wheel != nil {
		bottom = setWheel(bottom + rowGapPX)
	}
	if s.o.Plain {
		pic.HeightPX = math.Ceil(bottom + marginPX)
		return pic
	}
	foot = bottom + 20
	put(s.footSketch(), "foot", marginPX, foot)
	pic.HeightPX = math.Ceil(foot + s.footTall() + marginPX)
	return pic
}

// setRow places the stations of a row, spread over its width, under the rail
// that feeds them and above the trough that gathers their marbles. It returns
// where the trough lies.
func (s *sheet) setRow(put func(k *sketch, class string, x, y float64), ways *sketch, r *row, top, liftX float64) (trough float64) {
	gate := top + r.up
	trough = gate + r.down
	ways.line("placing", Point{s.left, top}, Point{liftX - 7, top})
	ways.line("trough", Point{s.left, trough}, Point{liftX - 7, trough})
	spread := min(max((s.right-s.left-r.wide)/float64(len(r.blocks)), 0), 80)
	x := s.left
	for _, b := range r.blocks {
		at := x - b.box.x0
		feed := at + feedX(b.draw)
		if r.up > feedUpPX {
			ways.line("placing", Point{feed, top}, Point{feed, gate - feedUpPX})
		}
		if end := gate + b.end.Y; end < trough {
			ways.line("placing", Point{at + b.end.X, end}, Point{at + b.end.X, trough})
		}
		put(b.draw, "station", at, gate)
		if b.text != nil {
			put(b.text, "captions", at, gate)
		}
		x += b.box.width() + gapPX + spread
	}
	return trough
}

// feedX is where a station's feed meets the rail above it.
func feedX(k *sketch) float64 {
	for _, s := range k.shapes {
		if s.Class == "placing" && s.At[0].Y == -feedUpPX {
			return s.At[0].X
		}
	}
	return 0
}
