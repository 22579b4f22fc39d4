package crank

import (
	"fmt"
	"time"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// Sensor is what a sensor at a crank has sent, and when. Its zero value has
// heard nothing. It is not for use by two goroutines at once.
type Sensor struct {
	watch   Watch
	ownTime bool      // the sensor sends times of its own
	turned  time.Time // when a count that had grown was last taken; zero: never
	heard   time.Time // when a count was last taken
	sent    time.Time // when anything came last, sense or nonsense
	problem string    // what was wrong with what came last
}

// State is what a crank is known to do.
type State string

const (
	Unknown State = "none"    // no sensor has sent anything that makes sense
	Turning State = "turning" // it is being turned
	Still   State = "still"   // the sensor says that it stands
	Silent  State = "silent"  // the sensor says nothing that makes sense any more
)

// When a crank is said to stand still and a sensor to be silent. A slow turn may
// take longer than either: a crank is waited for until it would be at a rest, see
// [RestRatio].
const (
	stillAfter  = 3 * time.Second
	silentAfter = 10 * time.Second
)

// Count takes a count of turns of a wheel's crank that came in at a time. atS is
// the sensor's own time of it in seconds, nil where it sends none. What makes no
// sense is refused with [wheel.ErrInvalid], see [Watch.Turned].
func (s *Sensor) Count(w wheel.Wheel, turn float64, atS *float64, now time.Time) error {
	at := float64(now.UnixNano()) / 1e9
	if atS != nil {
		at = *atS
	}
	if own := atS != nil; own != s.ownTime {
		s.ownTime, s.watch = own, Watch{}
	}
	turned, err := s.watch.Turned(w, turn, at)
	if err != nil {
		err = wheel.Refuse(wheel.ErrInvalid, "%s", say.Sentence(err))
		s.Nonsense(err, now)
		return err
	}
	s.sent, s.heard, s.problem = now, now, ""
	if turned {
		s.turned = now
	}
	return nil
}

// Nonsense notes that something came in that could not be read as a count, and
// what was wrong with it.
func (s *Sensor) Nonsense(problem error, now time.Time) {
	s.sent, s.problem = now, problem.Error()
}

// State is what the crank does at a time, with a sentence where there is
// something to say.
func (s *Sensor) State(now time.Time) (state State, says string) {
	m, measured := s.watch.Measured()
	rest := max(stillAfter, time.Duration(RestRatio*min(m.LastS, 1e6)*float64(time.Second)))
	since := func(t time.Time) string { return say.Span(now.Sub(t).Seconds()) }
	switch {
	case s.sent.IsZero():
		return Unknown, "No sensor has been heard."
	case s.heard.IsZero():
		return Unknown, "A sensor is heard; nothing that it sent makes sense."
	case !s.turned.IsZero() && now.Sub(s.turned) <= rest:
		if !measured {
			says = "The sensor is heard; the crank has not been turned long enough to tell its speed."
		}
		return Turning, says
	case now.Sub(s.heard) <= silentAfter && s.turned.IsZero():
		return Still, "The sensor is heard; the crank has not been turned yet."
	case now.Sub(s.heard) <= silentAfter:
		return Still, fmt.Sprintf("The crank has not turned for %s. The last measurement is still shown.", since(s.turned))
	case now.Sub(s.sent) <= silentAfter:
		return Silent, fmt.Sprintf("Nothing that the sensor has sent for %s makes sense. The last measurement is still shown.", since(s.heard))
	}
	return Silent, fmt.Sprintf("The sensor has been silent for %s. The last measurement is still shown.", since(s.sent))
}

// Report is what is known of the crank at a time, judged by a window where there
// is one.
func (s *Sensor) Report(w wheel.Wheel, window *wheel.TempoWindow, now time.Time) Report {
	state, says := s.State(now)
	r := Report{State: state, Says: says, Problem: s.problem}
	if m, ok := s.watch.Measured(); ok {
		r.measured(w, m, window, state == Turning && s.watch.Current())
	}
	return r
}
