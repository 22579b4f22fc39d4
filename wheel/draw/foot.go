package draw

import (
	"math"

	"pinwright/wheel/say"
)

// What the picture says of itself.
const (
	toScale  = "Lengths, slopes, the wheel's radius and the marbles' diameter are to scale. Where parts stand beside each other is schematic; so are dotted lines, levers, gates, plates, the trough and the lift."
	byLetter = " A ringed letter is one lane that several groups use: it is drawn once."
)

// footSketch is the scale bar and what is to scale.
func (s *sheet) footSketch() *sketch {
	k := &sketch{name: "Scale"}
	longMM, long := s.bar()
	const base = 10
	k.line("ruler", Point{0, base}, Point{long, base})
	for i := range 6 {
		x, up := long*float64(i)/5, 4.0
		if i%5 == 0 {
			up = 8
		}
		k.line("ruler", Point{x, base - up}, Point{x, base})
	}
	k.add(Shape{Kind: Text, Class: "figures", At: []Point{{long + 8, base + 1}}, SizePX: smallPX, Text: barLabel(longMM)})
	at, lines := s.footText()
	for i, text := range lines {
		k.add(Shape{Kind: Text, Class: "figures", At: []Point{at.plus(0, float64(i)*linePX)}, SizePX: smallPX, Text: text})
	}
	return k
}

func barLabel(mm float64) string { return say.Number(mm) + " mm" }

// bar is how long the scale bar is.
func (s *sheet) bar() (mm, px float64) {
	mm = niceMM(min(170, s.o.WidthPX/2.5) / s.scale)
	return mm, mm * s.scale
}

func (s *sheet) footText() (at Point, lines []string) {
	at = Point{0, 11 + linePX + 5}
	if s.beside {
		mm, px := s.bar()
		at = Point{max(px+8+textWidth(barLabel(mm), smallPX)+26, wheelTextPX+28), 11}
	}
	text := toScale
	if len(s.letters) > 0 {
		text += byLetter
	}
	return at, wrap(text, smallPX, s.o.WidthPX-2*marginPX-at.X)
}

func (s *sheet) footTall() float64 {
	at, lines := s.footText()
	return at.Y + float64(len(lines)-1)*linePX + 4
}

// niceMM is the largest of 1, 2 and 5 times a power of ten up to a length.
func niceMM(mm float64) float64 {
	power := math.Pow(10, math.Floor(math.Log10(mm)))
	for _, n := range []float64{5, 2} {
		if n*power <= mm {
			return n * power
		}
	}
	return power
}
