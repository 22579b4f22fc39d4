package timing

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/arrange"
	"pinwright/wheel/demo"
	"pinwright/wheel/song"
)

func (r *rig) keepBelow(t *testing.T) (float64, bool) { return r.turn(t).KeepBelow() }

// Every cost against keep-below of a machine file in which the figure's doubt
// is written as ten measurements would leave it (JCGM 100:2008, 4.2.3: s/√n).
func TestWhatDoubtCostsIsWhatMeasuringWins(t *testing.T) {
	random := rand.New(rand.NewPCG(15, 16))
	machines := 40
	if testing.Short() {
		machines = 10
	}
	won, nothing := 0, 0
	for range machines {
		r := anyRig(random)
		turn := r.turn(t)
		costs := map[string]float64{}
		last := math.Inf(1)
		for _, c := range turn.DoubtCosts() {
			if c.BPM > last {
				t.Fatalf("%s wins %v, the one before %v", c.Figure, c.BPM, last)
			}
			costs[c.Figure], last = c.BPM, c.BPM
		}
		now, ok := turn.KeepBelow()
		if !ok {
			if len(costs) > 0 {
				t.Fatalf("no keep-below, and costs %v", costs)
			}
			continue
		}
		r.figures(func(path string, f *rigFigure) {
			u := f.s / math.Sqrt(10)
			if f.s == 0 {
				u = f.u / math.Sqrt(10)
			}
			if u >= f.u {
				if _, is := costs[path]; is {
					t.Fatalf("%s is known better than ten measurements would tell, and costs %v", path, costs[path])
				}
				return
			}
			then, ok := r.changed(func(p string, f *rigFigure) {
				if p == path {
					f.u = u
				}
			}).keepBelow(t)
			if !ok || math.Abs(then-now-costs[path]) > leastWin+1e-5 {
				t.Fatalf("%s measured ten times: keep below %v (%v), now %v; told to win %v", path, then, ok, now, costs[path])
			}
			if costs[path] > 0 {
				if math.Abs(then-now-costs[path]) > 1e-5 {
					t.Fatalf("%s measured ten times wins %v, told %v", path, then-now, costs[path])
				}
				won++
			} else {
				nothing++
			}
		})
	}
	t.Logf("%d figures win something, %d nothing", won, nothing)
	if won < 5*machines/10 || nothing == 0 {
		t.Error("too few of some kind")
	}
}

// Every part against keep-below of a machine file without that.
func TestTheDistanceToTheBareLimitIsDivided(t *testing.T) {
	random := rand.New(rand.NewPCG(17, 18))
	machines := 60
	if testing.Short() {
		machines = 15
	}
	divided := 0
	for range machines {
		r := anyRig(random)
		turn := r.turn(t)
		shares := turn.Divide()
		now, ok := turn.KeepBelow()
		if !ok {
			if shares != nil {
				t.Fatalf("no keep-below, divided as %v", shares)
			}
			continue
		}
		bare, _ := turn.MaxSafe()
		spread := r.changed(func(_ string, f *rigFigure) { f.s = 0 })
		doubt := r.changed(func(_ string, f *rigFigure) { f.u = 0 })
		pins, crank := *r, *r
		pins.pinSD, crank.wander, crank.ripple = 0, 0, 0
		gains, sum := make([]float64, 4), 0.0
		for i, without := range []*rig{spread, doubt, &pins, &crank} {
			then, _ := without.keepBelow(t)
			gains[i] = max(then-now, 0)
			sum += gains[i]
		}
		if sum == 0 {
			continue
		}
		whole := 0.0
		for i, s := range shares {
			if want := gains[i] * (bare - now) / sum; s.By != ShareOf(i) || math.Abs(s.BPM-want) > 1e-4*(1+want) {
				t.Fatalf("part %d is %+v, want %v", i, s, want)
			}
			whole += s.BPM
		}
		if math.Abs(whole-(bare-now)) > 1e-9*bare {
			t.Fatalf("the parts %v are %v, the distance %v", shares, whole, bare-now)
		}
		divided++
	}
	if divided < machines/8 {
		t.Errorf("only %d divided", divided)
	}
}

func TestContributionsAreAllThatIsExpected(t *testing.T) {
	random := rand.New(rand.NewPCG(19, 20))
	causes := map[string]int{}
	for range 60 {
		r := anyRig(random)
		turn := r.turn(t)
		bare, ok := turn.MaxSafe()
		if !ok {
			bare = 60
		}
		want := turn.Faults(bare)
		var sum Faults
		all := turn.Contributions(bare, math.MaxInt)
		for i, c := range all {
			if i > 0 && c.PerTurn > all[i-1].PerTurn {
				t.Fatalf("%+v after %+v", c, all[i-1])
			}
			if c.Jam {
				sum.JamsPerTurn += c.PerTurn
			} else {
				sum.SpoiltPerTurn += c.PerTurn
			}
			if !turn.Has(c.Channel, c.Step) || !turn.Has(c.Other, c.OtherStep) || c.Places < 1 {
				t.Fatalf("%+v is where there are no pins", c)
			}
			causes[c.Kind.String()]++
		}
		if math.Abs(sum.SpoiltPerTurn-want.SpoiltPerTurn) > 1e-12 || math.Abs(sum.JamsPerTurn-want.JamsPerTurn) > 1e-12 {
			t.Fatalf("contributions are %+v, faults %+v", sum, want)
		}
		if three := turn.Contributions(bare, 3); len(three) != min(3, len(all)) || len(three) > 0 && three[0] != all[0] {
			t.Fatalf("the three that contribute most are %+v of %+v", three, all)
		}
	}
	for _, k := range []Kind{Crowded, Unready, Unclear, Meeting} {
		if causes[k.String()] == 0 {
			t.Errorf("no %s among %v", k, causes)
		}
	}
}

// A resting channel's pins spoil a note each and nothing else; so does each step
// with too many pins, and a gap that the lever is held over.
func TestWhatIsSureToSpoilCountsOne(t *testing.T) {
	r := oneChannel(func(c *rigChannel) { c.hold, c.drain = rigFigure{v: 20}, nil }) // over a step and a third
	r.channels = append(r.channels, r.channels[0], r.channels[0])
	r.lanes, r.channels[2].path = append(r.lanes, r.lanes[0]), []int{2}
	r.pins = [][]int{{0, 1, 2, 40, 80}, {3, 40, 120}, {40, 200}}
	m := r.file(t)
	m.Limits.TripsAtOnce = 2
	m.Channels[1].Service = wheel.Resting
	w, err := Compile(m)
	if err != nil {
		t.Fatal(err)
	}
	turn := w.NewTurn()
	for i, steps := range r.pins {
		for _, s := range steps {
			turn.Drive(i, s)
		}
	}
	// 2 gaps of one step, 1 step of 3 pins, 3 pins that rest
	if got := turn.Faults(30).SpoiltPerTurn; math.Abs(got-6) > 1e-9 {
		t.Errorf("%v spoilt, by hand 2 + 1 + 3", got)
	}
	want := map[string]Contribution{
		"silent":   {PerTurn: 3, Places: 3, Step: 3, OtherStep: -1},
		"crowded":  {PerTurn: 2, Places: 2, Step: 0, OtherStep: 1},
		"overload": {PerTurn: 1, Places: 1, Step: 40, OtherStep: -1},
	}
	for _, c := range turn.Contributions(30, 3) {
		if e := want[c.Kind.String()]; c.PerTurn != e.PerTurn || c.Places != e.Places || c.Step != e.Step || c.OtherStep != e.OtherStep {
			t.Errorf("%s: %+v, by hand %+v", c.Kind, c, e)
		}
	}
	if bpm, ok := turn.KeepBelow(); ok {
		t.Errorf("keep below %v, though notes are spoilt at every tempo", bpm)
	}
}

// Machines whose true figures are drawn from the doubts that are stated: what
// has to be expected of each at the keep-below of the one that is in the file.
// The needs of lanes are taken at their nominal values, so only what bears on
// none of them is held to the promise; the rest is printed.
func TestMachinesDrawnFromTheirDoubtsKeepThePromise(t *testing.T) {
	machines := 200
	if testing.Short() {
		machines = 40
	}
	random := rand.New(rand.NewPCG(21, 22))
	w := must(Compile(demo.Machine()))
	promise := mostFaults(w.Machine)
	bearsOnNeeds := func(path string) bool {
		return strings.HasPrefix(path, "lanes.") || strings.HasSuffix(path, ".exit_mm_s")
	}
	doubts := w.Machine.Doubts()
	type figure struct {
		wheel.Set
		u float64
	}
	var figures []figure
	for _, f := range w.Machine.Figures() {
		if u := doubts.Of(f.Path).U; u > 0 && f.Given {
			figures = append(figures, figure{wheel.Set{Path: f.Path, Value: f.Value}, u})
		}
	}
	for _, s := range demo.Songs() {
		p, _, err := arrange.Set(t.Context(), w, must(song.Parse(s.Bytes, s.FileName))[0], arrange.Request{Advance: true, Repeat: true})
		if err != nil {
			t.Fatal(err)
		}
		keep, ok := must(w.Turn(p)).KeepBelow()
		if !ok {
			t.Fatalf("%s has no keep-below", s.FileName)
		}
		for _, all := range []bool{false, true} {
			var sum Faults
			worse := 0
			for range machines {
				sets := make([]wheel.Set, 0, len(figures))
				for _, f := range figures {
					if all || !bearsOnNeeds(f.Path) {
						sets = append(sets, wheel.Set{Path: f.Path, Value: max(f.Value+f.u*random.NormFloat64(), 0)})
					}
				}
				is := must(Compile(must(w.Machine.WithSets(sets...))))
				sources := is.sources()
				for k := range sources {
					if all || !bearsOnNeeds(sources[k].path) {
						sources[k].u = 0 // these are the true ones
					}
				}
				turn := must(is.Turn(p))
				period := is.Machine.Wheel.StepPeriod(keep)
				turn.risks.find(turn, newScatter(is, sources), period, period)
				f := turn.risks.faults(period)
				sum.SpoiltPerTurn += f.SpoiltPerTurn / float64(machines)
				sum.JamsPerTurn += f.JamsPerTurn / float64(machines)
				if !f.within(promise) {
					worse++
				}
			}
			what := "all figures drawn"
			if !all {
				what = "all drawn but those that lanes' needs depend on"
			}
			t.Logf("%s at its keep-below, %.2f BPM, %s: a turn of %d machines spoils %.4f notes (promised %.4f) and jams %.4f times (%.4f) on average; %d of them are worse than promised",
				s.FileName, keep, what, machines, sum.SpoiltPerTurn, promise.SpoiltPerTurn, sum.JamsPerTurn, promise.JamsPerTurn, worse)
			// few machines make most of the faults, so the mean of 200 is a rough one
			if sum.SpoiltPerTurn > 3*promise.SpoiltPerTurn || !all && sum.JamsPerTurn > 3*promise.JamsPerTurn {
				t.Errorf("%s: %+v on average, promised %+v", s.FileName, sum, promise)
			}
		}
	}
}

// Chords against strikes thrown: each late by the latch's spread and by its
// pin's place.
func TestChordsBeyondFlamAgreeWithStrikesThrown(t *testing.T) {
	random := rand.New(rand.NewPCG(23, 24))
	const throws = 20_000
	wide := 0
	for n := range 12 {
		r := anyRig(random)
		for len(r.channels) < 2+n%4 {
			r.channels = append(r.channels, r.channels[0])
		}
		for i := range r.channels { // near each other, so that there is something to count
			c := &r.channels[i]
			c.path, c.release, c.reach = []int{0}, rigFigure{}, rigFigure{v: 3}
			c.latch = rigFigure{15 + 10*random.Float64(), 6 * random.Float64(), 2}
		}
		r.pins = make([][]int, len(r.channels))
		m := r.file(t)
		w := must(Compile(m))
		p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Chord", TempoBPM: 60}
		for i := range m.Channels {
			for _, step := range []int{5, 20, 50} { // one chord, three times
				p.Pins = append(p.Pins, wheel.Pin{Channel: m.Channels[i].ID, Step: step})
			}
		}
		tempo := 60 + 60*random.Float64()
		got := must(w.Turn(p)).BeyondFlam(tempo)
		arc, period, count := 2*math.Pi*r.radius/float64(r.steps), 60/(tempo*float64(r.q)), 0
		for range throws {
			low, high := math.Inf(1), math.Inf(-1)
			for _, c := range r.channels { // they have one fall and one reach: only latches differ
				at := c.latch.v + c.latch.s*random.NormFloat64() + 1000*period*r.pinSD/arc*random.NormFloat64()
				low, high = min(low, at), max(high, at)
			}
			if high-low > 20 {
				count++
			}
		}
		share := float64(count) / throws
		if se := math.Sqrt(max(share*(1-share), 1./throws) / throws); math.Abs(got-share) > 5*se {
			t.Errorf("%d strikes at %.1f BPM: %v beyond flam, thrown %v ± %.2g", len(r.channels), tempo, got, share, se)
		}
		if share > 0.01 {
			wide++
		}
	}
	if wide < 4 {
		t.Errorf("only %d chords are wide often enough to count", wide)
	}
}

// Of two strikes by hand: latches of 10 and 25 ms with spreads of 3 and 4 ms are
// more than 20 ms apart with Φ((15 − 20)/5) + Φ((−15 − 20)/5) = Φ(−1) = 0.1587.
func TestTwoStrikesWorkedByHand(t *testing.T) {
	c := spreads{times: []struck{{0.010, 0.003}, {0.025, 0.004}}}
	if got := c.beyond(0.020); math.Abs(got-0.158655) > 1e-6 {
		t.Errorf("%v, by hand 0.158655", got)
	}
	for _, exact := range []struct{ apart, want float64 }{{0.020, 0}, {0.021, 1}} {
		c := spreads{times: []struck{{0, 0}, {exact.apart, 0}, {0.005, 0}}}
		if got := c.beyond(0.020); got != exact.want {
			t.Errorf("exact times %v s apart: %v beyond 20 ms", exact.apart, got)
		}
	}
}

func ExampleTurn_KeepBelow() {
	w, _ := Compile(demo.Machine())
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Two knocks", TempoBPM: 90, Pins: []wheel.Pin{
		{Channel: "bar-c5", Step: 0}, {Channel: "bar-c5", Step: 1},
	}}
	t, _ := w.Turn(p)
	bare, _ := t.MaxSafe()
	keep, _ := t.KeepBelow()
	f := t.Faults(95)
	fmt.Printf("If every figure were exact: %.1f BPM. Keep below %.1f. At 95: a spoilt note in %.0f turns.\n", bare, keep, 1/f.SpoiltPerTurn)
	// Output: If every figure were exact: 107.1 BPM. Keep below 86.2. At 95: a spoilt note in 10 turns.
}
