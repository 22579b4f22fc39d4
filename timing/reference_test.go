package timing

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"pgregory.net/rapid"

	"pinwright/wheel"
)

// plain is a second way to the verdict: it lets the wheel turn, several times
// over, and looks at every pair of marbles in every lane. It shares nothing
// with the package but the machine's figures as they stand in the file.
type plain struct {
	m *wheel.Machine
	p *wheel.Pinning
}

// passing is one marble in one lane: when it enters, in seconds, how fast, and
// the lane it is in, in SI units.
type passing struct {
	lane                        int
	enter, speed, accel, length float64
	terminal                    float64 // of a pipe; 0 for none
	exit                        bool    // after the strike
}

// at is by x = u t + a t²/2 or, in a pipe, by the textbook's integrals of
// dv/dt = g (1 − v²/v∞²).
func (q passing) at(t float64) float64 {
	switch v, u := q.terminal, q.speed; {
	case v == 0:
		return u*t + q.accel*t*t/2
	case u < v:
		phi := math.Atanh(u / v)
		return v * v / 9.80665 * math.Log(math.Cosh(9.80665*t/v+phi)/math.Cosh(phi))
	case u > v:
		phi := math.Atanh(v / u)
		return v * v / 9.80665 * math.Log(math.Sinh(9.80665*t/v+phi)/math.Sinh(phi))
	default:
		return v * t
	}
}

func (q passing) leaving() float64 {
	if v := q.terminal; v > 0 {
		return math.Sqrt(v*v - (v*v-q.speed*q.speed)*math.Exp(-2*9.80665*q.length/v/v))
	}
	return math.Sqrt(q.speed*q.speed + 2*q.accel*q.length)
}

// through is the time at which the marble has come as far as the lane is long,
// found by halving where a formula would be the package's own.
func (q passing) through() float64 {
	if q.terminal == 0 {
		return 2 * q.length / (q.speed + q.leaving())
	}
	from, to := 0.0, 2*q.length/min(q.leaving(), q.terminal)+1
	for range 60 {
		if mid := (from + to) / 2; q.at(mid) < q.length {
			from = mid
		} else {
			to = mid
		}
	}
	return from
}

// way is what becomes of a channel's marble, in seconds from the full push of
// its lever: the lanes it passes, its strike, the plate clear of it, and its
// end in the hopper. Formulas are those of the handbook, written out here.
type way struct {
	passings            []passing
	strike, clear, home float64
}

func (r plain) way(c *wheel.Channel) way {
	var out way
	clock, speed := c.Trip.LatchMS.Or(0)/1000, c.Gate.ReleaseMMS/1000
	run := func(ids []string, exit bool) {
		for _, id := range ids {
			lane := slices.IndexFunc(r.m.Lanes, func(l wheel.Lane) bool { return l.ID == id })
			l := r.m.Lanes[lane]
			q := passing{lane, clock, speed * l.Keep.Or(1), r.accel(l), l.LengthMM.Or(0) / 1000, r.terminal(l), exit}
			out.passings = append(out.passings, q)
			clock += q.through()
			speed = q.leaving()
		}
	}
	run(c.Path, false)
	out.strike = clock
	clear := c.Strike.ClearMS.Or(0) / 1000
	if !c.Strike.ClearMS.IsKnown() {
		clear = 2 * c.Strike.Restitution.Or(0) * speed / 9.80665 // up and down again at speed e v
	}
	clock += clear
	out.clear = clock
	speed = c.ExitMMS.Or(0) / 1000
	run(c.Exit, true)
	out.home = clock
	return out
}

// accel is g in a fall. On two rails a sphere of radius d/2 turns about a chord
// h = √((d/2)² − (w/2)²) from its centre, so that its inertia, 2/5 m (d/2)²,
// weighs as 2/5 (d/2)²/h² of its mass.
func (r plain) accel(l wheel.Lane) float64 {
	if l.Kind != wheel.Ramp {
		return 9.80665
	}
	alpha, d, w := l.SlopeDeg.Or(0)*math.Pi/180, r.m.Marble.DiameterMM, l.RailGapMM
	if l.RodMM > 0 { // the contacts divide the line between the centres of ball and rod as their radii
		w = (l.ClearGapMM + l.RodMM) * (d / 2) / (d/2 + l.RodMM/2)
	}
	h2 := d*d/4 - w*w/4
	return 9.80665 * (math.Sin(alpha) - l.Rolling*math.Cos(alpha)) / (1 + 0.4*d*d/4/h2)
}

// terminal is C (A₁/(A + A₁)) √(2 m g/(ρ A)) in a pipe, 0 elsewhere.
func (r plain) terminal(l wheel.Lane) float64 {
	if l.BoreMM == 0 {
		return 0
	}
	d, bore := r.m.Marble.DiameterMM/1000, l.BoreMM/1000
	ball, pipe := math.Pi*d*d/4, math.Pi*bore*bore/4
	mass := r.m.Marble.DensityKgM3 * 4 / 3 * math.Pi * d * d * d / 8
	return 0.8 * (pipe - ball) / pipe * math.Sqrt(2*mass*9.80665/1.2/ball)
}

// stepPeriod is 60/(T q) seconds.
func (r plain) stepPeriod(tempo float64) float64 {
	return 60 / (tempo * float64(r.m.Wheel.StepsPerBeat))
}

// reach is in steps.
func (r plain) reach(c *wheel.Channel) float64 { return c.Trip.ReachMM.Or(0) / r.arc() }

// arc is of one step, in mm.
func (r plain) arc() float64 { return 2 * math.Pi * r.m.Wheel.RadiusMM / float64(r.m.Wheel.Steps) }

// steps are those of a channel's pins, in order.
func (r plain) steps(c *wheel.Channel) (steps []int) {
	for _, pin := range r.p.Pins {
		if pin.Channel == c.ID {
			steps = append(steps, pin.Step)
		}
	}
	slices.Sort(steps)
	return steps
}

// broken tells which kinds of rule are broken at a tempo, with every need
// lengthened by slack seconds (negative: shortened).
func (r plain) broken(tempo, slack float64) map[string]bool {
	m, out := r.m, map[string]bool{}
	p, n := r.stepPeriod(tempo), m.Wheel.Steps
	s := (m.Marble.DiameterMM + m.Marble.ClearanceMM) / 1000
	ways, longest := make([]way, len(m.Channels)), 0.0
	for i := range m.Channels {
		ways[i] = r.way(&m.Channels[i])
		longest = max(longest, ways[i].home)
	}
	turns := int(longest/(p*float64(n))) + 3 // more than a marble can be under way
	lanes := make([][]passing, len(m.Lanes))
	for i := range m.Channels {
		c := &m.Channels[i]
		steps := r.steps(c)
		r.consecutive(c, steps, p, slack, out)
		for turn := range turns {
			for _, step := range steps {
				for _, q := range ways[i].passings {
					q.enter += p * (float64(step+turn*n) + r.reach(c))
					lanes[q.lane] = append(lanes[q.lane], q)
				}
			}
		}
	}
	r.plates(ways, turns, p, slack, out)
	for n, passings := range lanes {
		if m.Lanes[n].File == wheel.OpenFile {
			continue
		}
		slices.SortStableFunc(passings, func(a, b passing) int { return cmp.Compare(a.enter, b.enter) })
		for i, first := range passings {
			through := first.through()
			for _, second := range passings[i+1:] {
				lead := second.enter - first.enter - slack
				if lead >= through {
					if second.enter-first.enter > through+math.Abs(slack) {
						break
					}
					continue
				}
				if first.at(lead) < s || first.length-second.at(through-lead) < s {
					out["meeting"] = true
				}
			}
		}
	}
	trips := map[int]int{}
	for _, pin := range r.p.Pins {
		trips[pin.Step]++
		if m.Limits.TripsAtOnce > 0 && trips[pin.Step] > m.Limits.TripsAtOnce {
			out["overload"] = true
		}
		if slices.ContainsFunc(m.Channels, func(c wheel.Channel) bool { return c.ID == pin.Channel && c.Service == wheel.Resting }) {
			out["silent"] = true
		}
	}
	return out
}

// plates holds strikes of different channels on one plate to its time to clear.
func (r plain) plates(ways []way, turns int, p, slack float64, out map[string]bool) {
	type hit struct{ at, clear float64 }
	for i := range r.m.Channels {
		for j := range r.m.Channels {
			one, two := &r.m.Channels[i], &r.m.Channels[j]
			if i == j || one.Plate == "" || one.Plate != two.Plate {
				continue
			}
			var first, second []hit
			for turn := range turns {
				for _, step := range r.steps(one) {
					first = append(first, hit{p*(float64(step+turn*r.m.Wheel.Steps)+r.reach(one)) + ways[i].strike, ways[i].clear - ways[i].strike})
				}
				for _, step := range r.steps(two) {
					second = append(second, hit{p*(float64(step+turn*r.m.Wheel.Steps)+r.reach(two)) + ways[j].strike, ways[j].clear - ways[j].strike})
				}
			}
			for _, a := range first {
				for _, b := range second {
					// Of two at once either may be the first: it is enough that one of them
					// is clear at once.
					later := b.at - a.at
					together := later <= math.Abs(slack) && later+b.clear+slack <= 0
					if later >= 0 && later < a.clear+slack && !together {
						out["unclear"] = true
					}
				}
			}
		}
	}
}

func (r plain) consecutive(c *wheel.Channel, steps []int, p, slack float64, out map[string]bool) {
	w := r.way(c)
	reload := c.Gate.ReloadMS.Or(0) / 1000
	if !c.Gate.ReloadMS.IsKnown() {
		alpha := c.Gate.FeedSlopeDeg.Or(0) * math.Pi / 180
		reload = math.Sqrt(2 * r.m.Marble.DiameterMM / 1000 / (9.80665 * (math.Sin(alpha) - c.Gate.Rolling*math.Cos(alpha)) / 1.4))
	}
	hold := c.Trip.HoldMM.Or(0) / r.arc()
	for i := range steps {
		next := steps[0] + r.m.Wheel.Steps
		if i+1 < len(steps) {
			next = steps[i+1]
		}
		gap := float64(next - steps[i])
		if gap <= hold || (gap-hold)*p < c.Trip.ReturnMS.Or(0)/1000+slack {
			out["crowded"] = true
		}
		if gap*p < reload+slack {
			out["unready"] = true
		}
		if gap*p < w.clear-w.strike+slack {
			out["unclear"] = true
		}
	}
}

// anyMachine draws a small machine whose channels share lanes, and a pinning
// for it.
func anyMachine(t *rapid.T) (*Works, *wheel.Pinning) {
	number := func(lo, hi float64, what string) float64 { return rapid.Float64Range(lo, hi).Draw(t, what) }
	m := &wheel.Machine{
		Format: wheel.MachineFormat, Name: "Any",
		Marble: wheel.Marble{DiameterMM: number(6, 16, "diameter"), ClearanceMM: number(0, 4, "clearance")},
		Wheel:  wheel.Wheel{RadiusMM: number(100, 900, "radius"), Steps: rapid.IntRange(4, 150).Draw(t, "steps"), StepsPerBeat: rapid.IntRange(1, 6).Draw(t, "q"), BeatsPerBar: 4},
		Limits: wheel.Limits{TempoMinBPM: number(20, 60, "tempo min"), TempoMaxBPM: number(100, 300, "tempo max"), TripsAtOnce: rapid.SampledFrom([]int{0, 0, 0, 1, 2}).Draw(t, "trips")},
	}
	nl := rapid.IntRange(1, 5).Draw(t, "lanes")
	for i := range nl {
		l := wheel.Lane{ID: fmt.Sprint("lane-", i), Kind: wheel.Fall, LengthMM: wheel.Known(number(5, 600, "length")), Keep: wheel.Known(number(0, 1, "keep"))}
		if rapid.Bool().Draw(t, "ramp") {
			l.Kind, l.SlopeDeg, l.RailGapMM, l.Rolling = wheel.Ramp, wheel.Known(number(2, 30, "slope")), number(0, 5, "gap"), number(0, 0.01, "rolling")
		}
		switch {
		case l.Kind == wheel.Fall && rapid.IntRange(0, 2).Draw(t, "pipe") == 0:
			m.Marble.DensityKgM3, l.BoreMM = 7850, m.Marble.DiameterMM*number(1.02, 1.5, "bore")
		case l.Kind == wheel.Ramp && rapid.IntRange(0, 2).Draw(t, "rods") == 0:
			l.RailGapMM, l.RodMM, l.ClearGapMM = 0, number(1, 6, "rod"), number(0, 5, "clear gap")
		}
		if rapid.IntRange(0, 9).Draw(t, "open") == 0 {
			l.File = wheel.OpenFile
		}
		m.Lanes = append(m.Lanes, l)
	}
	for i := range rapid.IntRange(1, 4).Draw(t, "channels") {
		ids := rapid.Permutation(laneIDs(m)).Draw(t, "route")
		ids = ids[:rapid.IntRange(0, len(ids)).Draw(t, "route length")]
		cut := rapid.IntRange(0, len(ids)).Draw(t, "plate")
		c := wheel.Channel{
			ID: fmt.Sprint("ch-", i), Name: fmt.Sprint("Channel ", i), Row: i, Kind: "bar", Service: wheel.Playing,
			Trip:   wheel.Trip{ReachMM: wheel.Known(number(0, 20, "reach")), HoldMM: wheel.Known(number(0, 12, "hold")), ReturnMS: wheel.Known(number(0, 90, "return")), LatchMS: wheel.Known(number(0, 60, "latch"))},
			Gate:   wheel.Gate{ReloadMS: wheel.Known(number(0, 200, "reload")), ReleaseMMS: number(0, 300, "release")},
			Path:   ids[:cut],
			Strike: wheel.Strike{ClearMS: wheel.Known(number(0, 150, "clear"))},
			Exit:   ids[cut:], ExitMMS: wheel.Known(number(10, 500, "exit")),
		}
		if rapid.Bool().Draw(t, "bounce") {
			c.Strike = wheel.Strike{Restitution: wheel.Known(number(0, 0.7, "restitution"))}
		}
		if rapid.Bool().Draw(t, "feed") {
			c.Gate.ReloadMS, c.Gate.FeedSlopeDeg, c.Gate.Rolling = wheel.Maybe{}, wheel.Known(number(2, 20, "feed slope")), number(0, 0.01, "feed rolling")
		}
		if rapid.IntRange(0, 3).Draw(t, "plate") == 0 {
			c.Plate = "shared"
		}
		m.Channels = append(m.Channels, c)
	}
	if rapid.IntRange(0, 9).Draw(t, "rest") == 0 {
		m.Channels[0].Service = wheel.Resting
	}
	w, err := Compile(m)
	if err != nil {
		t.Fatal(err)
	}
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Any", TempoBPM: 90}
	holes := rapid.SliceOfNDistinct(rapid.IntRange(0, len(m.Channels)*m.Wheel.Steps-1), 1, 14, rapid.ID).Draw(t, "holes")
	for _, h := range holes {
		p.Pins = append(p.Pins, wheel.Pin{Channel: m.Channels[h/m.Wheel.Steps].ID, Step: h % m.Wheel.Steps})
	}
	return w, p
}

func laneIDs(m *wheel.Machine) []string {
	ids := make([]string, len(m.Lanes))
	for i, l := range m.Lanes {
		ids[i] = l.ID
	}
	return ids
}
