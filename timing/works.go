package timing

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"sync"

	"pinwright/wheel"
	"pinwright/wheel/file"
)

// maxLaneS is the longest a marble may take through one lane. Slower than
// that, a figure of the lane is a mistake; and it bounds every computation.
const maxLaneS = 120

// Works is a machine worked out: all its times in seconds and steps.
type Works struct {
	Machine  *wheel.Machine
	Channels []Channel
	lanes    []lane
	rules    ruleset

	scattered *scattered
	turns     *sync.Pool // of turns that are not in use
}

// Channel is the mechanics of one channel. Times are in seconds from the full
// push of the lever, but for Reach and Hold, which are arcs in steps.
type Channel struct {
	Reach       float64   // steps from touching the lever to full push
	Hold        float64   // steps over which a pin holds the lever
	Return      float64   // the lever's time to fall back
	Reload      float64   // the gate's time to take in the next marble
	Release     float64   // full push to the marble let go
	Strike      float64   // full push to strike
	StrikeSpeed float64   // m/s
	Clear       float64   // strike to plate clear again
	Home        float64   // full push to hopper
	Passages    []Passage // the lanes of its route, in order
	Resting     bool
	Holds       bool    // its pins start and end a hold: it drops no marble
	AllKnown    bool    // all figures are given that its times depend on
	Known       figures // which of its figures are given
	StrikeKnown bool    // all is known that the time and place of its strike depend on
	stalls      bool    // a marble would stall, as far as is known: more may be found once more is
}

// figures is a set of a channel's figures.
type figures uint8

const (
	reachFigure figures = 1 << iota
	holdFigure
	returnFigure
	latchFigure
	reloadFigure
	clearFigure
	exitFigure
)

func (f figures) has(all figures) bool { return f&all == all }

// Passage is a channel's marble in one lane.
type Passage struct {
	Lane    int
	Channel int
	Enter   float64 // seconds from full push to the lane's mouth
	Time    float64 // seconds through it
	SpeedIn float64 // m/s at the mouth
	Exit    bool    // after the strike
	Known   bool    // all is known that these depend on
}

// Compile works a machine out. Figures that the file leaves out count as 0, and
// lanes whose figures it leaves out take no time: the works are then at their
// best, and nothing that follows from them is more than that.
// Its error is [wheel.Problems]: everything
// wrong with the machine, marbles that stall among it.
func Compile(m *wheel.Machine) (*Works, error) { return compile(m, rules) }

// compile is Compile with the rules that pinnings are held to.
func compile(m *wheel.Machine, rules []rule) (*Works, error) {
	if err := m.Check().Err(); err != nil {
		return nil, err
	}
	w := &Works{Machine: m, Channels: make([]Channel, len(m.Channels)), lanes: make([]lane, len(m.Lanes)), scattered: new(scattered), turns: new(sync.Pool)}
	var problems wheel.Problems
	for i := range m.Lanes {
		w.lanes[i] = newLane(&m.Lanes[i], &m.Marble)
	}
	for i := range m.Channels {
		w.compileChannel(i, &problems)
	}
	if len(problems) == 0 {
		w.checkWork(&problems)
	}
	if err := problems.Err(); err != nil {
		return nil, err
	}
	w.setRules(rules)
	return w, nil
}

// maxWork is how many differences in steps a machine's lanes may ask to be
// looked at, over all pairs of passages: a second's work or two. Hailstone
// asks for some thousands.
const maxWork = 50e6

// mostPinSteps is how many steps a pin may stand off its place: more, and the
// steps are far too short to be pinned.
const mostPinSteps = 64

// checkWork refuses a machine whose lanes would take no end of working out: where
// marbles stay long, or where figures vary so much that marbles far from each
// other may meet.
func (w *Works) checkWork(problems *wheel.Problems) {
	m := w.Machine
	if off := m.Wheel.PinSD() / m.Wheel.ArcMM(); off > mostPinSteps {
		problems.Add("wheel.pin_sd_mm", "is %s, and a step is %s mm long: pins would stand %.0f steps off their places; look at radius_mm and steps",
			wheel.Number(m.Wheel.PinSD()), wheel.Number(m.Wheel.ArcMM()), off)
		return
	}
	shortest := m.Wheel.StepPeriod(m.Limits.TempoMaxBPM)
	work := 0.0
	loose := w.looseness()
	for n, l := range w.lanes {
		if l.open {
			continue
		}
		for i, a := range l.passages {
			for _, b := range l.passages[i:] {
				work += (a.Time + b.Time + loose[a.Channel] + loose[b.Channel]) / shortest
			}
			if work > maxWork {
				problems.Add(fmt.Sprintf("lanes[%d]", n), "is shared by %d channels whose marbles are in it for up to %.0f s and come up to %.0f s early or late; that is more than can be worked out, look at its length and slope and at the spread of latches and clears",
					len(l.passages), slices.MaxFunc(l.passages, func(a, b Passage) int { return cmp.Compare(a.Time, b.Time) }).Time, slices.Max(loose))
				return
			}
		}
	}
}

// looseness is, by channel, how much early or late its marbles may be by the
// spread and doubt of its latch and of its plate: nine standard deviations, in
// seconds.
func (w *Works) looseness() []float64 {
	doubts := w.Machine.Doubts()
	loose := make([]float64, len(w.Channels))
	for i := range loose {
		latch, clear := doubts.Channel(i, "trip.latch_ms"), doubts.Channel(i, "strike.clear_ms")
		loose[i] = 9 * (latch.SD + latch.U + clear.SD + clear.U) / 1000
	}
	return loose
}

// ReadMachine reads a machine file and works it out.
func ReadMachine(data []byte) (*Works, error) {
	m, err := file.ReadMachine(data)
	if err != nil {
		return nil, err
	}
	return Compile(m)
}

func (w *Works) compileChannel(i int, problems *wheel.Problems) {
	file := &w.Machine.Channels[i]
	arc := w.Machine.Wheel.ArcMM()
	c := &w.Channels[i]
	*c = Channel{
		Reach:   file.Trip.ReachMM.Or(0) / arc,
		Hold:    file.Trip.HoldMM.Or(0) / arc,
		Return:  file.Trip.ReturnMS.Or(0) / 1000,
		Release: file.Trip.LatchMS.Or(0) / 1000,
		Reload:  file.Gate.ReloadMS.Or(0) / 1000,
		Clear:   file.Strike.ClearMS.Or(0) / 1000,
		Resting: file.Service == wheel.Resting,
		Holds:   file.Holds(),
		Known:   knownOf(file),
	}
	const lever = reachFigure | holdFigure | returnFigure | latchFigure
	if c.Holds { // only its lever moves
		c.AllKnown = c.Known.has(lever)
		c.Reload, c.Clear, c.Known = 0, 0, c.Known|reloadFigure|clearFigure|exitFigure
		return
	}
	if file.Gate.FromFeed() {
		slope := file.Gate.FeedSlopeDeg.Or(0)
		t, err := FeedTime(w.Machine.Marble.DiameterMM/1000, radians(slope), file.Gate.Rolling)
		if err != nil {
			problems.Add(fmt.Sprintf("channels[%d].gate.feed_slope_deg", i),
				"is %s with rolling %s; the next marble of %s would not roll, the feed has to be steeper",
				wheel.Number(slope), wheel.Number(file.Gate.Rolling), file.Name)
		}
		c.Reload = t
	}
	marble := marble{channel: i, at: c.Release, speed: file.Gate.ReleaseMMS / 1000, known: c.Known.has(reachFigure | latchFigure)}
	if !w.follow(&marble, "path", file.Path, problems) {
		return
	}
	c.Strike, c.StrikeSpeed, c.StrikeKnown = marble.at, marble.speed, marble.known
	if file.Strike.FromBounce() {
		c.Clear = BounceTime(file.Strike.Restitution.Or(0), marble.speed)
		if !marble.known {
			c.Known &^= clearFigure
		}
	}
	marble.at, marble.speed, marble.known = c.Strike+c.Clear, file.ExitMMS.Or(0)/1000, marble.known && c.Known.has(clearFigure)
	if len(file.Exit) > 0 {
		marble.known = marble.known && c.Known.has(exitFigure)
	}
	w.follow(&marble, "exit", file.Exit, problems)
	c.Home, c.AllKnown = marble.at, marble.known && c.Known.has(lever|reloadFigure)
}

// knownOf is which figures of a channel are given.
func knownOf(c *wheel.Channel) (known figures) {
	for _, f := range []struct {
		figure figures
		known  bool
	}{
		{reachFigure, c.Trip.ReachMM.IsKnown()}, {holdFigure, c.Trip.HoldMM.IsKnown()},
		{returnFigure, c.Trip.ReturnMS.IsKnown()}, {latchFigure, c.Trip.LatchMS.IsKnown()},
		{reloadFigure, c.Gate.ReloadMS.IsKnown() || c.Gate.FeedSlopeDeg.IsKnown()},
		{clearFigure, c.Strike.ClearMS.IsKnown() || c.Strike.Restitution.IsKnown()},
		{exitFigure, c.ExitMMS.IsKnown()},
	} {
		if f.known {
			known |= f.figure
		}
	}
	return known
}

// marble is a channel's marble as it goes from lane to lane: its time since full
// push, its speed, and whether all is known that these depend on.
type marble struct {
	channel   int
	at, speed float64
	known     bool
}

// follow sends a marble down a list of lanes and notes its passages. A lane with
// unknown figures takes no time. It is false where the marble stalls: a problem,
// unless something is not known yet.
func (w *Works) follow(m *marble, key string, ids []string, problems *wheel.Problems) bool {
	c := &w.Channels[m.channel]
	for j, id := range ids {
		n := w.Machine.Lane(id)
		l := &w.lanes[n]
		if l.unknown {
			m.known = false
			m.speed *= l.keep
			continue
		}
		u := m.speed * l.keep
		t, v, err := l.through(u)
		switch place := fmt.Sprintf("channels[%d].%s[%d]", m.channel, key, j); {
		case errors.Is(err, ErrStall) && !m.known:
			c.stalls = true
			return false
		case errors.Is(err, ErrStall):
			problems.Add(place, "sends the marble of %s into lane %q at %.0f mm/s, where it stalls; the lane has to be steeper or shorter, or the marble faster",
				w.Machine.Channels[m.channel].Name, id, u*1000)
			return false
		case t > maxLaneS:
			problems.Add(place, "keeps the marble of %s in lane %q for %.0f s; more than %d s is taken for a mistake in the lane's figures",
				w.Machine.Channels[m.channel].Name, id, t, maxLaneS)
			return false
		}
		pass := Passage{Lane: n, Channel: m.channel, Enter: m.at, Time: t, SpeedIn: u, Exit: key == "exit", Known: m.known}
		c.Passages = append(c.Passages, pass)
		l.passages = append(l.passages, pass)
		m.at, m.speed = m.at+t, v
	}
	return true
}

// index finds a channel by its id.
func (w *Works) index() map[string]int {
	index := make(map[string]int, len(w.Machine.Channels))
	for i := range w.Machine.Channels {
		index[w.Machine.Channels[i].ID] = i
	}
	return index
}

// Spacing is the least distance of two marbles' centres along a lane, in m.
func (w *Works) Spacing() float64 {
	return (w.Machine.Marble.DiameterMM + w.Machine.Marble.ClearanceMM) / 1000
}

// Lag is from a pin's step to its strike: the strike of a pin at step s is at
// p (s + steps) + seconds, p the step period.
func (w *Works) Lag(channel int) (steps, seconds float64) {
	c := &w.Channels[channel]
	return c.Reach, c.Strike
}

func radians(deg float64) float64 { return deg * math.Pi / 180 }

// Accel is a lane's acceleration along it, in m/s²; in a pipe, that at rest.
func (w *Works) Accel(lane int) float64 { return w.lanes[lane].accel }
