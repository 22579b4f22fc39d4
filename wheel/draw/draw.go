package draw

import (
	"math"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// Options say what is drawn of a machine, how wide, and what is lit.
type Options struct {
	WidthPX float64 // 280 to 4,000; 0 for 1,200
	Channel string  // draw this channel alone, with all its figures
	NoWheel bool    // leave the wheel out, where a part of a channel is what matters
	Plain   bool    // the parts alone, without captions: a small picture of the machine
	Lit     []Part
}

// Widths in pixels. From besidePX, and in a plain picture always, the wheel
// stands beside the channels, else above them.
const (
	usualPX  = 1200
	leastPX  = 280
	mostPX   = 4000
	besidePX = 700
)

// Machine draws a machine, or one channel of it. A channel that the machine
// does not have draws the whole.
func Machine(m *wheel.Machine, o Options) Picture {
	switch {
	case o.WidthPX == 0:
		o.WidthPX = usualPX
	case !(o.WidthPX >= leastPX):
		o.WidthPX = leastPX
	}
	o.WidthPX = math.Round(min(o.WidthPX, mostPX))
	if m.Channel(o.Channel) < 0 {
		o.Channel = ""
	}
	d := &drawing{m: m, o: o, lit: map[Part]bool{}, alone: o.Channel != ""}
	for _, p := range o.Lit {
		d.lit[p] = true
	}
	d.stations = d.stationsOf()
	if !o.Plain {
		d.letter()
	}
	return d.fit()
}

// drawing is a picture in the making.
type drawing struct {
	m        *wheel.Machine
	o        Options
	alone    bool // one channel
	lit      map[Part]bool
	stations []station
	letters  map[string]string // of lanes that more than one station uses
	owner    map[string]int    // the station at which a lane is drawn
	scale    float64           // pixels a millimetre
}

// name of the machine, without what would turn the text after it.
func (d *drawing) name() string { return say.Steady(d.m.Name) }

// litClass marks what is lit: thicker by its class, and with a pointer.
func (d *drawing) litClass(class string, parts ...Part) string {
	for _, p := range parts {
		if d.lit[p] {
			return class + " lit"
		}
	}
	return class
}

func (d *drawing) anyLit(parts ...Part) bool { return d.litClass("", parts...) != "" }
