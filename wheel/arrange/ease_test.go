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
	"pinwright/wheel/song"
)

func easeTrial(t testing.TB, tr trial, o EaseOptions) *Eased {
	t.Helper()
	left, r, err := easeNotes(context.Background(), tr.w, tr.notes, tr.advance, tr.bpm, o)
	if err != nil {
		t.Fatalf("%v: %v", tr, err)
	}
	tr.hold(t, left, r)
	return r
}

// hold holds a result against what it says of itself: costs add up, notes are
// those that came in less those left out, and the tempo can be trusted.
func (tr trial) hold(t testing.TB, left []placedNote, r *Eased) {
	t.Helper()
	sum, dropped := 0.0, 0
	for _, c := range r.Changes {
		sum += c.Cost
		if c.Kind == "dropped" {
			dropped++
		}
	}
	if math.Abs(sum-r.Cost) > 1e-9*(1+sum) || len(left)+dropped != len(tr.notes) {
		t.Errorf("%v: changes cost %g, said %g; %d notes, %d left out", tr, sum, r.Cost, len(left), dropped)
	}
	if r.LowerBound > r.Cost+1e-9 || r.Exact && r.LowerBound != r.Cost {
		t.Errorf("%v: lower bound %g, cost %g, exact %v", tr, r.LowerBound, r.Cost, r.Exact)
	}
	turn, err := tr.w.Turn(tr.pins(left))
	if err != nil {
		t.Fatal(err)
	}
	bpm, ok := turn.MaxSafe()
	same(t, tr, "bare limit", bpm, ok, r.MaxSafeBPM)
	bpm, ok = turn.KeepBelow()
	same(t, tr, "keep below", bpm, ok, r.KeepBelowBPM)
	if r.Cannot == nil && (!ok || bpm < tr.bpm*(1-1e-11)) {
		t.Errorf("%v: keep below %v %v", tr, bpm, ok)
	}
	if r.EasedToBPM == nil {
		return
	}
	steps := (*r.EasedToBPM - tr.w.EasingTempo(tr.bpm)) / 0.5
	if r.Cannot == nil && (steps < -1e-9 || math.Abs(steps-math.Round(steps)) > 1e-9) {
		t.Errorf("%v: eased to a bare limit of %g BPM", tr, *r.EasedToBPM)
	}
}

func same(t testing.TB, tr trial, what string, bpm float64, ok bool, said *float64) {
	t.Helper()
	if ok != (said != nil) || ok && math.Abs(bpm-*said) > 1e-9*bpm {
		t.Errorf("%v: %s %v %v, said %v", tr, what, bpm, ok, said)
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
		var notes [2][]placedNote
		var eased [2]*Eased
		for i := range eased {
			var err error
			if notes[i], eased[i], err = easeNotes(t.Context(), tr.w, tr.notes, tr.advance, tr.bpm, EaseOptions{Limit: time.Minute}); err != nil {
				t.Fatal(err)
			}
		}
		if !reflect.DeepEqual(eased[0], eased[1]) || !reflect.DeepEqual(notes[0], notes[1]) {
			t.Fatalf("%v: once %+v %+v, then %+v %+v", tr, eased[0], notes[0], eased[1], notes[1])
		}
	}
}

// What easing to a bare limit comes to on the demo's machine, as first proved the least by the
// solver when it was new: whatever is changed in it, the least cost stays.
func TestEasingKeepsItsLeastCosts(t *testing.T) {
	hail := compile(t, bare(demo.Machine()))
	free := bare(demo.Machine())
	for i := range free.Channels {
		free.Channels[i].Path, free.Channels[i].Exit = nil, nil
	}
	busy := compile(t, bare(drained(64, 1024)))
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

// The same of the demo's own songs, set whole.
func TestEasingTheDemosSongsKeepsItsLeastCosts(t *testing.T) {
	w := compile(t, bare(demo.Machine()))
	want := map[string]map[float64]float64{ // by file and tempo
		"mill-race.mid":     {84: 0, 120: 0.31338582677165355, 150: 0.6141732283464567, 180: 7.577952755905514},
		"frere-jacques.mid": {84: 0, 120: 4.79527559055118, 150: 4.79527559055118, 180: 9.59055118110236},
		"nine-knocks.mid":   {84: 0, 120: 2.204724409448819, 150: 2.204724409448819, 180: 2.204724409448819},
	}
	for _, file := range demo.Songs() {
		songs, err := song.Parse(file.Bytes, file.FileName)
		if err != nil {
			t.Fatal(err)
		}
		if want[file.FileName] == nil {
			t.Errorf("%s: no costs are recorded", file.FileName)
		}
		for bpm, cost := range want[file.FileName] {
			_, r, err := Set(t.Context(), w, songs[0], Request{TempoBPM: bpm, Advance: true, Repeat: true, Ease: true, EaseLimit: time.Minute})
			if err != nil {
				t.Fatal(err)
			}
			if !r.Eased.Exact || math.Abs(r.Cost-cost) > 1e-9 || r.Eased.LeftOut != 0 {
				t.Errorf("%s at %g BPM: cost %v, exact %v, %d left out; want %v", file.FileName, bpm, r.Cost, r.Eased.Exact, r.Eased.LeftOut, cost)
			}
		}
	}
}
