package wheel

import "slices"

// ByRow lists the machine's channels, as indices, by row.
func (m *Machine) ByRow() []int {
	order := make([]int, len(m.Channels))
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int { return m.Channels[a].Row - m.Channels[b].Row })
	return order
}

// StepsByChannel is the steps of a pinning's pins by channel, in the order of
// the machine's channels, each list from the seam on. Pins on channels that the
// machine does not have are left out.
func (m *Machine) StepsByChannel(pins []Pin) [][]int {
	index := make(map[string]int, len(m.Channels))
	for i := range m.Channels {
		index[m.Channels[i].ID] = i
	}
	rows := make([][]int, len(m.Channels))
	for _, pin := range pins {
		if i, ok := index[pin.Channel]; ok {
			rows[i] = append(rows[i], pin.Step)
		}
	}
	for _, steps := range rows {
		slices.Sort(steps)
	}
	return rows
}

// EdgeMM is how far a row lies from the wheel's edge, in mm. It is not known
// where there are several rows and the machine's file does not say how far apart.
func (m *Machine) EdgeMM(row int) (mm float64, known bool) {
	w := m.Wheel
	return w.FirstRowMM + float64(row)*w.RowPitchMM, w.RowPitchMM > 0 || len(m.Channels) == 1 && row == 0
}

// BeatOf is where a step falls in its bar, in beats from 1: 2.5 is half a beat
// after the second.
func (w Wheel) BeatOf(step int) float64 {
	_, beat, past := w.Place(step)
	return float64(beat) + float64(past)/float64(w.StepsPerBeat)
}

// AngleDeg is the angle of a step from the seam, 360° s/N.
func (w Wheel) AngleDeg(step int) float64 {
	return 360 * float64(step) / float64(w.Steps)
}
