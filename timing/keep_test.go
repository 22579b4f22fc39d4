package timing

import (
	"flag"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"pinwright/wheel"
)

var throwLong = flag.Bool("throw.long", false, "throw many more drops, on more machines")

func TestNormalTailAgreesWithGonum(t *testing.T) {
	normal := distuv.UnitNormal
	near := func(got, want float64) bool { return math.Abs(got-want) <= 1e-13*want+1e-300 }
	for z := -9.0; z <= 9; z += 0.01 {
		if got, want := tail(z), normal.CDF(z); !near(got, want) {
			t.Fatalf("Φ(%v) is %v, gonum has %v", z, got, want)
		}
	}
	for one := -8.0; one <= 8; one += 0.5 {
		for other := -one; other <= 12; other += 0.5 {
			// of one side's tail less the rest of it: the survival of the nearer bound
			lo, hi := min(one, other), max(one, other)
			want := normal.CDF(lo) - normal.Survival(hi)
			if got := inside(one, other); math.Abs(got-want) > 1e-15+1e-9*want {
				t.Fatalf("a lead with %v and %v deviations of room: %v, gonum has %v", one, other, got, want)
			}
		}
	}
}

// oneChannel is a channel with two pins, one step apart, four steps to the beat,
// nothing doubted and nothing varying but what the test says.
func oneChannel(change func(c *rigChannel)) *rig {
	c := rigChannel{exit: rigFigure{v: 200}, path: []int{0}, drain: []int{1}, reload: rigFigure{v: 1}}
	change(&c)
	return &rig{
		diameter: 12, clearance: 2, radius: 600, steps: 256, q: 4, crankTurns: 8, slowest: 30, fastest: 180, spoiltMost: 0.001, jamsMost: 0.01,
		lanes: []rigLane{
			{length: rigFigure{v: 240}, keep: rigFigure{v: 1}},
			{ramp: true, length: rigFigure{v: 100}, slope: rigFigure{v: 11}, keep: rigFigure{v: 0.6}},
		},
		channels: []rigChannel{c}, pins: [][]int{{0, 1}},
	}
}

// Worked by hand: reload 140 ± 8 ms and latch spread 3 ms make a deviation of
// √(8² + 2·3²) = 9.055 ms. At 96.43 BPM a step of four to the beat takes
// 60/(4·96.43) = 155.553 ms, 15.553 ms more than the reload: z = −1.718,
// Φ = 0.0429. Φ = 0.001 at z = −3.0902, so at a step of 140 + 27.983 ms:
// 89.29 BPM.
func TestReloadWorkedByHand(t *testing.T) {
	turn := oneChannel(func(c *rigChannel) {
		c.reload, c.latch = rigFigure{140, 8, 0}, rigFigure{18, 3, 0}
	}).turn(t)
	if got := turn.Faults(96.43); math.Abs(got.SpoiltPerTurn-0.0429) > 0.00005 || got.JamsPerTurn != 0 {
		t.Errorf("at 96.43 BPM %+v, by hand 0.0429 spoilt", got)
	}
	if got := turn.Faults(89.29).SpoiltPerTurn; math.Abs(got-0.001) > 0.000005 {
		t.Errorf("at 89.29 BPM %v spoilt, by hand 0.001", got)
	}
	if got, ok := turn.KeepBelow(); !ok || math.Abs(got-89.29) > 0.005 {
		t.Errorf("keep below %v, by hand 89.29", got)
	}
}

// Each worked by hand for a step of 150 ms (100 BPM) and an arc of
// 2π·600/256 = 14.726 mm.
func TestDeviationsWorkedByHand(t *testing.T) {
	const arc = 2 * math.Pi * 600 / 256
	for _, test := range []struct {
		name   string
		change func(r *rig)
		z      float64 // (need − gap)/σ, both in ms
	}{
		{"doubt of the reload counts as its spread does", func(r *rig) {
			r.channels[0].reload = rigFigure{130, 3, 4}
		}, (130 - 150) / 5.},
		{"a doubt of the latch is the same for both drops", func(r *rig) {
			r.channels[0].reload, r.channels[0].latch = rigFigure{130, 6, 0}, rigFigure{18, 0, 5}
		}, (130 - 150) / 6.},
		{"both pins are out of place", func(r *rig) {
			r.channels[0].reload, r.pinSD = rigFigure{130, 0, 0}, 0.5
		}, (130 - 150) / (math.Sqrt2 * 150 * 0.5 / arc)},
		{"the hand wanders over the gap", func(r *rig) {
			r.channels[0].reload, r.wander = rigFigure{140, 0, 0}, 0.04
		}, (140 - 150) / 6.},
		{"a lever held: hold and return", func(r *rig) {
			r.channels[0].hold, r.channels[0].back = rigFigure{arc / 3, 0.3, 0.4}, rigFigure{80, 2, 0}
		}, (80 - 100) / math.Hypot(2, 150*0.5/arc)},
		{"a lever held: the hand wanders over what is left of the gap", func(r *rig) {
			r.channels[0].hold, r.channels[0].back, r.wander = rigFigure{arc / 3, 0, 0}, rigFigure{80, 0, 0}, 0.04
		}, (80 - 100) / (0.04 * 100)},
		{"a plate that is clear after 130 ms", func(r *rig) {
			r.channels[0].clear, r.channels[0].latch = rigFigure{130, 4, 2}, rigFigure{18, 4, 3}
		}, (130 - 150) / math.Sqrt(4*4+2*2+2*4*4)},
	} {
		r := oneChannel(func(c *rigChannel) { c.drain, c.exit = nil, rigFigure{} })
		test.change(r)
		want := distuv.UnitNormal.CDF(test.z)
		if got := r.turn(t).Faults(100); math.Abs(got.SpoiltPerTurn-want) > 1e-9 || got.JamsPerTurn != 0 {
			t.Errorf("%s: %+v, by hand Φ(%.3f) = %v", test.name, got, test.z, want)
		}
	}
}

// A pin that follows itself stands where it stands, and nothing of its reload's
// doubt can be seen from the wheel's turn: 4 steps round, reload 590 ms, turn
// 600 ms at 100 BPM.
func TestALonePinIsWhereItIs(t *testing.T) {
	r := oneChannel(func(c *rigChannel) { c.reload = rigFigure{590, 5, 0}; c.drain = nil })
	r.steps, r.pins, r.pinSD = 4, [][]int{{2}}, 30
	want := distuv.UnitNormal.CDF(-2)
	if got := r.turn(t).Faults(100).SpoiltPerTurn; math.Abs(got-want) > 1e-9 {
		t.Errorf("%v spoilt, by hand Φ(−10/5) = %v", got, want)
	}
}

// Two channels with a lane in common: by hand, two marbles that fall alike and
// enter a fall of 400 mm, 14 mm being 53.4 ms from rest. The second's pin is a
// step later.
func TestJamWorkedByHand(t *testing.T) {
	const arc = 2 * math.Pi * 600 / 256
	r := oneChannel(func(c *rigChannel) { c.path, c.drain, c.exit = []int{0}, nil, rigFigure{} })
	r.lanes = []rigLane{{length: rigFigure{v: 400}, keep: rigFigure{v: 1}}}
	r.channels = append(r.channels, r.channels[0])
	r.channels[0].latch, r.channels[1].latch = rigFigure{40, 3, 4}, rigFigure{20, 1, 2}
	r.channels[0].reach, r.channels[1].reach = rigFigure{3, 0, 0.3}, rigFigure{3, 0.2, 0.4}
	r.pins, r.pinSD = [][]int{{10}, {11}}, 0.5
	// At 150 BPM a step takes 100 ms: the second marble is 100 − 20 ms behind.
	const p, lead = 100., 80.
	sd := math.Sqrt(3*3 + 4*4 + 1*1 + 2*2 + p*p/arc/arc*(0.3*0.3+0.2*0.2+0.4*0.4+2*0.5*0.5))
	// Both start from rest, so they are nearest at the mouth: √(2 s/g).
	need := 1000 * math.Sqrt(2*0.014/9.80665)
	want := distuv.UnitNormal.CDF((need-lead)/sd) - distuv.UnitNormal.CDF((-need-lead)/sd)
	if got := r.turn(t).Faults(150); math.Abs(got.JamsPerTurn-want) > 1e-9 || got.SpoiltPerTurn != 0 {
		t.Errorf("%+v, by hand %v jams", got, want)
	}
}

// Two channels strike one plate, the second's pin a step later: by hand as for
// jams, with the clear of the strike that comes first.
func TestPlateThatTwoStrikeWorkedByHand(t *testing.T) {
	const arc = 2 * math.Pi * 600 / 256
	r := oneChannel(func(c *rigChannel) { c.drain, c.exit = nil, rigFigure{} })
	r.lanes = []rigLane{{length: rigFigure{v: 400}, keep: rigFigure{v: 1}}, {length: rigFigure{v: 400}, keep: rigFigure{v: 1}}}
	r.channels = append(r.channels, r.channels[0])
	r.channels[1].path = []int{1}
	for i := range r.channels {
		r.channels[i].plate = "gong"
	}
	r.channels[0].latch, r.channels[1].latch = rigFigure{40, 3, 4}, rigFigure{20, 1, 2}
	r.channels[0].clear, r.channels[1].clear = rigFigure{70, 5, 6}, rigFigure{10, 1, 1}
	r.pins, r.pinSD = [][]int{{10}, {11}}, 0.5
	const p, lead = 100., 80. // at 150 BPM
	sd := math.Sqrt(3*3 + 4*4 + 1*1 + 2*2 + 5*5 + 6*6 + p*p/arc/arc*2*0.5*0.5)
	want := distuv.UnitNormal.CDF((70 - lead) / sd)
	if got := r.turn(t).Faults(150); math.Abs(got.SpoiltPerTurn-want) > 1e-9 || got.JamsPerTurn != 0 {
		t.Errorf("%+v, by hand %v spoilt", got, want)
	}
	// The second's pin a step earlier: it leads by 120 ms, and needs 10.
	r.pins = [][]int{{10}, {9}}
	sd = math.Sqrt(3*3 + 4*4 + 1*1 + 2*2 + 1*1 + 1*1 + p*p/arc/arc*2*0.5*0.5)
	want = distuv.UnitNormal.CDF((10 - 120) / sd)
	if got := r.turn(t).Faults(150).SpoiltPerTurn; math.Abs(got-want) > 1e-12 {
		t.Errorf("%v, by hand %v spoilt", got, want)
	}
}

// The average over the crank's angle against one over 5,000 angles.
func TestRippleIsAveragedOverTheCranksAngle(t *testing.T) {
	random := rand.New(rand.NewPCG(5, 6))
	in := func(lo, hi float64) float64 { return lo + random.Float64()*(hi-lo) }
	worst := 0.0
	for range 300 {
		o := odds{rise: in(-4, 4), offset: in(-0.1, 0.1), ahead: in(0, 0.4), behind: in(0, 0.4), variance: variance{math.Pow(in(0, 0.03), 2), math.Pow(in(0, 0.1), 2)}}
		if random.IntN(2) == 0 {
			o.behind = math.Inf(1)
		}
		sc := &scatter{wander: in(0, 0.03), crank: newCrankTurn(in(0.001, 0.3))}
		p := in(0.05, 0.5)
		const angles = 5_000
		want := 0.0
		for k := range angles {
			f := 1 / (1 + sc.crank.ripple*math.Sin(2*math.Pi*(float64(k)+0.5)/angles))
			lead := o.rise*p*f + o.offset
			n := distuv.Normal{Mu: lead, Sigma: math.Sqrt(o.fixed + o.perP2*p*p + math.Pow(sc.wander*o.rise*p*f, 2))}
			if math.IsInf(o.behind, 1) {
				want += n.CDF(o.ahead) / angles
			} else {
				want += (n.CDF(o.ahead) - n.CDF(-o.behind)) / angles
			}
		}
		got := sc.chance(&o, p)
		if off := math.Abs(got - want); off > 1e-6+1e-3*want {
			t.Errorf("%+v at p = %v, ripple %v: %v, averaged over %d angles %v", o, p, sc.crank.ripple, got, angles, want)
		} else if want > 0 {
			worst = max(worst, off)
		}
	}
	t.Logf("farthest off %.2g", worst)
}

// Bounds over a range of tempos hold at every tempo in it, and close in on the
// chance as the range narrows.
func TestBoundsHoldOverTheirRange(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 8))
	in := func(lo, hi float64) float64 { return lo + random.Float64()*(hi-lo) }
	for range 2000 {
		o := odds{rise: in(-4, 4), offset: in(-0.3, 0.3), ahead: in(0, 0.4), behind: in(0, 0.4), variance: variance{math.Pow(in(0, 0.03), 2), math.Pow(in(0, 0.1), 2)}}
		sc := &scatter{wander: in(0, 0.03), crank: newCrankTurn(in(0, 0.2))}
		shortest := in(0.05, 0.5)
		longest := shortest * (1 + in(0, 0.3))
		rough := sc.atMost(&o, shortest, longest, sc.crank.least(), sc.crank.most())
		close := sc.atMostOverTurn(&o, shortest, longest)
		for range 20 {
			p := in(shortest, longest)
			got := sc.chance(&o, p)
			if got > rough*(1+1e-6)+1e-6 || got > close*(1+1e-6)+1e-6 {
				t.Fatalf("%+v at p = %v in %v to %v: %v, at most %v, %v", o, p, shortest, longest, got, rough, close)
			}
		}
		p := shortest
		if got, bound := sc.chance(&o, p), sc.atMostOverTurn(&o, p, p*(1+1e-10)); math.Abs(got-bound) > 1e-6 {
			t.Fatalf("%+v at p = %v: %v, bound of a point %v", o, p, got, bound)
		}
	}
}

// No slower tempo fails: a scan of the tempos from the lowest to keep-below, and
// of those just above it, of which one has to fail.
func TestKeepBelowHoldsAtEverySlowerTempo(t *testing.T) {
	random := rand.New(rand.NewPCG(9, 10))
	machines := 400
	if testing.Short() {
		machines = 60
	}
	kept, bareKept, never := 0, 0, 0
	for range machines {
		r := anyRig(random)
		r.spoiltMost, r.jamsMost = math.Pow(10, -1-2*random.Float64()), math.Pow(10, -1-2*random.Float64())
		turn := r.turn(t)
		bare, safe := turn.MaxSafe()
		within := func(bpm float64) bool {
			f := turn.Faults(bpm)
			return f.SpoiltPerTurn <= r.spoiltMost && f.JamsPerTurn <= r.jamsMost
		}
		keep, ok := turn.KeepBelow()
		switch {
		case !ok:
			never++
			if safe && within(r.slowest) {
				t.Fatalf("no keep-below, and at the lowest tempo %+v", turn.Faults(r.slowest))
			}
			continue
		case !safe || keep > bare:
			t.Fatalf("keep below %v, bare limit %v, %v", keep, bare, safe)
		case keep == bare:
			bareKept++
		default:
			kept++
			if next := keep * (1 + 3e-7); next < bare && within(next) {
				t.Fatalf("keep below %v, and %v is within limits: %+v", keep, next, turn.Faults(next))
			}
		}
		for k := 0.0; k <= 500; k++ {
			if bpm := r.slowest + (keep-r.slowest)*k/500; !within(bpm) {
				t.Fatalf("keep below %v, and at %v %+v", keep, bpm, turn.Faults(bpm))
			}
		}
	}
	t.Logf("%d kept below the bare limit, %d at it, %d at no tempo", kept, bareKept, never)
	if kept < machines/4 || bareKept == 0 || never == 0 {
		t.Error("too few of some kind")
	}
}

// Pins out of place matter most where the wheel is slow: a pin half a millimetre
// late is 17 ms late at 30 BPM and 6 ms at 90. Two marbles let go by one step,
// 80 ms apart, and needing 53, jam at the lowest tempo and not in the middle of
// the range: so there is no tempo below which all is well.
func TestSlowTemposThatFailLeaveNoKeepBelow(t *testing.T) {
	r := oneChannel(func(c *rigChannel) { c.drain, c.exit = nil, rigFigure{} })
	r.lanes = []rigLane{{length: rigFigure{v: 400}, keep: rigFigure{v: 1}}}
	r.channels = append(r.channels, r.channels[0])
	r.channels[0].latch, r.channels[1].latch = rigFigure{v: 20}, rigFigure{v: 100}
	r.pins, r.pinSD = [][]int{{10}, {10}}, 0.5
	turn := r.turn(t)
	if bare, ok := turn.MaxSafe(); !ok || bare < 90 {
		t.Fatalf("the bare limit is %v, %v", bare, ok)
	}
	if slow, middle := turn.Faults(30).JamsPerTurn, turn.Faults(90).JamsPerTurn; slow < 0.1 || middle > 0.001 {
		t.Errorf("%v jams at 30 BPM, %v at 90", slow, middle)
	}
	if keep, ok := turn.KeepBelow(); ok {
		t.Errorf("keep below %v", keep)
	}
}

// Where nothing varies and everything is known, keep-below is the bare limit.
func TestWithoutSpreadAndDoubtKeepBelowIsTheBareLimit(t *testing.T) {
	random := rand.New(rand.NewPCG(11, 12))
	compared := 0
	for range 100 {
		r := anyRig(random)
		r.figures(func(_ string, f *rigFigure) { f.s, f.u = 0, 0 })
		r.pinSD, r.wander, r.ripple = 0, 0, 0
		turn := r.turn(t)
		bare, safe := turn.MaxSafe()
		keep, ok := turn.KeepBelow()
		if ok != safe || keep != bare {
			t.Fatalf("keep below %v, %v; bare limit %v, %v", keep, ok, bare, safe)
		}
		if safe {
			compared++
		}
	}
	if compared < 20 {
		t.Errorf("only %d have a bare limit", compared)
	}
}

// Drops thrown one by one. What is counted scatters as turns do, so each rig's
// count has to lie within four of its standard errors of what is expected, or
// 30 % of it; summed up over all rigs the scatter is small.
//
// By its definition keep-below takes lanes' needs at their nominal values. That
// is so here as well: what would change them does not vary. How much it matters
// where they do is printed by a long run.
func TestFaultsAgreeWithDropsThrownOneByOne(t *testing.T) {
	random := rand.New(rand.NewPCG(13, 14))
	rigs, turns := 25, 500
	if testing.Short() {
		rigs, turns = 8, 250
	}
	if *throwLong {
		rigs, turns = 100, 4000
	}
	spoilt, jams := throwAll(t, random, rigs, turns, (*rig).exactNeeds)
	for _, s := range []*tally{spoilt, jams} {
		if math.Abs(s.counted-s.expected) > 4*math.Sqrt(s.variance)+0.15*s.expected {
			t.Errorf("%s of all: expected %v, thrown %v", s.what, s.expected, s.counted)
		}
		if s.compared < rigs || s.expected < 0.005*float64(rigs) {
			t.Errorf("%s: %d compared, %.3g expected over all; too few to say anything", s.what, s.compared, s.expected)
		}
		for _, off := range s.off {
			t.Error(off)
		}
	}
	if *throwLong {
		spoilt, jams = throwAll(t, random, rigs, turns, func(r *rig) *rig { return r })
		t.Logf("with needs that vary, %d of %d and %d of %d are off", len(spoilt.off), spoilt.compared, len(jams.off), jams.compared)
	}
}

// throwAll throws drops on rigs that are drawn and then changed.
func throwAll(t *testing.T, random *rand.Rand, rigs, turns int, change func(*rig) *rig) (spoilt, jams *tally) {
	n, safeNowhere := float64(turns), 0
	spoilt, jams = &tally{what: "spoilt"}, &tally{what: "jams"}
	for played := 0; played < rigs; {
		r := change(anyRig(random))
		turn := r.turn(t)
		bare, safe := turn.MaxSafe()
		if !safe {
			safeNowhere++
			continue
		}
		played++
		// for each kind the tempo near the bound at which there is most to count,
		// and still under a tenth of a fault
		for _, of := range []func(Faults) float64{
			func(f Faults) float64 { return f.SpoiltPerTurn },
			func(f Faults) float64 { return f.JamsPerTurn },
		} {
			tempo, most := 0.0, -1.0
			for k := 0.6; k <= 1.2; k += 0.01 {
				if e := of(turn.Faults(bare * k)); e < 0.1 && e > most {
					tempo, most = bare*k, e
				}
			}
			if most < 0 {
				continue
			}
			want := turn.Faults(tempo)
			var sum, squares thrown
			for range turns {
				got := r.throw(random, tempo)
				sum.spoilt, squares.spoilt = sum.spoilt+got.spoilt, squares.spoilt+got.spoilt*got.spoilt
				sum.jams, squares.jams = sum.jams+got.jams, squares.jams+got.jams*got.jams
			}
			spoilt.add(tempo, want.SpoiltPerTurn, sum.spoilt/n, squares.spoilt/n, n)
			jams.add(tempo, want.JamsPerTurn, sum.jams/n, squares.jams/n, n)
		}
	}
	t.Logf("%d rigs, %d turns each, %d others safe nowhere; over all: spoilt expected %.4g, thrown %.4g ± %.2g; jams %.4g, %.4g ± %.2g", rigs, turns, safeNowhere,
		spoilt.expected, spoilt.counted, math.Sqrt(spoilt.variance), jams.expected, jams.counted, math.Sqrt(jams.variance))
	return spoilt, jams
}

// tally is what was expected and counted in a turn of each of some rigs.
type tally struct {
	what                        string
	compared                    int
	expected, counted, variance float64
	off                         []string
}

func (s *tally) add(tempo, want, mean, square, turns float64) {
	if want >= 0.1 {
		return
	}
	variance := max(square-mean*mean, want) / turns
	if math.Abs(mean-want) > 4*math.Sqrt(variance)+0.3*want {
		s.off = append(s.off, fmt.Sprintf("%s at %.2f BPM: expected %.4g a turn, thrown %.4g ± %.2g", s.what, tempo, want, mean, math.Sqrt(variance)))
	}
	s.compared++
	s.expected += want
	s.counted += mean
	s.variance += variance
}

// How moments move with figures, against the plain second way to the verdict
// with the figure set in the machine's file. Nothing here moves by the package's
// own walk.
func TestMomentsMoveAsFiguresDo(t *testing.T) {
	machines := rapid.Custom(func(t *rapid.T) *Works {
		w, _ := anyMachine(t)
		return w
	})
	moved, downward := 0, 0
	for n := range 150 {
		w := machines.Example(n)
		sc := w.scatter()
		ways := func(m *wheel.Machine) (all [][]float64) {
			for i := range m.Channels {
				way := plain{m: m}.way(&m.Channels[i])
				var moments []float64
				for _, q := range way.passings {
					moments = append(moments, q.enter)
				}
				all = append(all, append(moments, way.strike))
			}
			return all
		}
		usual := ways(w.Machine)
		for k, x := range sc.all {
			if !x.moves || x.path == "" {
				continue
			}
			h := math.Hypot(x.s, x.u)
			m, err := w.Machine.With(x.path, x.value+h)
			if err == nil {
				_, err = Compile(m)
			}
			if err != nil {
				h = -h
				downward++
				if m, err = w.Machine.With(x.path, x.value+h); err != nil {
					t.Fatal(err)
				}
			}
			for i, moments := range ways(m) {
				for n, at := range moments {
					var got shift
					for _, s := range sc.shifts[sc.first[i]+n] {
						if s.source == k {
							got = s
						}
					}
					slope := (at - usual[i][n]) / h
					if math.Abs(got.u-slope*x.u) > 1e-12+1e-7*math.Abs(got.u) || math.Abs(got.s-slope*x.s) > 1e-12+1e-7*math.Abs(got.s) {
						t.Fatalf("%s moves moment %d of channel %d by %v a doubt and %v a spread, want %v and %v", x.path, n, i, got.u, got.s, slope*x.u, slope*x.s)
					}
					if slope != 0 {
						moved++
					}
				}
			}
		}
	}
	t.Logf("%d moments moved, %d figures downward", moved, downward)
	if moved < 1000 || downward == 0 {
		t.Errorf("%d moments moved, %d figures downward", moved, downward)
	}
}

// What nobody knows of the air in a pipe moves its fall: by as much as the law of
// the fall tells with C = 0.8 and 1.
func TestDoubtOfTheAirInAPipeCounts(t *testing.T) {
	r := oneChannel(func(c *rigChannel) {})
	m := r.file(t)
	m.Marble.DensityKgM3, m.Lanes[0].BoreMM = 7850, 13
	w := must(Compile(m))
	fall := func(c float64) float64 {
		time, _ := PipeFall(0, TerminalSpeed(0.012, 0.013, 7850, c), 0.24)
		return time
	}
	want := fall(1) - fall(0.8)
	got := w.scatter().apart(w.scatter().strike(0), w.scatter().first[0])
	if want > -0.001 || math.Abs(math.Sqrt(got)+want) > 1e-12 {
		t.Errorf("the strike's deviation is %v s, want %v", math.Sqrt(got), -want)
	}
}
