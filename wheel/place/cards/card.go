package cards

import (
	"fmt"
	"math"
	"strings"
	"time"
	"unicode/utf8"

	"pinwright/wheel"
	"pinwright/wheel/place/paper"
	"pinwright/wheel/say"
)

// ParsePaper reads the name of a crank card's paper, large or small letters
// alike.
func ParsePaper(s string) (paper.Paper, error) {
	for _, p := range []paper.Paper{paper.A5, paper.A6} {
		if strings.EqualFold(s, string(p)) {
			return p, nil
		}
	}
	return "", wheel.Refuse(wheel.ErrInvalid, "the paper is %q; a crank card is made on A5 or A6", s)
}

// Options say what stands on a crank card.
type Options struct {
	Paper    paper.Paper // A5 or A6
	Song     string      // as people call it
	TempoBPM float64     // to turn at
	Window   wheel.TempoWindow
	Call     string // who to call, see [CheckCall]; empty leaves a line to write on
	Date     time.Time
}

// CrankCard is one page to mount by the crank: what is turned and how fast, in
// beats and in turns of the crank, the fastest for visitors in the same units and
// as a strip, a picture of a steady beat for those who do not read, and what to do when something is wrong.
// Where the machine's file does not say how the crank is geared it counts turns
// of the wheel. The error says what of the options is out of range.
func CrankCard(m *wheel.Machine, o Options) (*paper.Document, error) {
	on, err := ParsePaper(string(o.Paper))
	if err != nil {
		return nil, err
	}
	if err := CheckTempo(o.TempoBPM, o.Window); err != nil {
		return nil, err
	}
	if err := CheckCall(o.Call); err != nil {
		return nil, err
	}
	size, _ := on.Size()
	c := &card{m: m, o: o, scale: size.W / a5Wide}
	d := &paper.Document{Heading: c.heading(), Plain: true}
	d.Add(paper.Page{Size: size, Draw: c.draw})
	return d, nil
}

// CheckTempo says why visitors are not asked to turn at a tempo, in beats per
// minute; nil where they may be. They are asked no more than the window's top, the
// red line less the house's margin.
func CheckTempo(tempoBPM float64, w wheel.TempoWindow) error {
	switch {
	case !(tempoBPM >= 1 && tempoBPM <= wheel.MaxTempoBPM):
		return wheel.Refuse(wheel.ErrInvalid, "the tempo is %s BPM; it should be 1 to %d", wheel.Number(tempoBPM), wheel.MaxTempoBPM)
	case w.Unknown:
		return wheel.Refuse(wheel.ErrInvalid, "nobody can be asked to turn this song yet. %s", strings.TrimSuffix(w.Fastest, "."))
	case w.MaxSafeBPM == 0:
		return wheel.Refuse(wheel.ErrInvalid, "there is no safe tempo, so nobody can be asked to turn this song")
	case !(w.RedLineBPM >= 1 && w.RedLineBPM <= wheel.MaxTempoBPM):
		return wheel.Refuse(wheel.ErrInvalid, "no tempo can be trusted, so nobody can be asked to turn this song")
	case tempoBPM > w.RedLineBPM*(1+wheel.TempoSlack):
		return wheel.Refuse(wheel.ErrInvalid, "the tempo, %s BPM, is above the red line at %s BPM; nobody is asked to turn faster than the machine can be trusted",
			say.TempoUp(tempoBPM), say.TempoDown(w.RedLineBPM))
	case !(w.TopBPM >= 1):
		return wheel.Refuse(wheel.ErrInvalid, "the margin leaves no tempo below the red line at %s BPM", say.TempoDown(w.RedLineBPM))
	case tempoBPM > w.TopBPM*(1+wheel.TempoSlack):
		return wheel.Refuse(wheel.ErrInvalid, "the tempo, %s BPM, is within the margin: visitors are asked to turn %s BPM at most, and the red line is at %s BPM",
			say.TempoUp(tempoBPM), say.TempoDown(w.TopBPM), say.TempoDown(w.RedLineBPM))
	}
	return nil
}

// card is a crank card on its way to paper. Its lengths are those of A5, drawn
// smaller on A6.
type card struct {
	m *wheel.Machine
	o Options
	paper.Canvas
	scale float64
}

const a5Wide = 148 // mm

func (c *card) heading() paper.Heading {
	return paper.Heading{Kind: "Crank card", Title: c.o.Song, On: c.m.Name, Date: c.o.Date}
}

// Where the parts of a card stand on A5, in mm from its upper edge.
const (
	cardSong  = 7
	cardTempo = 31
	cardStrip = 76.3
	cardBeat  = 88
	cardLine  = 117
	cardWrong = 141.5
	cardCall  = 169
	cardFoot  = 201
)

func (c *card) draw(on paper.Canvas) {
	c.Canvas = on
	c.song()
	c.tempo()
	c.strip()
	c.steadyBeat()
	c.fastest()
	c.whatIsWrong()
	c.call()
	c.put(8, cardFoot, c.m.Name+". Local rules and trained staff come first.", paper.Regular(9), 105, paper.Left, paper.Black)
	date := c.heading().DateText()
	c.put(140-paper.Regular(9).Width(date), cardFoot, date, paper.Regular(9), 40, paper.Left, paper.Black)
}

func (c *card) mm(v float64) float64 { return v * c.scale }

// put writes a line no wider than so many mm of A5, smaller if it has to be.
func (c *card) put(x, y float64, text string, f paper.Font, wide float64, align paper.Align, grey int) {
	f.Pt *= c.scale
	for smallest := f.Pt / 2; f.Width(text) > c.mm(wide) && f.Pt > smallest; {
		f.Pt *= 0.95
	}
	text = f.Cut(text, c.mm(wide))
	x = c.mm(x)
	if align == paper.Centred {
		x -= f.Width(text) / 2
	}
	c.Text(x, c.mm(y), text, f, grey)
}

func (c *card) song() {
	const wide = 132
	f := paper.Bold(26 * c.scale)
	lines := f.Wrap(c.o.Song, c.mm(wide))
	if len(lines) > 1 {
		f.Pt *= 0.7
		lines = f.Wrap(c.o.Song, c.mm(wide))
	}
	for i, line := range lines[:min(len(lines), 2)] {
		if i == 1 && len(lines) > 2 {
			line = f.Cut(strings.Join(lines[1:], " "), c.mm(wide))
		}
		c.put(8, cardSong+11+float64(i)*9, line, paper.Bold(f.Pt/c.scale), wide, paper.Left, paper.Black)
	}
}

// Speeds are a tempo as visitors read it, in tenths.
type Speeds struct {
	Turns, EveryS, Beats string // turns a minute, seconds for one, beats a minute
	Of                   string // what turns: the crank or, where it is not geared, the wheel
}

// Asked is a tempo that visitors are asked to turn at. The seconds of a turn are
// rounded up, which is slower.
func Asked(w wheel.Wheel, bpm float64) Speeds { return speedsAt(w, bpm, nearest) }

// Most is a tempo that visitors are not to pass, rounded to the safe side.
func Most(w wheel.Wheel, bpm float64) Speeds { return speedsAt(w, bpm, below) }

func speedsAt(w wheel.Wheel, bpm float64, round func(float64) float64) Speeds {
	at := w.CrankAt(bpm)
	turns, every, of := at.Turns, at.EveryS, "crank"
	if turns == 0 {
		turns, every, of = 60/at.TurnS, at.TurnS, "wheel"
	}
	tenth := func(v float64) string { return wheel.Number(round(v*10) / 10) }
	if turns < 1 { // a tenth would be coarse
		tenth = func(v float64) string { return wheel.Number(round(v*100) / 100) }
	}
	return Speeds{tenth(turns), say.Number(say.Up(every)), wheel.Number(round(bpm*10) / 10), of}
}

func nearest(v float64) float64 { return math.Floor(v + 0.5) }

// below rounds to the safe side.
func below(v float64) float64 { return math.Floor(v * (1 + wheel.TempoSlack)) }

func (c *card) tempo() {
	s := Asked(c.m.Wheel, c.o.TempoBPM)
	c.dial(29, cardTempo+22, 19)
	c.put(56, cardTempo+9, "Turn the "+s.Of, paper.Regular(15), 84, paper.Left, paper.Black)
	c.put(56, cardTempo+25, s.Turns, paper.Bold(44), 40, paper.Left, paper.Black)
	number := paper.Bold(44 * c.scale)
	c.put(56+number.Width(s.Turns)/c.scale+3, cardTempo+25, "times a minute", paper.Bold(17), 84-number.Width(s.Turns)/c.scale-3, paper.Left, paper.Black)
	c.put(56, cardTempo+35, "once every "+s.EveryS+" seconds", paper.Bold(17), 84, paper.Left, paper.Black)
	c.put(56, cardTempo+43, s.Beats+" beats a minute", paper.Regular(13), 84, paper.Left, paper.Black)
}

// mostBeats is how many beats the eye can count round the dial.
const mostBeats = 16

// dial is a crank seen from its end, with a dot on its rim for each beat of a
// turn where they are few and whole. The machine's file does not say which way it
// turns, so nothing here does.
func (c *card) dial(x, y, r float64) {
	const parts = 80
	round := func(i, of int) (float64, float64) {
		sin, cos := math.Sincos(2*math.Pi*float64(i)/float64(of) - math.Pi/2)
		return x + r*cos, y + r*sin
	}
	for i := range parts {
		x1, y1 := round(i, parts)
		x2, y2 := round(i+1, parts)
		c.stroke(x1, y1, x2, y2, paper.Pen{Width: c.mm(1.2), Grey: paper.Black})
	}
	if beats := c.m.Wheel.CrankAt(c.o.TempoBPM).Beats; beats >= 2 && beats <= mostBeats && beats == math.Trunc(beats) {
		dots := make([]paper.Point, int(beats))
		for i := range dots {
			bx, by := round(i, len(dots))
			dots[i] = paper.Point{X: c.mm(bx), Y: c.mm(by)}
		}
		c.Dots(dots, c.mm(4), paper.Black)
	}
	hx, hy := round(1, 8)
	c.stroke(x, y, hx, hy, paper.Pen{Width: c.mm(3), Grey: paper.Black})
	c.Dots([]paper.Point{{X: c.mm(x), Y: c.mm(y)}}, c.mm(6), paper.Black)
	c.Dots([]paper.Point{{X: c.mm(hx), Y: c.mm(hy)}}, c.mm(9.5), paper.Black)
}

func (c *card) stroke(x1, y1, x2, y2 float64, p paper.Pen) {
	c.Line(c.mm(x1), c.mm(y1), c.mm(x2), c.mm(y2), p)
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
		grey := paper.Black
		if i == 1 {
			grey = paper.Dark
		}
		c.stroke(from, row.y+5.5, to, row.y+5.5, paper.Pen{Width: c.mm(0.5), Grey: grey})
		marbles := make([]paper.Point, len(row.at))
		for j, at := range row.at {
			x := from + at*(to-from)/7
			marbles[j] = paper.Point{X: c.mm(x), Y: c.mm(row.y)}
			c.stroke(x, row.y+5.5, x, row.y+8, paper.Pen{Width: c.mm(0.8), Grey: grey})
		}
		c.Dots(marbles, c.mm(size), grey)
	}
	thick := paper.Pen{Width: c.mm(2), Grey: paper.Black}
	x, y := 124.0, rows[0].y+2
	c.stroke(x, y, x+4, y+4, thick)
	c.stroke(x+4, y+4, x+12, y-6, thick)
	y = rows[1].y + 2
	c.stroke(x+1, y-5, x+11, y+5, thick)
	c.stroke(x+1, y+5, x+11, y-5, thick)
}

// strip shows where the tempo lies between the machine's lowest and the fastest
// for visitors, which is black, and what is too fast, which is white.
func (c *card) strip() {
	const from, wide, tall, tip = 8.0, 132.0, 3.0, 2.4
	l := c.m.Limits
	if !(l.TempoMaxBPM > l.TempoMinBPM) {
		return
	}
	at := func(bpm float64) float64 {
		return from + wide*min(max((bpm-l.TempoMinBPM)/(l.TempoMaxBPM-l.TempoMinBPM), 0), 1)
	}
	y, thin := cardStrip+tip, paper.Pen{Width: c.mm(0.4), Grey: paper.Black}
	top, x := at(c.o.Window.TopBPM), at(c.o.TempoBPM)
	c.Box(c.mm(from), c.mm(y), c.mm(wide), c.mm(tall), thin)
	c.Fill(c.mm(from), c.mm(y), c.mm(top-from), c.mm(tall), paper.Black)
	c.stroke(x, y, x, y+tall, paper.Pen{Width: c.mm(1.4), Grey: paper.White})
	thick := paper.Pen{Width: c.mm(0.7), Grey: paper.Black}
	x = min(max(x, from+tip), from+wide-tip)
	c.stroke(x, y, x-1.5, y-tip, thick)
	c.stroke(x, y, x+1.5, y-tip, thick)
	const under = 3.8
	c.put(from, y+tall+under, "slow", paper.Regular(9), 30, paper.Left, paper.Black)
	word := paper.Regular(9)
	if room := from + wide - top; room > word.Width("too fast")+3 {
		c.put(from+wide-word.Width("too fast"), y+tall+under, "too fast", word, room, paper.Left, paper.Black)
	}
}

// fastest is the fastest for visitors. Printed black it still has to be seen, so it
// is a bar with its words in white.
func (c *card) fastest() {
	s := Most(c.m.Wheel, c.o.Window.TopBPM)
	c.Fill(c.mm(8), c.mm(cardLine), c.mm(132), c.mm(23), paper.Black)
	c.put(74, cardLine+9.5, "Never faster than "+s.Turns+" turns a minute", paper.Bold(19), 124, paper.Centred, paper.White)
	c.put(74, cardLine+18, fmt.Sprintf("one turn of the %s in %s seconds, %s beats a minute", s.Of, s.EveryS, s.Beats), paper.Regular(12), 124, paper.Centred, paper.White)
}

func (c *card) whatIsWrong() {
	c.put(8, cardWrong+4, "A marble jams, falls out, or something sounds wrong:", paper.Bold(13), 132, paper.Left, paper.Black)
	for i, line := range []string{
		"1. Stop turning. Let go of the crank.",
		"2. Keep hands out, and step back.",
		"3. Call those who look after the machine.",
	} {
		c.put(8, cardWrong+11+float64(i)*6.5, line, paper.Regular(12.5), 132, paper.Left, paper.Black)
	}
}

// Who to call stands in at most callLines lines of bold letters, as large as they
// can be and never under callLeastPt points on A5, which is 10 on A6.
const (
	callLines   = 3
	callMostPt  = 22.0
	callLeastPt = 10.0 * 148 / 105
	callWide    = 124.0 // mm of A5
	callHigh    = 18.0  // mm of A5
)

// MaxCall is how many characters who to call may have on a crank card.
const MaxCall = 110

// CheckCall says why a crank card has no room for who to call: too many
// characters, or letters so wide that they take too many lines at the least size
// that can be read beside a machine. Nothing of it is ever cut.
func CheckCall(call string) error {
	if n := utf8.RuneCountInString(call); n > MaxCall {
		return wheel.Refuse(wheel.ErrInvalid, "who to call has %d characters; the crank card has room for %d", n, MaxCall)
	}
	if n := len(callFont(callLeastPt).Wrap(call, callWide)); n > callLines {
		return wheel.Refuse(wheel.ErrInvalid, "who to call takes %d lines on the crank card, which has room for %d; write it shorter (it has %d characters)", n, callLines, utf8.RuneCountInString(call))
	}
	return nil
}

func callFont(pt float64) paper.Font { return paper.Bold(pt) }

func (c *card) call() {
	c.Box(c.mm(8), c.mm(cardCall), c.mm(132), c.mm(27), paper.Pen{Width: c.mm(0.8), Grey: paper.Black})
	c.put(12, cardCall+6, "Call", paper.Regular(10.5), 20, paper.Left, paper.Black)
	if c.o.Call == "" {
		c.stroke(12, cardCall+20, 136, cardCall+20, paper.Pen{Width: c.mm(0.3), Grey: paper.Mid})
		return
	}
	lines, apart, pt := setCall(c.o.Call)
	y := cardCall + 8 + (callHigh-apart*float64(len(lines)))/2 + 0.8*apart
	for i, line := range lines {
		c.Text(c.mm(12), c.mm(y+float64(i)*apart), line, callFont(pt*c.scale), paper.Black)
	}
}

// setCall breaks who to call into lines, so many mm apart, at the largest size at
// which they have room.
func setCall(call string) (lines []string, apart, pt float64) {
	for pt = callMostPt; ; pt = max(pt-0.25, callLeastPt) {
		lines, apart = callFont(pt).Wrap(call, callWide), 1.18*pt*paper.MMPerPoint
		if apart*float64(len(lines)) <= callHigh || pt == callLeastPt {
			return lines, apart, pt
		}
	}
}
