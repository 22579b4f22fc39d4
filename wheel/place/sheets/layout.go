package sheets

import (
	"math"

	"pinwright/wheel"
	"pinwright/wheel/place/paper"
)

// wheelFace is what a template shows: the wheel's face, rolled out.
type wheelFace struct {
	paper.Heading
	machine  *wheel.Machine
	pinning  *wheel.Pinning
	radius   Radius
	radiusMM float64
	arcMM    float64 // from step to step on that radius
	pinMM    float64 // diameter of a pin, as drawn
	holeMM   float64 // diameter of a hole's dot; 0: none are drawn
	rows     [][]int
	order    []int // channels by row
	endMM    float64
	below    bool
}

// maxHoles is how many holes are drawn at most. Beyond it the lines of steps and
// rows say where they are.
const maxHoles = 1 << 18

func newFace(m *wheel.Machine, p *wheel.Pinning, radiusMM float64, o TemplateOptions) *wheelFace {
	w := m.Wheel
	f := &wheelFace{
		Heading: paper.Heading{Kind: "Template", Title: p.Title, On: m.Name, Date: o.Date},
		machine: m, pinning: p, radius: o.Radius, radiusMM: radiusMM,
		arcMM: 2 * math.Pi * radiusMM / float64(w.Steps),
		rows:  m.StepsByChannel(p.Pins), order: m.ByRow(), below: o.EdgeBelow,
	}
	room := w.RowPitchMM
	if room == 0 {
		room = 10
	}
	f.pinMM = w.PinDiameterMM
	if f.pinMM == 0 {
		f.pinMM = 3
	}
	f.pinMM = min(f.pinMM, 0.9*room)
	f.holeMM = min(1.2, 0.4*f.arcMM, 0.4*room)
	if f.holeMM < 0.1 || w.Steps*len(m.Channels) > maxHoles {
		f.holeMM = 0
	}
	f.endMM = f.rowMM(f.order[len(f.order)-1]) + max(room/2, f.pinMM/2+3)
	return f
}

// rowMM is how far a channel's row lies from the wheel's edge.
func (f *wheelFace) rowMM(channel int) float64 {
	mm, _ := f.machine.EdgeMM(f.machine.Channels[channel].Row)
	return mm
}

// span is steps, from the first to before the last.
type span struct{ from, to int }

// layout is a face cut into pages: columns of whole bars along the turn, bands
// of rows across it, each with an overlap onto the next.
type layout struct {
	*wheelFace
	columns   []span
	bands     []bandMM
	splitBars bool
	apart     bool                         // bands lie apart: rows without pins are left out between them
	window    struct{ x, y, w, h float64 } // of every page
	tiled     bool
}

// bandMM is a band of the face, in mm from the wheel's edge.
type bandMM struct{ from, to float64 }

// How pages of a template are divided, in mm.
const (
	overlapMM  = 12
	labelWide  = 26 // names of rows, left of the face
	rulerHigh  = 9  // bars and steps, above it
	footHeight = 11 // the bar to measure, below it
	clearMM    = 6  // from a cut to a row, where rows are that far apart
)

func (f *wheelFace) layOut(size paper.Size, o TemplateOptions) (*layout, error) {
	l := &layout{wheelFace: f, tiled: o.Paper != paper.Roll}
	l.window.x, l.window.y = paper.Margin+labelWide, paper.Margin+paper.HeadHeight+rulerHigh
	l.window.w = size.W - l.window.x - paper.Margin
	l.window.h = size.H - l.window.y - footHeight - paper.Margin
	name := string(o.Paper)
	if o.Paper == paper.Roll {
		name = "a roll of " + mmText(o.RollWidthMM)
	}
	if err := l.cutTurn(name); err != nil {
		return nil, err
	}
	err := l.cutRows(name)
	if o.PinnedOnly {
		// Where the whole face is too much for the paper, its strips with pins may not be.
		if bands := l.pinnedBands(); len(bands) > 0 && (err != nil || len(bands) < len(l.bands)) {
			l.bands, l.apart, err = bands, true, nil
		}
	}
	if err != nil {
		return nil, err
	}
	most := maxPages
	if !l.tiled {
		most = maxRollPages
	}
	if pages := len(l.columns) * len(l.bands); pages >= most {
		return nil, wheel.Refuse(wheel.ErrInvalid, "on %s the template would take more than %d pages; take larger paper or a wider roll", name, most)
	}
	return l, nil
}

// cutTurn cuts the turn into columns of as many whole bars as a page has room
// for, or bars into equal parts where a page has no room for one.
func (l *layout) cutTurn(on string) error {
	w, room := l.machine.Wheel, l.window.w-overlapMM
	if room < l.arcMM {
		return wheel.Refuse(wheel.ErrInvalid, "%s is too small: it leaves %s along the turn, and one step takes %s of arc; take larger paper or a roll", on, mmText(max(room, 0)), mmText(l.arcMM))
	}
	fits := int(min(room/l.arcMM*(1+1e-12), float64(w.Steps)))
	bar := w.StepsPerBar()
	if fits >= w.Steps {
		l.columns = []span{{0, w.Steps}}
		return nil
	}
	if fits >= bar {
		whole := fits / bar * bar
		for from := 0; from < w.Steps; from += whole {
			l.columns = append(l.columns, span{from, min(from+whole, w.Steps)})
		}
		return nil
	}
	l.splitBars = true
	parts := (bar + fits - 1) / fits
	part := (bar + parts - 1) / parts
	if beats := (part + w.StepsPerBeat - 1) / w.StepsPerBeat * w.StepsPerBeat; beats <= fits {
		part = beats
	}
	for start := 0; start < w.Steps; start += bar {
		end := min(start+bar, w.Steps)
		for from := start; from < end; from += part {
			l.columns = append(l.columns, span{from, min(from+part, end)})
		}
	}
	return nil
}

// cutRows cuts the face across into bands, never through a row.
func (l *layout) cutRows(on string) error {
	if l.endMM <= l.window.h {
		l.bands = []bandMM{{0, l.endMM}}
		return nil
	}
	room := l.window.h - overlapMM
	clear := l.clearOfCut()
	row := 0
	for from := 0.0; from < l.endMM; {
		to := from + room
		if from+l.window.h >= l.endMM {
			to = l.endMM
		}
		for row < len(l.order) && l.rowMM(l.order[row]) < to+clear {
			if at := l.rowMM(l.order[row]); at > to-clear && to < l.endMM {
				to = at - clear
				break
			}
			row++
		}
		if to <= from+clear {
			return wheel.Refuse(wheel.ErrInvalid, "%s is too small: it leaves %s across the turn, and one row with what joins it takes %s; take larger paper or a wider roll", on, mmText(max(room, 0)), mmText(2*clear))
		}
		if len(l.bands) == maxPages {
			return nil // which are too many
		}
		l.bands = append(l.bands, bandMM{from, to})
		from = to
	}
	return nil
}

// startMM and joinMM are the arcs at which a column begins, half a step before
// its first, and ends, where the next begins.
func (l *layout) startMM(s span) float64 { return (float64(s.from) - 0.5) * l.arcMM }
func (l *layout) joinMM(s span) float64  { return (float64(s.to) - 0.5) * l.arcMM }

// long is how much of the turn a column shows, the overlap included.
func (l *layout) long(s span) float64 { return l.joinMM(s) - l.startMM(s) + overlapMM }

// high is how much across the turn a band shows, the overlap included.
func (l *layout) high(band int) float64 {
	b := l.bands[band]
	if !l.joinedAfter(band) {
		return b.to - b.from
	}
	return b.to - b.from + overlapMM
}

// joinedAfter reports whether the next band is laid onto this one.
func (l *layout) joinedAfter(band int) bool { return !l.apart && band < len(l.bands)-1 }

// pinnedBands is the fewest bands that show every row with pins; nil if there is
// none or the paper has no room for one. A row is clear of a band's edges by as
// much as of the cuts of the whole face. The first band begins at the wheel's
// edge where its rows leave room for that.
func (l *layout) pinnedBands() []bandMM {
	clear := l.clearOfCut()
	var bands []bandMM
	for _, channel := range l.order {
		if len(l.rows[channel]) == 0 {
			continue
		}
		at := l.rowMM(channel)
		from, to := max(0, at-clear), min(at+clear, l.endMM)
		if n := len(bands); n > 0 && to-bands[n-1].from <= l.window.h {
			bands[n-1].to = to
			continue
		}
		if to-from > l.window.h {
			return nil
		}
		bands = append(bands, bandMM{from, to})
	}
	if len(bands) > 0 && bands[0].to <= l.window.h {
		bands[0].from = 0
	}
	return bands
}

// clearOfCut is how far a row lies from a cut across the wheel.
func (l *layout) clearOfCut() float64 {
	if pitch := l.machine.Wheel.RowPitchMM; pitch > 0 {
		return min(clearMM, pitch/2)
	}
	return clearMM
}
