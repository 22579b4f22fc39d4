package place

import (
	"fmt"
	"math"
	"strings"
	"time"

	"pinwright/timing"
	"pinwright/wheel"
)

// Papers of a crank card.
const (
	A5 Paper = "A5" // ISO 216: 148 mm × 210 mm
	A6 Paper = "A6" // ISO 216: 105 mm × 148 mm
)

// ParseCardPaper reads the name of a crank card's paper, large or small letters
// alike.
func ParseCardPaper(s string) (Paper, error) {
	for _, p := range []Paper{A5, A6} {
		if strings.EqualFold(s, string(p)) {
			return p, nil
		}
	}
	return "", fmt.Errorf("the paper is %q; a crank card is made on A5 or A6", s)
}

// CardOptions say what stands on a crank card.
type CardOptions struct {
	Paper      Paper   // A5 or A6
	Song       string  // as people call it
	TempoBPM   float64 // to turn at
	RedLineBPM float64 // the highest safe tempo
	Call       string  // who to call; empty leaves a line to write on
	Date       time.Time
}

// CrankCard is one page to mount by the crank: what is turned and how fast, in
// beats and in turns of the crank, the red line in the same units, a picture of a
// steady beat for those who do not read, and what to do when something is wrong.
// Where the machine's file does not say how the crank is geared it counts turns
// of the wheel. The error says what of the options is out of range.
func CrankCard(m *wheel.Machine, o CardOptions) (*Sheets, error) {
	paper, err := ParseCardPaper(string(o.Paper))
	if err != nil {
		return nil, err
	}
	switch {
	case !(o.TempoBPM >= 1 && o.TempoBPM <= wheel.MaxTempoBPM):
		return nil, fmt.Errorf("the tempo is %s BPM; it should be 1 to %d", wheel.Number(o.TempoBPM), wheel.MaxTempoBPM)
	case !(o.RedLineBPM >= 1 && o.RedLineBPM <= wheel.MaxTempoBPM):
		return nil, fmt.Errorf("the red line is at %s BPM; without a highest safe tempo there can be no card", wheel.Number(o.RedLineBPM))
	case o.TempoBPM > o.RedLineBPM:
		return nil, fmt.Errorf("the tempo, %s BPM, is above the red line, %s BPM; a card would ask for what is not safe", wheel.Number(o.TempoBPM), wheel.Number(o.RedLineBPM))
	}
	c := &card{m: m, o: o, size: size{148, 210}}
	if paper == A6 {
		c.size = size{105, 148}
	}
	return &Sheets{
		heading: heading{"Crank card", o.Song, m.Name, o.Date},
		pages:   []page{{size: c.size, draw: c.draw}},
		plain:   true,
	}, nil
}

// card is a crank card on its way to paper. Its lengths are those of A5, drawn
// smaller on A6.
type card struct {
	m *wheel.Machine
	o CardOptions
	size
	canvas
	scale float64
}

// Where the parts of a card stand on A5, in mm from its upper edge.
const (
	cardSong  = 8
	cardTempo = 32
	cardBeat  = 87
	cardLine  = 119
	cardWrong = 149
	cardCall  = 176
	cardFoot  = 200
)

func (c *card) draw(on canvas) {
	c.canvas, c.scale = on, c.w/148
	c.song()
	c.tempo()
	c.steadyBeat()
	c.redLine()
	c.whatIsWrong()
	c.call()
	c.put(8, cardFoot, c.m.Name+". Local rules and trained staff come first.", font{false, 9}, 105, left, black)
	date := heading{date: c.o.Date}.dateText()
	c.put(140-font{false, 9}.width(date), cardFoot, date, font{false, 9}, 40, left, black)
}

func (c *card) mm(v float64) float64 { return v * c.scale }

// put writes a line no wider than so many mm of A5, smaller if it has to be.
func (c *card) put(x, y float64, text string, f font, wide float64, align, grey int) {
	f.pt *= c.scale
	for smallest := f.pt / 2; f.width(text) > c.mm(wide) && f.pt > smallest; {
		f.pt *= 0.95
	}
	text = f.cut(text, c.mm(wide))
	x = c.mm(x)
	if align == centred {
		x -= f.width(text) / 2
	}
	c.text(x, c.mm(y), text, f, grey)
}

func (c *card) song() {
	const wide = 132
	f := font{true, 26 * c.scale}
	lines := f.wrap(c.o.Song, c.mm(wide))
	if len(lines) > 1 {
		f.pt *= 0.7
		lines = f.wrap(c.o.Song, c.mm(wide))
	}
	for i, line := range lines[:min(len(lines), 2)] {
		if i == 1 && len(lines) > 2 {
			line = f.cut(strings.Join(lines[1:], " "), c.mm(wide))
		}
		c.put(8, cardSong+11+float64(i)*9, line, font{true, f.pt / c.scale}, wide, left, black)
	}
}

// speeds are a tempo in the card's units.
type speeds struct {
	turns, every, beats string
	of                  string // what turns
}

func (c *card) speeds(bpm float64, round func(float64) float64) speeds {
	at := timing.CrankAt(c.m.Wheel, bpm)
	turns, every, of := at.Turns, at.EveryS, "crank"
	if turns == 0 {
		turns, every, of = 60/at.TurnS, at.TurnS, "wheel"
	}
	tenth := func(v float64) string { return wheel.Number(round(v*10) / 10) }
	if turns < 1 { // a tenth would be coarse
		tenth = func(v float64) string { return wheel.Number(round(v*100) / 100) }
	}
	return speeds{tenth(turns), wheel.Number(math.Ceil(every*10*(1-timing.Slack)) / 10), wheel.Number(round(bpm*10) / 10), of}
}

func nearest(v float64) float64 { return math.Floor(v + 0.5) }

// below rounds to the safe side.
func below(v float64) float64 { return math.Floor(v * (1 + timing.Slack)) }

func (c *card) tempo() {
	s := c.speeds(c.o.TempoBPM, nearest)
	c.dial(29, cardTempo+22, 19)
	c.put(56, cardTempo+9, "Turn the "+s.of, font{false, 15}, 84, left, black)
	c.put(56, cardTempo+25, s.turns, font{true, 44}, 40, left, black)
	number := font{true, 44 * c.scale}
	c.put(56+number.width(s.turns)/c.scale+3, cardTempo+25, "times a minute", font{true, 17}, 84-number.width(s.turns)/c.scale-3, left, black)
	c.put(56, cardTempo+35, "once in "+s.every+" seconds", font{true, 17}, 84, left, black)
	c.put(56, cardTempo+43, s.beats+" beats a minute", font{false, 13}, 84, left, black)
}

// dial is a crank seen from its end, and which way it goes.
func (c *card) dial(x, y, r float64) {
	rim := pen{width: c.mm(1.2), grey: black}
	c.arc(x, y, r, -0.92*math.Pi, 0.75*math.Pi, rim)
	tip := 0.75 * math.Pi
	px, py := x+r*math.Cos(tip), y+r*math.Sin(tip)
	for _, turn := range [2]float64{2.5, 3.6} { // backwards from the direction of travel
		a := tip + math.Pi/2 + turn
		c.stroke(px, py, px+5.5*math.Cos(a), py+5.5*math.Sin(a), rim)
	}
	arm := pen{width: c.mm(3), grey: black}
	hx, hy := x+0.72*r*math.Cos(-0.6), y+0.72*r*math.Sin(-0.6)
	c.stroke(x, y, hx, hy, arm)
	c.dots([]point{{c.mm(x), c.mm(y)}}, c.mm(6), black)
	c.dots([]point{{c.mm(hx), c.mm(hy)}}, c.mm(8.5), black)
}

func (c *card) arc(x, y, r, from, to float64, p pen) {
	const parts = 40
	step := (to - from) / parts
	for i := range parts {
		a := from + float64(i)*step
		c.stroke(x+r*math.Cos(a), y+r*math.Sin(a), x+r*math.Cos(a+step), y+r*math.Sin(a+step), p)
	}
}

func (c *card) stroke(x1, y1, x2, y2 float64, p pen) {
	c.line(c.mm(x1), c.mm(y1), c.mm(x2), c.mm(y2), p)
}

// steadyBeat shows marbles that fall evenly, with a tick, and unevenly, crossed
// out.
func (c *card) steadyBeat() {
	const from, to, size = 14.0, 112.0, 7.0
	rows := []struct {
		y  float64
		at []float64
	}{
		{cardBeat + 5, []float64{0, 1, 2, 3, 4, 5, 6, 7}},
		{cardBeat + 19, []float64{0, 0.55, 2.1, 2.5, 4.3, 4.8, 5.2, 7}},
	}
	for i, row := range rows {
		grey := black
		if i == 1 {
			grey = dark
		}
		c.stroke(from, row.y+5.5, to, row.y+5.5, pen{width: c.mm(0.5), grey: grey})
		marbles := make([]point, len(row.at))
		for j, at := range row.at {
			x := from + at*(to-from)/7
			marbles[j] = point{c.mm(x), c.mm(row.y)}
			c.stroke(x, row.y+5.5, x, row.y+8, pen{width: c.mm(0.8), grey: grey})
		}
		c.dots(marbles, c.mm(size), grey)
	}
	thick := pen{width: c.mm(2), grey: black}
	x, y := 124.0, rows[0].y+2
	c.stroke(x, y, x+4, y+4, thick)
	c.stroke(x+4, y+4, x+12, y-6, thick)
	y = rows[1].y + 2
	c.stroke(x+1, y-5, x+11, y+5, thick)
	c.stroke(x+1, y+5, x+11, y-5, thick)
}

// redLine is the highest safe tempo. Printed black it still has to be seen, so it
// is a bar with its words in white.
func (c *card) redLine() {
	s := c.speeds(c.o.RedLineBPM, below)
	c.fill(c.mm(8), c.mm(cardLine), c.mm(132), c.mm(25), black)
	c.put(74, cardLine+10, "Never faster than "+s.turns+" turns a minute", font{true, 19}, 124, centred, white)
	c.put(74, cardLine+19.5, fmt.Sprintf("that is one turn of the %s in %s seconds, %s beats a minute", s.of, s.every, s.beats), font{false, 12}, 124, centred, white)
}

func (c *card) whatIsWrong() {
	c.put(8, cardWrong+4, "A marble jams, falls out, or something sounds wrong:", font{true, 13}, 132, left, black)
	for i, line := range []string{
		"1. Stop turning. Let go of the crank.",
		"2. Keep hands out, and step back.",
		"3. Call those who look after the machine.",
	} {
		c.put(8, cardWrong+11+float64(i)*6.5, line, font{false, 12.5}, 132, left, black)
	}
}

func (c *card) call() {
	c.box(c.mm(8), c.mm(cardCall), c.mm(132), c.mm(17), pen{width: c.mm(0.8), grey: black})
	c.put(12, cardCall+6, "Call", font{false, 10.5}, 20, left, black)
	if c.o.Call != "" {
		c.put(12, cardCall+13.5, c.o.Call, font{true, 17}, 124, left, black)
	} else {
		c.stroke(12, cardCall+13.5, 136, cardCall+13.5, pen{width: c.mm(0.3), grey: mid})
	}
}
