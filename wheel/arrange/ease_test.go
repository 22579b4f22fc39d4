package arrange

import (
	"context"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"pinwright/wheel/demo"
	"pinwright/wheel/ease"
)

func easeTrial(t testing.TB, tr trial, o EaseOptions) *Eased {
	t.Helper()
	r, err := easeNotes(context.Background(), tr.w, tr.notes, tr.advance, tr.bpm, o)
	if err != nil {
		t.Fatalf("%v: %v", tr, err)
	}
	tr.hold(t, r)
	return r
}

// hold holds a result against what it says of itself: costs add up, notes are
// those that came in less those left out, and the tempo is safe.
func (tr trial) hold(t testing.TB, r *Eased) {
	t.Helper()
	sum, dropped := 0.0, 0
	for _, c := range r.Changes {
		sum += c.Cost
		if c.Kind == "dropped" {
			dropped++
		}
	}
	if math.Abs(sum-r.Cost) > 1e-9*(1+sum) || len(r.Notes)+dropped != len(tr.notes) {
		t.Errorf("%v: changes cost %g, said %g; %d notes, %d left out", tr, sum, r.Cost, len(r.Notes), dropped)
	}
	if r.LowerBound > r.Cost+1e-9 || r.Exact && r.LowerBound != r.Cost {
		t.Errorf("%v: lower bound %g, cost %g, exact %v", tr, r.LowerBound, r.Cost, r.Exact)
	}
	bpm, ok := tr.w.MaxSafe(tr.pins(r.Notes))
	if ok != (r.MaxSafeBPM != nil) || ok && math.Abs(bpm-*r.MaxSafeBPM) > 1e-9*bpm {
		t.Errorf("%v: highest safe tempo %v %v, said %v", tr, bpm, ok, r.MaxSafeBPM)
	}
	if r.Cannot == nil && (!ok || bpm < tr.bpm*(1-1e-11)) {
		t.Errorf("%v: highest safe tempo %v %v", tr, bpm, ok)
	}
}

// TestEasingCostsTheLeast holds the cost of easings against a plain search
// through all there are.
func TestEasingCostsTheLeast(t *testing.T) {
	for _, c := range []struct {
		name  string
		kind  trialKind
		cases int
	}{
		{"one channel round the seam", trialKind{channels: 1, notes: 6}, 600},
		{"channels by themselves", trialKind{channels: 3, notes: 6}, 150},
		{"twins", trialKind{channels: 2, twins: true, notes: 6}, 300},
		{"three of one key", trialKind{channels: 3, twins: true, notes: 8, least: 7}, 40},
		{"channels that share lanes", trialKind{channels: 3, lanes: true, notes: 6}, 300},
		{"twins that share lanes", trialKind{channels: 2, lanes: true, twins: true, notes: 6}, 200},
		{"two pins at once", trialKind{channels: 3, most: 2, lanes: true, notes: 6}, 150},
		{"one pin at once", trialKind{channels: 3, most: 1, twins: true, notes: 7, least: 6}, 100},
	} {
		t.Run(c.name, func(t *testing.T) {
			random := rand.New(rand.NewPCG(1, 2))
			changed, least := 0, 0
			for range c.cases {
				tr := smallTrial(t, random, c.kind)
				r := easeTrial(t, tr, EaseOptions{})
				want := tr.plain().least()
				if r.Cost > 0 {
					changed++
				}
				if math.Abs(r.Cost-want) < 1e-7 {
					least++
				}
				if r.LowerBound > want+1e-7 {
					t.Errorf("%v: lower bound %g, least cost %g", tr, r.LowerBound, want)
				}
				if r.Cost < want-1e-7 || r.Exact && r.Cost > want+1e-7 {
					t.Errorf("%v: cost %g, least %g", tr, r.Cost, want)
				}
				if !r.Exact {
					t.Errorf("%v: the least cost is not proved", tr)
				}
			}
			t.Logf("%d of %d found the least cost; %d had to change something", least, c.cases, changed)
			if changed < c.cases/4 {
				t.Errorf("only %d of %d cases had anything to ease", changed, c.cases)
			}
		})
	}
}

// TestBoundsHoldWhereThereIsNoProof leaves the solver room for so few states that
// it has to drop some, and holds what it says against a plain search and against
// mechanics: the lower bound below the least cost, the answer safe.
func TestBoundsHoldWhereThereIsNoProof(t *testing.T) {
	for _, c := range []struct {
		name string
		kind trialKind
	}{
		{"twins that share lanes", trialKind{channels: 2, lanes: true, twins: true, notes: 7, least: 4}},
		{"lanes", trialKind{channels: 3, lanes: true, notes: 8, least: 5}},
		{"two pins at once", trialKind{channels: 3, most: 2, lanes: true, notes: 8, least: 6}},
		{"one pin at once", trialKind{channels: 3, most: 1, twins: true, notes: 6, least: 5}},
	} {
		t.Run(c.name, func(t *testing.T) {
			random := rand.New(rand.NewPCG(5, 6))
			const cases = 150
			least, proved, eased := 0, 0, 0
			for range cases {
				tr := smallTrial(t, random, c.kind)
				to := tr.w.EasingTempo(tr.bpm)
				p := newGaps(tr.w, tr.notes, tr.advance, make([]wish, len(tr.notes)), to).problem()
				p.Limits.States = 1
				r := ease.Solve(t.Context(), p)
				var left []placedNote
				for n, k := range r.Chosen {
					if k != ease.LeftOut {
						moved, to := tr.notes[n], p.Notes[n].Candidates[k]
						moved.channel, moved.aim = int32(to.Channel), int32(tr.w.Machine.Wheel.Wrap(int(moved.aim)+to.Later))
						left = append(left, moved)
					}
				}
				if bpm, ok := tr.w.MaxSafe(tr.pins(left)); !ok || bpm < to*(1-1e-9) {
					t.Errorf("%v: highest safe tempo %v %v", tr, bpm, ok)
				}
				want := tr.plain().least()
				if r.LowerBound > want+1e-6 || r.Cost < want-1e-6 || r.Exact && r.Cost > want+1e-5 {
					t.Errorf("%v: lower bound %g, least %g, found %g", tr, r.LowerBound, want, r.Cost)
				}
				if want > 0 {
					eased++
				}
				if r.Cost < want+1e-6 {
					least++
				}
				if r.Exact {
					proved++
				}
			}
			t.Logf("of %d cases %d had anything to ease; %d found the least cost, %d proved it", cases, eased, least, proved)
			if proved == cases {
				t.Error("all were proved, so nothing of this was tried")
			}
		})
	}
}

func TestEasingIsTheSameEveryTime(t *testing.T) {
	random := rand.New(rand.NewPCG(3, 4))
	for range 30 {
		tr := smallTrial(t, random, trialKind{channels: 3, lanes: true, twins: true, notes: 6})
		a, b := easeTrial(t, tr, EaseOptions{Limit: time.Minute}), easeTrial(t, tr, EaseOptions{Limit: time.Minute})
		if !reflect.DeepEqual(a, b) {
			t.Fatalf("%v: once %+v, then %+v", tr, a, b)
		}
	}
}

// What easing comes to on the demo's machine, as first proved the least by the
// solver when it was new: whatever is changed in it, the least cost stays.
func TestEasingKeepsItsLeastCosts(t *testing.T) {
	hail := compile(t, demo.Machine())
	free := demo.Machine()
	for i := range free.Channels {
		free.Channels[i].Path, free.Channels[i].Exit = nil, nil
	}
	busy := compile(t, drained(64, 1024))
	for _, c := range []struct {
		name string
		tr   trial
		cost float64
	}{
		{"Hailstone, 1500 notes at 84", scatter(hail, 1500, 84), 165.83464566929143},
		{"Hailstone, 1500 notes at 120", scatter(hail, 1500, 120), 254.20314960629932},
		{"Hailstone without lanes, 1500 notes at 120", scatter(compile(t, free), 1500, 120), 164.67559055118102},
		{"64 channels with a drain, 1500 notes", scatter(busy, 1500, 90), 792.0251968503925},
		{"the same, twins", scatter(busy, 1500, 90).twins(), 790.0173228346446},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := easeTrial(t, c.tr, EaseOptions{Limit: 5 * time.Minute})
			if !r.Exact || math.Abs(r.Cost-c.cost) > 1e-6 {
				t.Errorf("cost %v, exact %v; want %v", r.Cost, r.Exact, c.cost)
			}
		})
	}
}
