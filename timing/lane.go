package timing

import (
	"math"

	"pinwright/wheel"
)

// lane is the SI side of a wheel.Lane and the passages through it.
type lane struct {
	length, accel, keep float64
	pipe                bool    // a fall in a pipe, where it comes to a terminal speed
	terminal            float64 // m/s
	open                bool    // marbles pass each other: none meet
	unknown             bool    // its figures are not all given: it takes no time
	passages            []Passage
}

// newLane works a lane out for the machine's marbles.
func newLane(l *wheel.Lane, m *wheel.Marble) lane {
	length, known := l.LengthMM.Get()
	out := lane{length: length / 1000, accel: Gravity, keep: l.KeepOf(), open: l.Open()}
	switch {
	case l.Kind == wheel.Ramp:
		slope, ok := l.SlopeDeg.Get()
		known = known && ok
		out.accel = RampAcceleration(radians(slope), l.Rolling, ContactGapMM(l, m.DiameterMM), m.DiameterMM)
	case l.BoreMM > 0:
		known = known && m.DensityKgM3 > 0
		out.pipe = true
		out.terminal = TerminalSpeed(m.DiameterMM/1000, l.BoreMM/1000, m.DensityKgM3, PipeC)
	}
	out.unknown = !known
	return out
}

// ContactGapMM is the distance between the two points where a ball of diameter
// d touches a lane's rails, in mm: 0 on a flat bottom. On round rods of diameter
// r with a clear gap c between them it is
//
//	w = (c + r) d/(d + r)
func ContactGapMM(l *wheel.Lane, d float64) float64 {
	if l.RodMM > 0 {
		return (l.ClearGapMM + l.RodMM) * d / (d + l.RodMM)
	}
	return l.RailGapMM
}

// through is how long a marble that enters at speed u takes through the lane,
// and how fast it leaves. The error is ErrStall.
func (l *lane) through(u float64) (t, v float64, err error) {
	if l.pipe {
		if t, v = PipeFall(u, l.terminal, l.length); !(t < math.Inf(1)) {
			return 0, 0, ErrStall
		}
		return t, v, nil
	}
	return Traverse(u, l.accel, l.length)
}

// timeTo is the time to travel the first x metres of the lane, for a marble
// that enters at speed u and is known to get through.
func (l *lane) timeTo(x, u float64) float64 {
	if x <= 0 {
		return 0
	}
	if l.pipe {
		t, _ := PipeFall(u, l.terminal, x)
		return t
	}
	return 2 * x / (u + math.Sqrt(u*u+2*l.accel*x))
}

// along is how far a marble is in the lane, t seconds after it entered at
// speed u, in m.
func (l *lane) along(u, t float64) float64 {
	if l.pipe {
		return pipeAlong(u, l.terminal, t)
	}
	return u*t + l.accel*t*t/2
}
