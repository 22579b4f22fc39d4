package arrange

import (
	"fmt"
	"math"
	"slices"

	"pinwright/wheel"
	"pinwright/wheel/song"
)

// cell is a note's aim and key in one word, so that cells sort by step. A step
// is below [wheel.MaxSteps], 2¹⁶.
type cell uint32

func newCell(step int, k key) cell { return cell(step)<<8 | cell(k) }

func (c cell) step() int { return int(c >> 8) }
func (c cell) key() key  { return key(c) }

// grid is a section's notes on the wheel, by step, then key.
type grid struct {
	cells  []cell
	errors [allKeys]errorSum
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

// newGrid lays notes of a section on the wheel, so many times one after the
// other; what is left of the turn stays empty.
func newGrid(w wheel.Wheel, s *song.Song, sec Section, notes []song.Note, times int) *grid {
	q := float64(w.StepsPerBeat)
	g := &grid{cells: make([]cell, 0, len(notes)*times)}
	for _, n := range notes {
		k := key(n.Key)
		if n.Drum() {
			k += keys
		}
		stepMS := float64(s.TempoAt(n.Tick).MicrosPerQuarter) / 1000 / q
		for i := range times {
			ticks := float64(n.Tick-sec.Tick) + float64(i)*sec.ticks
			x := ticks * q / s.TicksPerQuarter // rounded once, so a half is a half
			aim := math.Floor(x + 0.5)
			g.cells = append(g.cells, newCell(w.Wrap(int(aim)), k))
			g.errors[k].add((aim - x) * stepMS)
		}
	}
	slices.Sort(g.cells)
	return g
}

// repetitions is how many whole times a section goes into a turn. It refuses
// more notes than a pinning has pins, so that a short bar cannot take memory out
// of proportion.
func repetitions(w wheel.Wheel, sec Section, notes int) (int, error) {
	times := math.Floor(float64(w.Steps)/sec.Steps + 1e-9) // three thirds of a turn are whole
	if made := times * float64(notes); made > wheel.MaxPins {
		return 0, fmt.Errorf("%s with %s would be repeated %.0f times; that makes more notes than the %d pins a pinning may have, so take a longer section",
			sec, count(notes, "note"), times, wheel.MaxPins)
	}
	return int(times), nil
}
