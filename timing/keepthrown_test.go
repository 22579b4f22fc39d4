package timing

import (
	"cmp"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/file"
)

// rig is a machine on which drops are thrown one by one. It is written to a
// machine file for the package to read; what becomes of its marbles is worked
// out here, from the handbook's formulas, and shares nothing with the package.
type rig struct {
	diameter, clearance  float64 // mm
	radius               float64 // mm, to the pin tips
	steps, q             int
	crankTurns           float64
	pinSD                float64 // mm
	wander, ripple       float64
	lanes                []rigLane
	channels             []rigChannel
	pins                 [][]int // by channel: steps, in order
	slowest, fastest     float64 // BPM
	spoiltMost, jamsMost float64 // per turn
}

// rigFigure is a number with its spread from drop to drop and its doubt.
type rigFigure struct{ v, s, u float64 }

type rigLane struct {
	ramp                         bool
	length, slope, rolling, keep rigFigure
	gap                          float64
}

type rigChannel struct {
	reach, hold, back, latch, reload, release, clear, exit rigFigure
	bounce                                                 bool // clear is a coefficient of restitution
	plate                                                  string
	path, drain                                            []int
}

// figures are all of a rig's, by path.
func (r *rig) figures(each func(path string, f *rigFigure)) {
	for i := range r.lanes {
		l, at := &r.lanes[i], fmt.Sprintf("lanes.lane-%d.", i)
		each(at+"length_mm", &l.length)
		each(at+"keep", &l.keep)
		if l.ramp {
			each(at+"slope_deg", &l.slope)
			each(at+"rolling", &l.rolling)
		}
	}
	for i := range r.channels {
		c, at := &r.channels[i], fmt.Sprintf("channels.ch-%d.", i)
		each(at+"trip.reach_mm", &c.reach)
		each(at+"trip.hold_mm", &c.hold)
		each(at+"trip.return_ms", &c.back)
		each(at+"trip.latch_ms", &c.latch)
		each(at+"gate.reload_ms", &c.reload)
		each(at+"gate.release_mm_s", &c.release)
		if c.bounce {
			each(at+"strike.restitution", &c.clear)
		} else {
			each(at+"strike.clear_ms", &c.clear)
		}
		each(at+"exit_mm_s", &c.exit)
	}
}

// object is a value of a file.
type object map[string]any

// file is the rig as a machine file, every figure measured.
func (r *rig) file(tb testing.TB) *wheel.Machine {
	var lanes, channels, measured []object
	names := func(list []int) []string {
		ids := []string{}
		for _, n := range list {
			ids = append(ids, fmt.Sprintf("lane-%d", n))
		}
		return ids
	}
	for i, l := range r.lanes {
		o := object{"id": fmt.Sprintf("lane-%d", i), "kind": "fall", "length_mm": l.length.v, "keep": l.keep.v}
		if l.ramp {
			o["kind"], o["slope_deg"], o["rolling"], o["rail_gap_mm"] = "ramp", l.slope.v, l.rolling.v, l.gap
		}
		lanes = append(lanes, o)
	}
	for i, c := range r.channels {
		strike := object{"clear_ms": c.clear.v}
		if c.bounce {
			strike = object{"restitution": c.clear.v}
		}
		channels = append(channels, object{
			"id": fmt.Sprintf("ch-%d", i), "name": fmt.Sprintf("Channel %d", i), "row": i, "kind": "bar", "keys": []int{}, "service": "playing", "plate": c.plate,
			"trip": object{"reach_mm": c.reach.v, "hold_mm": c.hold.v, "return_ms": c.back.v, "latch_ms": c.latch.v},
			"gate": object{"reload_ms": c.reload.v, "release_mm_s": c.release.v},
			"path": names(c.path), "strike": strike, "exit_mm_s": c.exit.v, "exit": names(c.drain),
		})
	}
	r.figures(func(path string, f *rigFigure) {
		if *f == (rigFigure{}) && (strings.HasSuffix(path, "rolling") || strings.HasSuffix(path, "release_mm_s")) {
			return // left out, these are 0 and exact
		}
		measured = append(measured, object{"figure": path, "sd": f.s, "u": f.u})
	})
	text, err := json.Marshal(object{
		"format": "pinwright-machine/1", "name": "Rig",
		"marble": object{"diameter_mm": r.diameter, "clearance_mm": r.clearance},
		"wheel": object{"radius_mm": r.radius, "steps": r.steps, "steps_per_beat": r.q, "beats_per_bar": 4,
			"crank_turns": r.crankTurns, "pin_sd_mm": r.pinSD},
		"lanes": lanes, "channels": channels, "measured": measured,
		"limits": object{"tempo_min_bpm": r.slowest, "tempo_max_bpm": r.fastest, "flam_ms": 20, "wander": r.wander, "ripple": r.ripple,
			"spoilt_per_turn": r.spoiltMost, "jams_per_turn": r.jamsMost},
	})
	if err != nil {
		tb.Fatal(err)
	}
	m, err := file.ReadMachine(text)
	if err != nil {
		tb.Fatalf("%v\n%s", err, text)
	}
	return m
}

// turn is the rig with its pins on.
func (r *rig) turn(tb testing.TB) *Turn {
	w, err := Compile(r.file(tb))
	if err != nil {
		tb.Fatal(err)
	}
	t := w.NewTurn()
	for i, steps := range r.pins {
		for _, s := range steps {
			t.Drive(i, s)
		}
	}
	return t
}

// anyRig draws a rig of two to four channels that share lanes, and pins that
// are near each other.
func anyRig(random *rand.Rand) *rig {
	in := func(lo, hi float64) float64 { return lo + random.Float64()*(hi-lo) }
	some := func(lo, hi, s, u float64) rigFigure { // s and u are shares of the value at most
		v := in(lo, hi)
		return rigFigure{v, v * in(0, s), v * in(0, u)}
	}
	r := &rig{
		diameter: in(8, 14), clearance: in(0, 3), radius: in(300, 700), steps: 64 + random.IntN(65), q: 2 + random.IntN(3), crankTurns: 1,
		pinSD: in(0, 0.6), slowest: 30, fastest: 240, spoiltMost: 0.01, jamsMost: 0.01,
	}
	if random.IntN(2) == 0 {
		r.wander = in(0, 0.03)
	}
	if random.IntN(2) == 0 {
		r.ripple = in(0, 0.1)
	}
	for range 2 {
		r.lanes = append(r.lanes, rigLane{length: rigFigure{in(100, 400), 0, in(0, 1.5)}, keep: rigFigure{1, 0, 0}})
	}
	r.lanes = append(r.lanes, rigLane{
		ramp: true, length: rigFigure{in(200, 600), 0, in(0, 1.5)}, slope: rigFigure{in(7, 14), 0, in(0, 0.3)},
		rolling: rigFigure{0.003, 0, 0.0002}, keep: some(0.4, 0.8, 0.03, 0.05), gap: in(0, 7),
	})
	for range 2 + random.IntN(3) {
		c := rigChannel{
			reach: rigFigure{in(2, 6), 0, in(0, 0.4)}, hold: rigFigure{in(2, 6), in(0, 0.1), in(0, 0.4)},
			back: some(20, 70, 0.08, 0.08), latch: some(10, 30, 0.15, 0.08), reload: some(60, 180, 0.07, 0.05),
			release: some(0, 100, 0, 0.05), clear: some(40, 120, 0.1, 0.05), exit: some(150, 350, 0.05, 0.05),
			path: []int{random.IntN(2)}, drain: []int{2},
		}
		if random.IntN(3) == 0 {
			c.plate = "one"
		}
		if random.IntN(3) == 0 {
			c.bounce, c.clear = true, some(0.05, 0.3, 0.1, 0.05)
		}
		r.channels = append(r.channels, c)
		on := map[int]bool{}
		for range 2 + random.IntN(6) {
			on[random.IntN(r.steps)] = true
		}
		steps := []int{}
		for s := range on {
			steps = append(steps, s)
		}
		slices.Sort(steps)
		r.pins = append(r.pins, steps)
	}
	return r
}

// exactNeeds leaves nothing in doubt, and lets nothing vary, that changes how far
// marbles have to lead each other in a lane: speeds at lanes' mouths, and the
// drain itself.
func (r *rig) exactNeeds() *rig {
	return r.changed(func(path string, f *rigFigure) {
		for _, end := range []string{"keep", "slope_deg", "rolling", "release_mm_s", "exit_mm_s", "lane-2.length_mm"} {
			if strings.HasSuffix(path, end) {
				f.s, f.u = 0, 0
			}
		}
	})
}

// changed is a copy of a rig with its figures changed.
func (r *rig) changed(change func(path string, f *rigFigure)) *rig {
	n := *r
	n.lanes, n.channels = slices.Clone(r.lanes), slices.Clone(r.channels)
	n.figures(change)
	return &n
}

// thrown is what came of drops that were thrown.
type thrown struct{ spoilt, jams float64 }

// drop is one marble's way: when its pin touches the lever, lets go of it and
// has pushed it fully, when it strikes, and when it enters the lanes.
type drop struct {
	touch, loose, push, strike   float64
	back, reload, clear          float64
	lane                         []int
	enter, speed, through, accel []float64
	turn, channel                int
}

// throw plays the pins of one turn, with those of the turn before and after, and
// counts what goes wrong with those of the turn itself.
func (r *rig) throw(random *rand.Rand, tempo float64) thrown {
	normal := random.NormFloat64
	// Means of all figures for this turn, spread kept.
	now := *r
	now.lanes, now.channels = slices.Clone(r.lanes), slices.Clone(r.channels)
	now.figures(func(_ string, f *rigFigure) {
		if f.v = max(f.v+f.u*normal(), 0); f.v == 0 {
			f.v = 1e-9
		}
	})
	for i := range now.lanes {
		now.lanes[i].keep.v = min(now.lanes[i].keep.v, 1)
	}
	at := r.clock(random, tempo)
	arc := 2 * math.Pi * r.radius / float64(r.steps)
	drops := make([][]drop, len(r.channels))
	for i := range now.channels {
		moved := make([]float64, len(r.pins[i]))
		for k := range moved {
			moved[k] = r.pinSD * normal() / arc
		}
		for turn := -1; turn <= 1; turn++ {
			for k, s := range r.pins[i] {
				drops[i] = append(drops[i], now.drop(i, turn, float64(s+turn*r.steps)+moved[k], arc, at, normal))
			}
		}
	}
	var out thrown
	out.spoilt += now.late(drops)
	for i, list := range drops {
		n := len(r.pins[i])
		for k := n; k < 2*n; k++ {
			a, b := &list[k], &list[k+1]
			if b.touch-a.loose < a.back {
				out.spoilt++
			}
			if b.push-a.push < a.reload {
				out.spoilt++
			}
			if b.strike-a.strike < a.clear {
				out.spoilt++
			}
		}
		for j := i; j < len(drops); j++ {
			for k := range list {
				from := 0
				if i == j {
					from = k + 1
				}
				for l := from; l < len(drops[j]); l++ {
					// each pair of marbles once a turn: that of which one is in it
					if a, b := &list[k], &drops[j][l]; a.turn == 0 {
						out.jams += float64(r.meet(a, b))
					}
				}
			}
		}
	}
	return out
}

// late counts the strikes that come too soon after one of another channel on
// their plate, which is in the turn itself.
func (r *rig) late(drops [][]drop) (n float64) {
	var all []*drop
	for i := range drops {
		for k := range drops[i] {
			if r.channels[i].plate != "" {
				all = append(all, &drops[i][k])
			}
		}
	}
	slices.SortFunc(all, func(a, b *drop) int { return cmp.Compare(a.strike, b.strike) })
	for k, a := range all {
		if a.turn == 0 && a.channel != all[k+1].channel && all[k+1].strike-a.strike < a.clear {
			n++
		}
	}
	return n
}

// meet counts the lanes in which two marbles come too near each other.
func (r *rig) meet(a, b *drop) (lanes int) {
	s := (r.diameter + r.clearance) / 1000
	for x, lane := range a.lane {
		y := slices.Index(b.lane, lane)
		if y < 0 {
			continue
		}
		first, second, m, n := a, b, x, y
		if b.enter[y] < a.enter[x] {
			first, second, m, n = b, a, y, x
		}
		lead := second.enter[n] - first.enter[m]
		if lead >= first.through[m] {
			continue
		}
		gone := func(d *drop, k int, t float64) float64 { return d.speed[k]*t + d.accel[k]*t*t/2 }
		out := first.through[m]
		if gone(first, m, lead) < s || gone(first, m, out)-gone(second, n, out-lead) < s {
			lanes++
		}
	}
	return lanes
}

// drop draws what one pin's marble does.
func (r *rig) drop(channel, turn int, step, arc float64, at func(step float64) float64, normal func() float64) drop {
	const g = 9.80665
	c := &r.channels[channel]
	draw := func(f rigFigure) float64 { return max(f.v+f.s*normal(), 0) }
	d := drop{turn: turn, channel: channel}
	d.back, d.reload = draw(c.back)/1000, draw(c.reload)/1000
	d.touch = at(step)
	d.loose = at(step + draw(c.hold)/arc)
	push := at(step + draw(c.reach)/arc)
	clock, speed := push+draw(c.latch)/1000, draw(c.release)/1000
	d.push = clock
	run := func(lanes []int) {
		for _, n := range lanes {
			l := &r.lanes[n]
			a := g
			if l.ramp {
				alpha, rho2 := l.slope.v*math.Pi/180, 1-l.gap*l.gap/r.diameter/r.diameter
				a = g * (math.Sin(alpha) - l.rolling.v*math.Cos(alpha)) / (1 + 0.4/rho2)
			}
			u := speed * min(draw(l.keep), 1)
			length := draw(l.length) / 1000
			v := math.Sqrt(u*u + 2*a*length)
			d.lane, d.enter, d.speed = append(d.lane, n), append(d.enter, clock), append(d.speed, u)
			d.accel, d.through = append(d.accel, a), append(d.through, (v-u)/a)
			clock, speed = clock+(v-u)/a, v
		}
	}
	run(c.path)
	d.strike = clock
	if d.clear = draw(c.clear) / 1000; c.bounce {
		d.clear = 2 * draw(c.clear) * speed / g
	}
	clock, speed = clock+d.clear, draw(c.exit)/1000
	run(c.drain)
	return d
}

// clock tells when the wheel is at a step, from one turn before to two after, as
// a hand turns it: the tempo wanders from beat to beat, and goes up and down
// with the crank's angle.
func (r *rig) clock(random *rand.Rand, tempo float64) func(step float64) float64 {
	period := 60 / (tempo * float64(r.q))
	from, to := -2*r.steps, 3*r.steps
	times := make([]float64, 0, to-from+1)
	angle := random.Float64() * 2 * math.Pi
	x := random.NormFloat64()
	now := 0.0
	for k := from; k <= to; k++ {
		if k%r.q == 0 {
			x = 0.9*x + math.Sqrt(1-0.81)*random.NormFloat64()
		}
		times = append(times, now)
		phi := angle + 2*math.Pi*r.crankTurns*(float64(k)+0.5)/float64(r.steps)
		now += period / (1 + r.wander*x) / (1 + r.ripple*math.Sin(phi))
	}
	return func(step float64) float64 {
		k := int(math.Floor(step))
		t := times[k-from]
		return t + (step-float64(k))*(times[k-from+1]-t)
	}
}
