package crank

import (
	"fmt"
	"math"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// maxPassings is how many passings of a stretch are kept.
const maxPassings = 512

// maxMarks is how many marks of a stretch are kept: 64 turns of 64. (Of a disc
// whose many marks no divisor thins out, twice as many turns as ripple takes.)
const maxMarks = 4096

// RestRatio is how much slower than before a crank has to come for that to be
// taken for a rest, and how much faster for it to be doubted. A turn that is
// missed or counted twice halves or doubles the tempo, which leaves a seventh for
// the unevenness of the hand.
const RestRatio = 1.75

// Watch follows a crank by the counts of a sensor, turn by turn. What
// makes no sense is refused and changes nothing of what was measured. Its zero
// value has seen nothing yet. It is not for use by two goroutines at once.
type Watch struct {
	beats    float64   // to a turn of the crank
	perTurn  int       // marks of the sensor in a turn
	passings []Passing // leastBeats or more apart
	marks    []Mark    // of the same stretch, where there are enough in a turn
	between  int       // counts that came between two marks
	mark     Passing   // the latest of them, in turns
	last     Passing   // of what was believed last, in turns
	good     Measured
	measured bool
	owed     bool // wander and ripple of good are still to be found, from passings and marks

	from, doubted Passing // in turns: a span too fast to be believed by itself
	doubt         error   // what was said of it; nil where there is none
}

// Turned takes the number of turns, whole or not, that the crank of a wheel had
// made at a time in seconds of any clock that runs evenly, and reports whether it
// has turned. The same count again, at whatever time, says that it stands still.
//
// Spans of less than a beat are put together, since what a sensor cannot resolve
// would count in them as unevenness; with enough marks to see ripple, spans of less
// than half a turn of the crank, or eight beats of a slow one. A count or a time lower than the one before
// is taken for a sensor that was started again, and a span at less than the tempo
// before it over [RestRatio] for a rest: both begin a new stretch.
//
// A span faster than any wheel, or at more than RestRatio times the tempo before
// it, is refused at first: one count too many looks so. If the next span agrees
// with it, both are believed and begin a new stretch. If instead the next is at
// the tempo of before, the count had jumped, and a new stretch begins after the
// jump.
//
// The error is a sentence for whoever connected the sensor.
func (c *Watch) Turned(w wheel.Wheel, turn, atS float64) (turned bool, err error) {
	beats := w.CrankAt(60).Beats
	switch {
	case beats == 0:
		return false, fmt.Errorf("wheel.crank_turns is 0: the machine's file does not say how many turns of the crank make one of the wheel")
	case !(turn >= 0 && turn <= 1e9):
		return false, fmt.Errorf("turn is %s; it should be how many turns the crank has made, from 0 up", wheel.Number(turn))
	case !(math.Abs(atS) <= 1e12):
		return false, fmt.Errorf("at_s is %s; it should be a time in seconds", wheel.Number(atS))
	}
	now := Passing{turn, atS}
	if perTurn := MarksOf(w); beats != c.beats || perTurn != c.perTurn {
		*c = Watch{beats: beats, perTurn: perTurn}
	}
	switch {
	case len(c.passings) == 0 || turn < c.last.Beats || atS < c.last.AtS:
		c.begin(now)
		return false, nil
	case turn == c.last.Beats:
		c.doubt = nil
		return false, nil
	}
	if c.doubt != nil && turn >= c.doubted.Beats && atS >= c.doubted.AtS {
		if turn == c.doubted.Beats && !(c.measured && c.tempo(c.mark, now) <= c.good.LastBPM) {
			return false, c.doubt // the same count again is no news
		}
		if c.settle(now) {
			return true, nil
		}
	}
	if (turn-c.mark.Beats)*beats < c.leastBeats() {
		c.last, c.doubt = now, nil
		c.see(now)
		return true, nil
	}
	bpm := c.tempo(c.mark, now)
	if why := c.tooFast(now, bpm); why != nil {
		switch {
		case c.doubt == nil || turn < c.doubted.Beats || atS < c.doubted.AtS:
			c.from, c.doubted, c.doubt = c.mark, now, why
		case (turn-c.doubted.Beats)*beats >= c.leastBeats():
			c.from, c.doubted, c.doubt = c.doubted, now, why
		}
		return false, why
	}
	if bpm < 1 || c.Current() && bpm < c.good.LastBPM/RestRatio {
		c.begin(now)
		return true, nil
	}
	c.pass(now)
	return true, nil
}

// settle begins a new stretch if what comes after a doubted span speaks for it,
// or for a count that had jumped.
func (c *Watch) settle(now Passing) bool {
	if (now.Beats-c.doubted.Beats)*c.beats < c.leastBeats() {
		return false
	}
	bpm, first := c.tempo(c.doubted, now), c.tempo(c.from, c.doubted)
	fromFirst, fromGood := apartBy(bpm, first), math.Inf(1)
	if c.measured {
		fromGood = apartBy(bpm, c.good.LastBPM)
	}
	switch {
	case !(bpm <= wheel.MaxTempoBPM):
		return false
	case first <= wheel.MaxTempoBPM && fromFirst <= RestRatio && fromFirst <= fromGood:
		from, doubted := c.from, c.doubted
		c.begin(from)
		c.pass(doubted)
		c.pass(now)
		return true
	case fromGood <= RestRatio || !c.measured:
		c.begin(now) // when exactly the count jumped is not known
		return true
	}
	return false
}

// apartBy is how many times the one tempo is the other, 1 or more.
func apartBy(a, b float64) float64 { return max(a/b, b/a) }

// tempo of a span between passings in turns.
func (c *Watch) tempo(from, to Passing) float64 { return c.beats * tempoBetween(from, to) }

func (c *Watch) tooFast(now Passing, bpm float64) error {
	var why string
	switch {
	case !(bpm <= wheel.MaxTempoBPM):
		why = fmt.Sprintf(", and no wheel turns faster than %d", wheel.MaxTempoBPM)
	case c.measured && bpm > RestRatio*c.good.LastBPM:
		why = fmt.Sprintf(" where it was %s before; it will be believed if what comes next agrees", say.TempoDown(c.good.LastBPM))
	default:
		return nil
	}
	return fmt.Errorf("turn %s comes %s s after turn %s: that would be %s beats a minute%s",
		wheel.Number(now.Beats), wheel.Number(math.Round((now.AtS-c.mark.AtS)*1e3)/1e3), wheel.Number(c.mark.Beats), say.TempoDown(min(bpm, 1e9)), why)
}

// leastBeats is how many beats lie between two passings at least.
func (c *Watch) leastBeats() float64 {
	if c.perTurn < MinRippleMarks {
		return 1
	}
	return max(1, min(c.beats/2, joinedBeats)) - 1e-6
}

// lastBeats is over how many beats the present tempo is taken: where ripple can be
// seen a whole turn of the crank, unless that is very long, so that it does not
// show as a tempo that comes and goes.
func (c *Watch) lastBeats() float64 {
	if c.perTurn < MinRippleMarks || c.beats > 2*joinedBeats {
		return lastBeats
	}
	return max(lastBeats, c.beats) - 1e-6
}

func (c *Watch) begin(now Passing) {
	c.find()
	c.last, c.mark, c.doubt = now, now, nil
	c.passings = append(c.passings[:0], Passing{now.Beats * c.beats, now.AtS})
	c.marks, c.between = c.marks[:0], 0
	c.see(now)
}

func (c *Watch) pass(now Passing) {
	c.last, c.mark, c.doubt = now, now, nil
	c.passings = append(lastOf(c.passings, maxPassings-1), Passing{now.Beats * c.beats, now.AtS})
	c.see(now)
	c.good, c.measured, c.owed = tempoOf(c.passings, c.lastBeats()), true, true
}

// see notes a mark, where there are enough in a turn.
func (c *Watch) see(now Passing) {
	if c.perTurn < MinRippleMarks {
		return
	}
	n := math.Round(now.Beats * float64(c.perTurn))
	if math.Abs(now.Beats*float64(c.perTurn)-n) > 0.1 {
		c.between++
		return
	}
	if seen := len(c.marks); seen > 0 && (int(n) <= c.marks[seen-1].N || now.AtS <= c.marks[seen-1].AtS) {
		return
	}
	used := usedMarks(c.perTurn)
	if int(n)%(c.perTurn/used) != 0 {
		return
	}
	c.marks = append(lastOf(c.marks, max(maxMarks, 2*MinRippleTurns*used)-1), Mark{int(n), now.AtS})
}

// lastOf keeps the last so many values of a list, in its memory.
func lastOf[T any](all []T, most int) []T {
	if len(all) <= most {
		return all
	}
	return all[:copy(all, all[len(all)-most:])]
}

// find finds wander and ripple, if they are owed.
func (c *Watch) find() {
	if !c.owed {
		return
	}
	c.owed = false
	passings := c.passings
	if len(c.marks) > 4*c.between { // at the same place of each turn
		marks, used := thinned(c.marks, c.perTurn)
		marks, _ = mended(marks)
		passings = make([]Passing, len(marks))
		for i, m := range marks {
			passings[i] = Passing{float64(m.N) * c.beats / float64(used), m.AtS}
		}
	}
	c.good.findWander(passings, c.beats)
	c.good.findRipple(c.marks, c.perTurn, c.between)
}

// Measured is the latest measurement; ok is false where there is none yet.
func (c *Watch) Measured() (m Measured, ok bool) {
	c.find()
	return c.good, c.measured
}

// Current reports whether Measured is of the stretch that is being turned. After a
// rest it is not until the next span.
func (c *Watch) Current() bool { return len(c.passings) > 1 }
