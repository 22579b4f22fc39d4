package place

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"pinwright/wheel"
)

// fit is nil where the pinning can stand on the machine's wheel. Its error
// lists what does not fit, a line each, after the words in which.
func fit(m *wheel.Machine, p *wheel.Pinning, which string) error {
	if err := m.Check().Err(); err != nil {
		return err
	}
	problems := p.Check()
	if len(problems) == 0 {
		problems = p.CheckOn(m)
	}
	for i := range problems {
		problems[i].Place = strings.TrimSpace(which + " " + problems[i].Place)
	}
	return problems.Err()
}

// rows is a pinning's steps by channel, in the order of the machine's file,
// each row from the seam on.
type rows [][]int

func rowsOf(m *wheel.Machine, p *wheel.Pinning) rows {
	index := make(map[string]int, len(m.Channels))
	for i := range m.Channels {
		index[m.Channels[i].ID] = i
	}
	r := make(rows, len(m.Channels))
	for _, pin := range p.Pins {
		i := index[pin.Channel]
		r[i] = append(r[i], pin.Step)
	}
	for _, steps := range r {
		slices.Sort(steps)
	}
	return r
}

// inWheelOrder lists the machine's channels by row.
func inWheelOrder(m *wheel.Machine) []int {
	order := make([]int, len(m.Channels))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return m.Channels[a].Row - m.Channels[b].Row })
	return order
}

// beatOf is where a step falls in its bar, in beats from 1: 2.5 half a beat
// after the second.
func beatOf(w wheel.Wheel, step int) float64 {
	_, beat, past := w.Place(step)
	return float64(beat) + float64(past)/float64(w.StepsPerBeat)
}

// angleDeg is the angle of a step from the seam, 360° s/N.
func angleDeg(w wheel.Wheel, step int) float64 {
	return 360 * float64(step) / float64(w.Steps)
}

// edgeMM is how far a row lies from the wheel's edge. It is not known where
// there are several rows and the machine's file says not how far apart.
func edgeMM(m *wheel.Machine, row int) (mm float64, known bool) {
	w := m.Wheel
	return w.FirstRowMM + float64(row)*w.RowPitchMM, w.RowPitchMM > 0 || len(m.Channels) == 1 && row == 0
}

// round brings a figure to so many decimals.
func round(v float64, decimals int) float64 {
	unit := math.Pow10(decimals)
	return math.Round(v*unit) / unit
}

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprint(n, " ", many)
}
