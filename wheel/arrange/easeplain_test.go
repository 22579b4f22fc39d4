package arrange

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pinwright/timing"
	"pinwright/wheel"
)

// A plain way to the least cost: every note at every place it may go to, or
// left out, and mechanics asked of each whether all tempos are safe. It shares
// nothing with the package but the notes.
type plainEasing struct {
	w       *timing.Works
	t       *timing.Turn
	notes   []placedNote
	advance []int
	toBPM   float64
	may     func(note int, channel int32, later int32, out bool) bool // nil: everything
	at      []plainSite
	best    float64
}

type plainSite struct {
	channel, later int32
	out            bool
}

func (e *plainEasing) least() float64 {
	e.t = e.w.NewTurn()
	e.at = make([]plainSite, len(e.notes))
	e.best = math.Inf(1)
	e.from(0, 0)
	return e.best
}

func (e *plainEasing) from(i int, cost float64) {
	if cost >= e.best {
		return
	}
	if i == len(e.notes) {
		e.best = cost
		return
	}
	n := e.notes[i]
	for _, c := range n.choices {
		for _, later := range []int32{0, 1, -1, 2, -2} {
			step := e.w.Machine.Wheel.Wrap(int(n.aim+later) - e.advance[c])
			if e.may != nil && !e.may(i, c, later, false) || e.t.Has(int(c), step) {
				continue
			}
			e.at[i] = plainSite{channel: c, later: later}
			if !e.inOrder(i) {
				continue
			}
			e.t.Drive(int(c), step)
			if e.safe() { // fewer pins never break a rule, so what is broken now stays so
				e.from(i+1, cost+0.2*math.Abs(float64(later))*n.weight)
			}
			e.t.Pull(int(c), step)
		}
	}
	if e.may == nil || e.may(i, n.channel, 0, true) {
		e.at[i] = plainSite{out: true}
		e.from(i+1, cost+n.weight)
	}
}

func (e *plainEasing) safe() bool {
	bpm, ok := e.t.MaxSafe()
	return ok && bpm >= e.toBPM*(1-1e-11)
}

// inOrder reports whether the last of the first notes keeps the order of those
// on its channel, all round.
func (e *plainEasing) inOrder(i int) bool {
	for j := range i {
		if e.at[j].out || e.at[j].channel != e.at[i].channel {
			continue
		}
		a, b := e.notes[j].aim, e.notes[i].aim
		x, y := a+e.at[j].later, b+e.at[i].later
		if a > b {
			x, y = y, x
		}
		turn := int32(e.w.Machine.Wheel.Steps)
		if a != b && y <= x || max(x, y)-min(x, y) >= turn {
			return false
		}
	}
	return true
}

// trial is a small machine with notes on it that are too fast for it.
type trial struct {
	w       *timing.Works
	notes   []placedNote
	advance []int
	bpm     float64
}

type trialKind struct {
	channels int
	twins    bool // all channels have one key
	lanes    bool // all channels share lanes
	most     int  // pins at once
	notes    int  // at the most
	least    int  // notes; 0 is 2
	doubtful bool // what varies and is doubtful counts; else the tempo to keep below is the bare limit
}

func smallTrial(t testing.TB, r *rand.Rand, k trialKind) trial {
	t.Helper()
	steps := 6 + r.IntN(7)
	m := &wheel.Machine{
		Format: wheel.MachineFormat, Name: "Hailstone",
		Marble: wheel.Marble{DiameterMM: 12, ClearanceMM: 2},
		Wheel:  wheel.Wheel{RadiusMM: float64(steps) / (2 * math.Pi), Steps: steps, StepsPerBeat: 1 + r.IntN(4), BeatsPerBar: 4},
		Limits: wheel.Limits{TempoMinBPM: 30, TempoMaxBPM: 180, FlamMS: 20, TripsAtOnce: k.most},
	}
	if k.lanes {
		m.Lanes = []wheel.Lane{
			{ID: "drop", Kind: wheel.Fall, LengthMM: wheel.Known(100 + 300*r.Float64()), Keep: wheel.Known(1)},
			{ID: "chute", Kind: wheel.Ramp, LengthMM: wheel.Known(200 + 400*r.Float64()), SlopeDeg: wheel.Known(2 + 8*r.Float64()), RailGapMM: 7, Rolling: 0.003, Keep: wheel.Known(0.5)},
		}
	}
	p := m.Wheel.StepPeriod(60) * 1000
	for i := range k.channels {
		c := wheel.Channel{
			ID: fmt.Sprintf("c%d", i), Name: fmt.Sprintf("Bar C%d", i), Row: i, Kind: "bar", Service: wheel.Playing,
			Trip:    wheel.Trip{ReachMM: wheel.Known(2 * r.Float64()), HoldMM: wheel.Known(1.5 * r.Float64()), ReturnMS: wheel.Known(p * r.Float64()), LatchMS: wheel.Known(900 * r.Float64())},
			Gate:    wheel.Gate{ReloadMS: wheel.Known(math.Round(p * 3 * r.Float64()))},
			Strike:  wheel.Strike{ClearMS: wheel.Known(math.Round(p * 2 * r.Float64()))},
			ExitMMS: wheel.Known(100 + 200*r.Float64()),
		}
		if k.lanes {
			c.Path, c.Exit = []string{"drop"}, []string{"chute"}
			if r.IntN(3) == 0 {
				c.Path = nil
			}
		}
		m.Channels = append(m.Channels, c)
	}
	if !k.doubtful {
		bare(m)
	} else { // as large as a machine is, so that pins are not half a step astray
		const larger = 30
		m.Wheel.RadiusMM *= larger
		for i := range m.Channels {
			trip := &m.Channels[i].Trip
			trip.ReachMM, trip.HoldMM = wheel.Known(larger*trip.ReachMM.Or(0)), wheel.Known(larger*trip.HoldMM.Or(0))
		}
	}
	tr := trial{w: compile(t, m), bpm: []float64{60, 84, 120, 30, 180}[r.IntN(5)]}
	for range k.channels {
		tr.advance = append(tr.advance, r.IntN(5))
	}
	var choices []int32
	for c := range int32(k.channels) {
		choices = append(choices, c)
	}
	least := max(k.least, 2)
	for range least + r.IntN(k.notes-least+1) {
		n := placedNote{channel: int32(r.IntN(k.channels)), aim: int32(r.IntN(steps)), weight: 1 + math.Round(127*r.Float64())/127 + float64(r.IntN(2))}
		n.choices = []int32{n.channel}
		if k.twins {
			n.choices = choices
		}
		if !slices.ContainsFunc(tr.notes, func(o placedNote) bool { return o.channel == n.channel && o.aim == n.aim }) {
			tr.notes = append(tr.notes, n)
		}
	}
	return tr
}

func (tr trial) plain() *plainEasing {
	return &plainEasing{w: tr.w, notes: tr.notes, advance: tr.advance, toBPM: tr.w.EasingTempo(tr.bpm)}
}

// pins is the eased notes as a pinning.
func (tr trial) pins(notes []placedNote) *wheel.Pinning {
	m := tr.w.Machine
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Mill Race", Machine: m.Name, TempoBPM: 60}
	for _, n := range notes {
		p.Pins = append(p.Pins, wheel.Pin{Channel: m.Channels[n.channel].ID, Step: m.Wheel.Wrap(int(n.aim) - tr.advance[n.channel])})
	}
	return p
}

func (tr trial) String() string {
	s := fmt.Sprintf("%d steps, %g BPM, advance %v", tr.w.Machine.Wheel.Steps, tr.bpm, tr.advance)
	for _, n := range tr.notes {
		s += fmt.Sprintf(" %d@%d×%.3f%v", n.channel, n.aim, n.weight, n.choices)
	}
	return s
}
