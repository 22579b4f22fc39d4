package timing

import (
	"fmt"
	"math"

	"pinwright/wheel"
)

// How long a stretch of turning is watched.
const maxPassings = 512

// CrankWatch follows a crank by what a sensor tells of it, turn by turn. What
// makes no sense is refused and changes nothing. Its zero value has seen nothing
// yet. It is not for use by two goroutines at once.
type CrankWatch struct {
	beats    float64 // to a turn of the crank
	passings []Passing
	last     Passing // of what was told last, in turns
	good     Measured
	measured bool
}

// Turned notes that the crank of a wheel had made so many turns, whole or not, at
// a time in seconds of any clock that runs evenly. A count or a time lower than
// the one before is taken for a sensor that was started again, and a span at
// less than half the tempo before it for a rest: both begin a new stretch. The
// error is a sentence for whoever joined the sensor.
func (c *CrankWatch) Turned(w wheel.Wheel, turn, atS float64) error {
	beats := CrankAt(w, 60).Beats
	switch {
	case beats == 0:
		return fmt.Errorf("wheel.crank_turns is 0: the machine's file does not say how many turns of the crank make one of the wheel")
	case !(turn >= 0 && turn <= 1e9):
		return fmt.Errorf("turn is %s; it should be how many turns the crank has made, from 0 up", wheel.Number(turn))
	case !(math.Abs(atS) <= 1e12):
		return fmt.Errorf("at_s is %s; it should be a time in seconds", wheel.Number(atS))
	}
	now := Passing{turn, atS}
	if beats != c.beats {
		*c = CrankWatch{beats: beats}
	}
	if len(c.passings) == 0 || turn < c.last.Beats || atS < c.last.AtS {
		c.begin(now)
		return nil
	}
	turns, seconds := turn-c.last.Beats, atS-c.last.AtS
	if turns == 0 {
		return nil // it stands still
	}
	bpm := 60 * turns * beats / seconds
	switch {
	case !(bpm <= wheel.MaxTempoBPM):
		return fmt.Errorf("turn %s comes %s s after turn %s: that would be %s beats a minute, and no wheel turns faster than %d",
			wheel.Number(turn), wheel.Number(seconds), wheel.Number(c.last.Beats), tempoDown(min(bpm, 1e9)), wheel.MaxTempoBPM)
	case bpm < 1 || c.measured && len(c.passings) > 1 && bpm < c.good.BPM/2:
		c.begin(now)
		return nil
	}
	c.last = now
	if len(c.passings) == maxPassings {
		copy(c.passings, c.passings[1:])
		c.passings = c.passings[:maxPassings-1]
	}
	c.passings = append(c.passings, Passing{turn * beats, atS})
	m, err := MeasureCrank(c.passings)
	if err != nil {
		return err
	}
	c.good, c.measured = m, true
	return nil
}

func (c *CrankWatch) begin(now Passing) {
	c.last = now
	c.passings = append(c.passings[:0], Passing{now.Beats * c.beats, now.AtS})
}

// Measured is the latest that could be told; ok is false where nothing could
// yet.
func (c *CrankWatch) Measured() (m Measured, ok bool) { return c.good, c.measured }
