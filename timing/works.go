package timing

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

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
}

// Passage is a channel's marble in one lane.
type Passage struct {
	Lane    int
	Channel int
	Enter   float64 // seconds from full push to the lane's mouth
	Time    float64 // seconds through it
	SpeedIn float64 // m/s at the mouth
	Exit    bool    // after the strike
}

// lane is the SI side of a wheel.Lane and the passages through it.
type lane struct {
	length, accel, keep float64
	unknown             bool // its figures are not all given: it takes no time
	passages            []Passage
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
	w := &Works{Machine: m, Channels: make([]Channel, len(m.Channels)), lanes: make([]lane, len(m.Lanes)), scattered: new(scattered)}
	var problems wheel.Problems
	for i, l := range m.Lanes {
		length, known := l.LengthMM.Get()
		a := Gravity
		if l.Kind == wheel.Ramp {
			slope, ok := l.SlopeDeg.Get()
			known = known && ok
			a = RampAcceleration(radians(slope), l.Rolling, l.RailGapMM, m.Marble.DiameterMM)
		}
		w.lanes[i] = lane{length: length / 1000, accel: a, keep: l.KeepOf(), unknown: !known}
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

// checkWork refuses a machine whose lanes would take no end of working out.
func (w *Works) checkWork(problems *wheel.Problems) {
	shortest := w.Machine.Wheel.StepPeriod(w.Machine.Limits.TempoMaxBPM)
	work := 0.0
	for n, l := range w.lanes {
		for i, a := range l.passages {
			for _, b := range l.passages[i:] {
				work += (a.Time + b.Time) / shortest
			}
			if work > maxWork {
				problems.Add(fmt.Sprintf("lanes[%d]", n), "is shared by %d channels whose marbles are in it for up to %.0f s; that is more than can be worked out, look at its length and slope",
					len(l.passages), slices.MaxFunc(l.passages, func(a, b Passage) int { return cmp.Compare(a.Time, b.Time) }).Time)
				return
			}
		}
	}
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
	at, speed, ok := w.follow(i, "path", file.Path, c.Release, file.Gate.ReleaseMMS/1000, problems)
	if !ok {
		return
	}
	c.Strike, c.StrikeSpeed = at, speed
	if file.Strike.FromBounce() {
		c.Clear = BounceTime(file.Strike.Restitution.Or(0), speed)
	}
	c.Home, _, _ = w.follow(i, "exit", file.Exit, c.Strike+c.Clear, file.ExitMMS.Or(0)/1000, problems)
}

// follow sends a marble down a list of lanes and notes its passages.
func (w *Works) follow(channel int, key string, ids []string, at, speed float64, problems *wheel.Problems) (float64, float64, bool) {
	c := &w.Channels[channel]
	for j, id := range ids {
		n := w.Machine.Lane(id)
		l := &w.lanes[n]
		if l.unknown {
			continue
		}
		u := speed * l.keep
		t, v, err := Traverse(u, l.accel, l.length)
		switch place := fmt.Sprintf("channels[%d].%s[%d]", channel, key, j); {
		case errors.Is(err, ErrStall):
			problems.Add(place, "sends the marble of %s into lane %q at %.0f mm/s, where it stalls; the lane has to be steeper or shorter, or the marble faster",
				w.Machine.Channels[channel].Name, id, u*1000)
			return 0, 0, false
		case t > maxLaneS:
			problems.Add(place, "keeps the marble of %s in lane %q for %.0f s; more than %d s is taken for a mistake in the lane's figures",
				w.Machine.Channels[channel].Name, id, t, maxLaneS)
			return 0, 0, false
		}
		pass := Passage{Lane: n, Channel: channel, Enter: at, Time: t, SpeedIn: u, Exit: key == "exit"}
		c.Passages = append(c.Passages, pass)
		l.passages = append(l.passages, pass)
		at, speed = at+t, v
	}
	return at, speed, true
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

// Accel is a lane's acceleration along it, in m/s².
func (w *Works) Accel(lane int) float64 { return w.lanes[lane].accel }
