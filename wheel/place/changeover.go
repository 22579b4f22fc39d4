package place

import (
	"math"
	"slices"

	"pinwright/wheel"
)

// Options are what a changeover may do besides pulling and driving.
type Options struct {
	Rotate     bool    // the new pinning may start at any step of the turn
	Exchange   bool    // channels in service with equal keys may exchange their rows
	Start      int     // step at which the turn of work begins
	PinsPerMin float64 // pulls and drives in a minute, from the crew's own past; 0: no estimate
}

// Exchanged says that the new pinning's pins of one channel go to another's row.
type Exchanged struct {
	Channel string
	To      string
}

// Stock is whether the pins there are suffice: all of them, those on the wheel
// included. Have, Short and Left are nil where the machine's file has no
// pin_stock.
type Stock struct {
	Have   *int
	Needed int
	Short  *int
	Left   *int
}

// Plan is a changeover: from the pinning on the wheel to another, in one turn.
type Plan struct {
	Machine       string
	From          string
	To            string
	RotationSteps int // step s of the new pinning goes to (s + rotation) mod N
	Exchanged     []Exchanged
	Kept          int // pins that stay where they are
	Pulls         int
	Drives        int
	List          []Move // as the wheel turns from the start; on a step by row, pulls first
	Stock         Stock
	Minutes       *float64 // nil where no rate is given
	Saved         int      // pulls and drives fewer than without rotation and exchange

	// Loose is how many pins have to be at hand before the first pull, for
	// drives that come before pulls have given enough.
	Loose int
	// Start is the step at which the turn of work begins.
	Start int
	// Target is the new pinning as it will stand, rotated and exchanged, with
	// aims and advances to match. Exchanged channels have other mechanics, so
	// that it has to be checked again.
	Target *wheel.Pinning
}

// Changeover is the plan with the fewest pulls and drives that turns from into
// to. A pin stays where both have one, so that
//
//	pulls = |from| − kept,  drives = |to| − kept
//
// and the fewest are those of the rotation and exchange that keep most. They
// are found exactly; of equal ones the least rotation is taken, and with it as
// few exchanges as can be. An error lists what of the two pinnings does not fit
// the machine, or names what of the options is out of range.
func Changeover(m *wheel.Machine, from, to *wheel.Pinning, o Options) (*Plan, error) {
	if err := Fits(m, from, "the pinning on the wheel:"); err != nil {
		return nil, err
	}
	if err := Fits(m, to, "the new pinning:"); err != nil {
		return nil, err
	}
	n := m.Wheel.Steps
	if o.Start < 0 || o.Start >= n {
		return nil, wheel.Refuse(wheel.ErrInvalid, "the start is step %s; the wheel of %s has steps 0 to %d", wheel.Number(float64(o.Start)), m.Name, n-1)
	}
	if o.PinsPerMin != 0 && !(o.PinsPerMin >= MinPinsPerMin && o.PinsPerMin <= MaxPinsPerMin) {
		return nil, wheel.Refuse(wheel.ErrInvalid, "the rate is %s; pulls and drives in a minute are a number from %g to %d", wheel.Number(o.PinsPerMin), MinPinsPerMin, MaxPinsPerMin)
	}
	a, b := rows(m.StepsByChannel(from.Pins)), rows(m.StepsByChannel(to.Pins))
	stay := placing{to: identity(len(m.Channels))}
	best, err := bestPlacing(m, a, b, o)
	if err != nil {
		return nil, err
	}
	p := &Plan{
		Machine: m.Name, From: from.Title, To: to.Title,
		RotationSteps: best.rotation, Exchanged: []Exchanged{},
		Kept: best.kept(a, b, n), Start: o.Start,
		Target: best.target(m, to),
	}
	p.Pulls, p.Drives = len(from.Pins)-p.Kept, len(to.Pins)-p.Kept
	p.Saved = 2 * (p.Kept - stay.kept(a, b, n))
	for c, other := range best.to {
		if c != other {
			p.Exchanged = append(p.Exchanged, Exchanged{m.Channels[c].ID, m.Channels[other].ID})
		}
	}
	p.List = Moves(m, from.Pins, p.Target.Pins, o.Start)
	p.Loose = loose(p.List)
	p.Stock = stockFor(m.Wheel.PinStock, len(to.Pins))
	if o.PinsPerMin > 0 {
		minutes := float64(len(p.List)) / o.PinsPerMin
		p.Minutes = &minutes
	}
	return p, nil
}

// Rates of work, in pulls and drives a minute, far slower and far quicker than
// any hand.
const (
	MinPinsPerMin = 0.001
	MaxPinsPerMin = 1000
)

func loose(list []Move) int {
	most, out := 0, 0
	for _, move := range list {
		if move.Do == Drive {
			out++
		} else {
			out--
		}
		most = max(most, out)
	}
	return most
}

func stockFor(have, needed int) Stock {
	if have == 0 {
		return Stock{Needed: needed}
	}
	short, left := max(needed-have, 0), max(have-needed, 0)
	return Stock{&have, needed, &short, &left}
}

// rows is the steps of pins by channel, see [wheel.Machine.StepsByChannel].
type rows [][]int

// placing is where a new pinning goes: the channel to whose row each channel's
// pins go, and by how many steps all are turned.
type placing struct {
	rotation int
	to       []int
}

func identity(n int) []int {
	to := make([]int, n)
	for i := range to {
		to[i] = i
	}
	return to
}

// kept counts the pins of a that b, so placed on n steps, has as well.
func (p placing) kept(a, b rows, n int) int {
	kept := 0
	for c, steps := range b {
		kept += common(a[p.to[c]], steps, p.rotation, n)
	}
	return kept
}

// common counts the steps of a that b has once turned, both sorted.
func common(a, b []int, rotation, n int) int {
	if len(a) == 0 || len(b) == 0 {
		return 0
	}
	first, _ := slices.BinarySearch(b, n-rotation) // the first that wraps to the start
	count, i := 0, 0
	for j := range b {
		k := first + j
		shift := rotation - n
		if k >= len(b) {
			k, shift = k-len(b), rotation
		}
		step := b[k] + shift
		for i < len(a) && a[i] < step {
			i++
		}
		if i < len(a) && a[i] == step {
			count++
		}
	}
	return count
}

// target is the new pinning as it will stand. A channel's advance goes with its
// pins, and aims turn with them, so that every note sounds as much after its
// pin as before.
func (p placing) target(m *wheel.Machine, to *wheel.Pinning) *wheel.Pinning {
	t := to.Clone()
	goes := make(map[string]string, len(p.to))
	for c, other := range p.to {
		goes[m.Channels[c].ID] = m.Channels[other].ID
	}
	if t.Advance != nil {
		clear(t.Advance)
	}
	for id, advance := range to.Advance {
		t.Advance[goes[id]] = advance
	}
	for i := range t.Pins {
		pin := &t.Pins[i]
		pin.Channel = goes[pin.Channel]
		pin.Step = m.Wheel.Wrap(pin.Step + p.rotation)
		if pin.Aim.Given && p.rotation != 0 {
			n := float64(m.Wheel.Steps)
			aim := math.Mod(pin.Aim.Step+float64(p.rotation), n)
			if aim < 0 {
				aim += n
			}
			pin.Aim.Step = aim
		}
	}
	t.Sort()
	return t
}
