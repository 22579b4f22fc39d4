package timing

import (
	"fmt"
	"math"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// Warnings says, in sentences, what is odd about a machine that can be: figures
// that hardly fit each other, in the order of its file.
func (w *Works) Warnings() []string {
	var all []string
	warn := func(format string, args ...any) { all = append(all, fmt.Sprintf(format, args...)) }
	m := w.Machine
	if arc := m.Wheel.ArcMM(); m.Wheel.PinDiameterMM > arc {
		warn("A pin is %s mm thick and a step %s mm long: two pins on neighbouring steps would touch.", say.Number(m.Wheel.PinDiameterMM), say.Rounded(arc, 2))
	}
	for i := range m.Lanes {
		l := &m.Lanes[i]
		if angle, most, slips := slipsAt(l, m.Marble.DiameterMM); slips {
			warn("Lane %s is so steep, %s°, that marbles slip instead of rolling: with a friction of %s they roll up to %s°. Its times come out too long.",
				l.ID, say.Rounded(angle, 1), say.Number(l.FrictionOf()), say.Rounded(most, 1))
		}
	}
	warned := map[string]bool{} // ramps
	for i := range m.Channels {
		c := &m.Channels[i]
		reach, hold := c.Trip.ReachMM, c.Trip.HoldMM
		if reach.IsKnown() && hold.IsKnown() && reach.Or(0) > hold.Or(0) {
			warn("%s: the pin reaches full push after %s mm and lets go of the lever after %s mm: it leaves before full push.",
				c.Name, say.Number(reach.Or(0)), say.Number(hold.Or(0)))
		}
		for _, s := range []struct {
			what       string
			sd, value  wheel.Maybe
			fromOthers bool
		}{
			{"latch", c.Trip.JitterMS, c.Trip.LatchMS, false},
			{"reload", c.Gate.ReloadSDMS, c.Gate.ReloadMS, c.Gate.FromFeed()},
		} {
			sd, stated := s.sd.Get()
			value, given := s.value.Get()
			switch {
			case stated && !given && !s.fromOthers:
				warn("%s: the spread of its %s is given, %s ms, and the %s itself is not.", c.Name, s.what, say.Number(sd), s.what)
			case stated && given && sd > value:
				warn("%s: the spread of its %s, %s ms, is larger than the %s itself, %s ms.", c.Name, s.what, say.Number(sd), s.what, say.Number(value))
			}
		}
		for j := 1; j < len(c.Path); j++ {
			w.warnOfKeep(c.Path[j-1], c.Path[j], warned, warn)
		}
		for j := 1; j < len(c.Exit); j++ {
			w.warnOfKeep(c.Exit[j-1], c.Exit[j], warned, warn)
		}
	}
	for _, e := range m.Measured {
		f, err := m.Figure(e.Figure)
		if sd, ok := e.SD.Get(); ok && err == nil && sd > math.Abs(f.Value) {
			unit := unitAfter(f.Unit)
			warn("The measured spread of the %s, %s%s, is larger than the figure itself, %s%s.", f.Label, say.Number(sd), unit, say.Number(f.Value), unit)
		}
	}
	return all
}

// warnOfKeep warns of a ramp onto which marbles fall without losing speed.
func (w *Works) warnOfKeep(from, to string, warned map[string]bool, warn func(string, ...any)) {
	i, j := w.Machine.Lane(from), w.Machine.Lane(to)
	if i < 0 || j < 0 || warned[to] {
		return
	}
	if a, b := &w.Machine.Lanes[i], &w.Machine.Lanes[j]; a.Kind == wheel.Fall && b.Kind == wheel.Ramp && b.KeepOf() == 1 {
		warned[to] = true
		warn("Marbles fall from lane %s onto lane %s and are taken to keep all their speed: a fall onto a ramp costs some. Give its keep, such as 0.6.", from, to)
	}
}

// slipsAt reports whether a marble slips on a ramp instead of rolling, with the
// ramp's angle and the steepest at which it rolls, in degrees. A solid ball on
// rails that are w apart rolls up to
//
//	tan α · 0.4 ρ/(ρ² + 0.4) = friction,  ρ² = 1 − (w/d)²
func slipsAt(l *wheel.Lane, d float64) (angle, most float64, slips bool) {
	angle, known := l.SlopeDeg.Get()
	if l.Kind != wheel.Ramp || !known || angle <= 0 {
		return 0, 0, false
	}
	gap := ContactGapMM(l, d) / d
	rho := math.Sqrt(1 - gap*gap)
	needs := 0.4 * rho / (rho*rho + 0.4)
	if math.Tan(radians(angle))*needs <= l.FrictionOf() {
		return 0, 0, false
	}
	return angle, math.Atan(l.FrictionOf()/needs) * 180 / math.Pi, true
}
