package timing

import (
	"fmt"
	"math"
	"slices"

	"pgregory.net/rapid"

	"pinwright/wheel"
)

// plain is a second way to the verdict: it lets the wheel turn, several times
// over, and looks at every pair of marbles in every lane. It shares nothing
// with the package but the machine's own figures.
type plain struct {
	m *wheel.Machine
	p *wheel.Pinning
}

type passing struct{ enter, speed, accel, length float64 }

func (q passing) at(t float64) float64 { return q.speed*t + q.accel*t*t/2 }

func (q passing) through() float64 {
	v := math.Sqrt(q.speed*q.speed + 2*q.accel*q.length)
	return 2 * q.length / (q.speed + v)
}

// broken tells which kinds of rule are broken at a tempo, with every need
// lengthened by slack seconds (negative: shortened).
func (r plain) broken(tempo, slack float64) map[string]bool {
	m, out := r.m, map[string]bool{}
	p := 60 / (tempo * float64(m.Wheel.StepsPerBeat))
	n := m.Wheel.Steps
	arc := 2 * math.Pi * m.Wheel.RadiusMM / float64(n)
	s := (m.Marble.DiameterMM + m.Marble.ClearanceMM) / 1000
	lanes := make([][]passing, len(m.Lanes))
	longest := 0.0
	for round := range 2 { // the first tells how many turns a marble can be under way
		turns := int(longest/(p*float64(n))) + 3
		if round == 0 {
			turns = 1
		}
		for i := range lanes {
			lanes[i] = lanes[i][:0]
		}
		for ci := range m.Channels {
			c := &m.Channels[ci]
			steps := []int{}
			for _, pin := range r.p.Pins {
				if pin.Channel == c.ID {
					steps = append(steps, pin.Step)
				}
			}
			slices.Sort(steps)
			for turn := range turns {
				for _, step := range steps {
					clock := p*(float64(step+turn*n)+c.Trip.ReachMM/arc) + c.Trip.LatchMS/1000
					start := clock
					speed := c.Gate.ReleaseMMS / 1000
					run := func(ids []string) {
						for _, id := range ids {
							li := m.Lane(id)
							l := m.Lanes[li]
							a := 9.80665
							if l.Kind == wheel.Ramp {
								alpha := l.SlopeDeg * math.Pi / 180
								h2 := m.Marble.DiameterMM*m.Marble.DiameterMM - l.RailGapMM*l.RailGapMM
								a = 9.80665 * (math.Sin(alpha) - l.Rolling*math.Cos(alpha)) / (1 + 0.4*m.Marble.DiameterMM*m.Marble.DiameterMM/h2)
							}
							q := passing{clock, speed * l.Keep, a, l.LengthMM / 1000}
							lanes[li] = append(lanes[li], q)
							clock += q.through()
							speed = math.Sqrt(q.speed*q.speed + 2*a*q.length)
						}
					}
					run(c.Path)
					clear := c.Strike.ClearMS / 1000
					if clear == 0 {
						clear = 2 * c.Strike.Restitution * speed / 9.80665
					}
					clock += clear
					speed = c.ExitMMS / 1000
					run(c.Exit)
					longest = max(longest, clock-start)
				}
			}
			if round == 0 {
				r.consecutive(c, steps, p, arc, slack, out)
			}
		}
	}
	for _, passings := range lanes {
		slices.SortFunc(passings, func(a, b passing) int {
			if a.enter < b.enter {
				return -1
			}
			return 1
		})
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
		if m.Channels[m.Channel(pin.Channel)].Service == wheel.Resting {
			out["silent"] = true
		}
	}
	return out
}

func (r plain) consecutive(c *wheel.Channel, steps []int, p, arc, slack float64, out map[string]bool) {
	for i := range steps {
		next := steps[0] + r.m.Wheel.Steps
		if i+1 < len(steps) {
			next = steps[i+1]
		}
		gap := float64(next - steps[i])
		clear := c.Strike.ClearMS / 1000
		if clear == 0 {
			clear = r.bounce(c)
		}
		reload := c.Gate.ReloadMS / 1000
		if reload == 0 && c.Gate.FeedSlopeDeg > 0 {
			alpha := c.Gate.FeedSlopeDeg * math.Pi / 180
			reload = math.Sqrt(2 * r.m.Marble.DiameterMM / 1000 / (9.80665 * (math.Sin(alpha) - c.Gate.Rolling*math.Cos(alpha)) / 1.4))
		}
		if hold := c.Trip.HoldMM / arc; gap <= hold || (gap-hold)*p < c.Trip.ReturnMS/1000+slack {
			out["crowded"] = true
		}
		if gap*p < reload+slack {
			out["unready"] = true
		}
		if gap*p < clear+slack {
			out["unclear"] = true
		}
	}
}

func (r plain) bounce(c *wheel.Channel) float64 {
	v2 := math.Pow(c.Gate.ReleaseMMS/1000, 2)
	for _, id := range c.Path {
		l := r.m.Lanes[r.m.Lane(id)]
		a := 9.80665
		if l.Kind == wheel.Ramp {
			a = RampAcceleration(l.SlopeDeg*math.Pi/180, l.Rolling, l.RailGapMM, r.m.Marble.DiameterMM)
		}
		v2 = v2*l.Keep*l.Keep + 2*a*l.LengthMM/1000
	}
	return 2 * c.Strike.Restitution * math.Sqrt(v2) / 9.80665
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
		l := wheel.Lane{ID: fmt.Sprint("lane-", i), Kind: wheel.Fall, LengthMM: number(5, 600, "length"), Keep: number(0, 1, "keep")}
		if rapid.Bool().Draw(t, "ramp") {
			l.Kind, l.SlopeDeg, l.RailGapMM, l.Rolling = wheel.Ramp, number(2, 30, "slope"), number(0, 5, "gap"), number(0, 0.01, "rolling")
		}
		m.Lanes = append(m.Lanes, l)
	}
	for i := range rapid.IntRange(1, 4).Draw(t, "channels") {
		ids := rapid.Permutation(laneIDs(m)).Draw(t, "route")
		ids = ids[:rapid.IntRange(0, len(ids)).Draw(t, "route length")]
		cut := rapid.IntRange(0, len(ids)).Draw(t, "plate")
		c := wheel.Channel{
			ID: fmt.Sprint("ch-", i), Name: fmt.Sprint("Channel ", i), Row: i, Kind: "bar", Service: wheel.Playing,
			Trip:   wheel.Trip{ReachMM: number(0, 20, "reach"), HoldMM: number(0, 12, "hold"), ReturnMS: number(0, 90, "return"), LatchMS: number(0, 60, "latch")},
			Gate:   wheel.Gate{ReloadMS: number(0, 200, "reload"), ReleaseMMS: number(0, 300, "release")},
			Path:   ids[:cut],
			Strike: wheel.Strike{ClearMS: number(0, 150, "clear")},
			Exit:   ids[cut:], ExitMMS: number(10, 500, "exit"),
		}
		if rapid.Bool().Draw(t, "bounce") {
			c.Strike = wheel.Strike{Restitution: number(0, 0.7, "restitution")}
		}
		if rapid.Bool().Draw(t, "feed") {
			c.Gate.ReloadMS, c.Gate.FeedSlopeDeg, c.Gate.Rolling = 0, number(2, 20, "feed slope"), number(0, 0.01, "feed rolling")
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
