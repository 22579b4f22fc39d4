package place

import (
	"fmt"
	"math"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// Reading is what a proofreading came to.
type Reading struct {
	Read    int // steps
	Looked  int // steps read or where something was found
	Steps   int // of the wheel
	Pins    int // that should be there or were, on the steps looked at
	Right   int // pins that were as they should be
	Missing int
	Extra   int
}

// Reading compares what a proofreading found with what should be there. Of the
// pins that should be or were on the steps looked at, those are right that should
// be and were:
//
//	right = expected − missing, of expected + extra
func (w *Work) Reading() Reading {
	r := Reading{Read: len(w.Read), Steps: w.Steps}
	looked := map[int]bool{}
	for _, step := range w.Read {
		looked[step] = true
	}
	for _, c := range w.Found { // a step with a finding was looked at
		looked[c.Step] = true
	}
	r.Looked = len(looked)
	for _, pin := range w.Target.Pins {
		if looked[pin.Step] {
			r.Pins++
			r.Right++
		}
	}
	for _, c := range w.Found {
		if c.Now.Pin {
			r.Extra++
			r.Pins++
		} else {
			r.Missing++
			r.Right--
		}
	}
	return r
}

// Wrong is how many pins are to be put right.
func (r Reading) Wrong() int { return r.Missing + r.Extra }

// Share says how many pins were right the first time, never more than there were,
// and on how many of a wheel's steps.
func (r Reading) Share() string {
	if r.Pins == 0 {
		return "No pins were looked at."
	}
	percent := math.Floor(1000*float64(r.Right)/float64(r.Pins)) / 10
	where := fmt.Sprintf("On %d of %d steps", r.Looked, r.Steps)
	if r.Looked == r.Steps {
		where = "On the whole turn"
	}
	return fmt.Sprintf("%s, %d of %s right the first time, %s %%.", where, r.Right, say.Count(r.Pins, "pin was", "pins were"), say.Rounded(percent, 1))
}

// FoundWords says of each hole that is other than it should be what is wrong and
// where it is on the machine.
func (w *Work) FoundWords(m *wheel.Machine) []string {
	var lines []string
	for _, c := range w.Found {
		what := "Missing"
		if c.Now.Pin {
			what = "Extra"
		}
		where := c.Channel
		if i := m.Channel(c.Channel); i >= 0 {
			where = fmt.Sprintf("row %d, %s", m.Channels[i].Row, m.Channels[i].Name)
		}
		lines = append(lines, fmt.Sprintf("%s: step %d, %s, %s", what, c.Step, m.Wheel.PlaceText(c.Step), where))
	}
	return lines
}

// Expected lists, for each step of a proofreading, the channels of the machine
// that should have pins there, by row.
func (w *Work) Expected(m *wheel.Machine) [][]int {
	expected := make([][]int, w.Steps)
	rows := m.StepsByChannel(w.Target.Pins)
	for _, c := range m.ByRow() {
		for _, step := range rows[c] {
			if step < w.Steps {
				expected[step] = append(expected[step], c)
			}
		}
	}
	return expected
}
