package arrange

import (
	"fmt"
	"math"
	"slices"

	"pinwright/wheel"
	"pinwright/wheel/say"
	"pinwright/wheel/song"
)

// cell is a note on the wheel in one word, so that cells sort by step, voice
// and velocity: step, 16 bits; voice, 24; velocity, 7; top, 1.
type cell uint64

// top marks the highest pitched notes of a step.
const top cell = 1

func newCell(step int, v voice, velocity uint8) cell {
	return cell(step)<<32 | cell(v)<<8 | cell(velocity)<<1
}

func (c cell) step() int    { return int(c >> 32) }
func (c cell) voice() voice { return voice(c>>8) & (1<<24 - 1) }

// weight is what leaving the note out costs: 1 + velocity/127, and 1 more for
// the highest pitched of its onset.
func (c cell) weight() float64 { return 1 + float64(c>>1&127)/127 + float64(c&top) }

// grid is a section's notes on the wheel, by step, then voice.
type grid struct {
	cells  []cell
	voices []voice    // those that have notes, ascending
	errors []errorSum // by voice
}

// errorSum sums up how far notes lie from where the song has them.
type errorSum struct {
	notes   int
	worstMS float64 // the largest absolute one
	sumMS2  float64 // of squares
}

func (e *errorSum) add(ms float64) {
	e.notes++
	e.worstMS = max(e.worstMS, math.Abs(ms))
	e.sumMS2 += ms * ms
}

func (e *errorSum) join(f errorSum) {
	e.notes += f.notes
	e.worstMS = max(e.worstMS, f.worstMS)
	e.sumMS2 += f.sumMS2
}

func (e *errorSum) rmsMS() float64 {
	if e.notes == 0 {
		return 0
	}
	return math.Sqrt(e.sumMS2 / float64(e.notes))
}

// newGrid lays the notes of a section whose parts are played on the wheel, so
// many times one after the other; what is left of the turn stays empty. With a
// swing point above 0 the beats, counted in each bar, are straightened first.
func newGrid(w wheel.Wheel, s *song.Song, sec Section, notes []song.Note, vs *voices, times int, swing float64) *grid {
	q := float64(w.StepsPerBeat)
	bar := sec.FromBar - 1
	g := &grid{cells: make([]cell, 0, len(notes)*times), errors: make([]errorSum, vs.count())}
	for _, n := range notes {
		v, ok := vs.voiceOf(n)
		if !ok {
			continue
		}
		for bar+1 < len(s.Bars) && s.Bars[bar+1].Tick <= n.Tick {
			bar++
		}
		later := 0.0 // by so many steps where the beat is straightened
		if swing > 0 {
			beat := float64(n.Tick-s.Bars[bar].Tick) / s.TicksPerQuarter
			beat -= math.Floor(beat)
			later = (Straighten(beat, swing) - beat) * q
		}
		stepMS := float64(s.TempoAt(n.Tick).MicrosPerQuarter) / 1000 / q
		for i := range times {
			ticks := float64(n.Tick-sec.Tick) + float64(i)*sec.ticks
			x := ticks * q / s.TicksPerQuarter // rounded once, so a half is a half
			x += later
			aim := math.Floor(x + 0.5)
			g.cells = append(g.cells, newCell(w.Wrap(int(aim)), v, n.Velocity))
			g.errors[v].add((aim - x) * stepMS)
		}
	}
	slices.Sort(g.cells)
	g.markTops(vs)
	for v := range g.errors {
		if g.errors[v].notes > 0 {
			g.voices = append(g.voices, voice(v))
		}
	}
	return g
}

// markTops marks the highest pitched notes of every step. Notes of one voice
// are marked alike, so the cells stay in order.
func (g *grid) markTops(vs *voices) {
	for start := 0; start < len(g.cells); {
		end, highest := start, -1
		for ; end < len(g.cells) && g.cells[end].step() == g.cells[start].step(); end++ {
			highest = max(highest, vs.pitch(g.cells[end].voice()))
		}
		for i := start; i < end; i++ {
			if v := g.cells[i].voice(); !v.key().drum() && vs.pitch(v) == highest {
				g.cells[i] |= top
			}
		}
		start = end
	}
}

// repetitions is how many whole times a section goes into a turn. It refuses
// more notes than a pinning has pins, so that a short bar cannot take memory out
// of proportion.
func repetitions(w wheel.Wheel, sec Section, notes int) (int, error) {
	times := math.Floor(float64(w.Steps)/sec.Steps + 1e-9) // three thirds of a turn are whole
	if made := times * float64(notes); made > wheel.MaxPins {
		return 0, fmt.Errorf("%s with %s would be repeated %.0f times; that makes more notes than the %d pins a pinning may have, so take a longer section",
			sec, say.Count(notes, "note", "notes"), times, wheel.MaxPins)
	}
	return int(times), nil
}
