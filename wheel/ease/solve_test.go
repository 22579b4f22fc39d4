package ease_test

import (
	"context"
	"math"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel/ease"
)

// kind is what a drawn problem has in it.
type kind struct {
	name     string
	channels int
	twins    bool // notes may go to several channels
	meetings int
	trips    bool
	stays    bool
	notes    int // at the least; 0 is 1
}

var kinds = []kind{
	{name: "one channel", channels: 1},
	{name: "twins", channels: 2, twins: true},
	{name: "meetings", channels: 3, meetings: 3},
	{name: "twins that meet", channels: 3, twins: true, meetings: 2},
	{name: "trips at once", channels: 3, twins: true, trips: true},
	{name: "notes that stay", channels: 2, twins: true, meetings: 1, stays: true},
	{name: "all of it", channels: 3, twins: true, meetings: 3, trips: true, stays: true},
}

// tight problems are those that most often leave more states than one.
var tight = []kind{
	{channels: 3, twins: true, meetings: 3, notes: 6},
	{channels: 2, twins: true, meetings: 1, trips: true, notes: 6},
	{channels: 2, twins: true, meetings: 1, stays: true, notes: 6},
}

func (k kind) draw(t *rapid.T) ease.Problem {
	int_ := func(name string, from, to int) int { return rapid.IntRange(from, to).Draw(t, name) }
	cost := func(name string) float64 { return float64(int_(name, 0, 16)) / 8 }
	p := ease.Problem{Turn: int_("turn", 6, 10)}
	if k.trips {
		p.TripsAtOnce = int_("trips at once", 1, 2)
	}
	least := 1
	if k.stays {
		least = 4
	}
	for range k.channels {
		p.Channels = append(p.Channels, ease.Channel{Gap: int_("gap", least, least+3), Advance: int_("advance", -3, 20)})
	}
	if int_("a channel that can have none", 0, 9) == 0 {
		p.Channels[0].Gap = p.Turn + 1
	}
	for range k.meetings {
		a := int_("channel", 0, k.channels-1)
		b := (a + int_("other", 1, k.channels-1)) % k.channels
		from := int_("from", -p.Turn-3, p.Turn+3)
		p.Meetings = append(p.Meetings, ease.Meeting{Channel: a, Other: b, From: from, To: from + int_("steps", 0, 4)})
	}
	far := int_("far", 1, 4)
	for range int_("notes", max(1, k.notes), 6) {
		n := ease.Note{Aim: int_("aim", 0, p.Turn-1), LeaveOut: 1 + cost("leave out"), Stays: k.stays && int_("stays", 0, 1) == 0}
		own := int_("own channel", 0, k.channels-1)
		for c := range k.channels {
			for later := -2; later <= 2; later++ {
				if (c == own || k.twins) && int_("allowed", 0, 1) > 0 {
					n.Candidates = append(n.Candidates, ease.Candidate{Channel: c, Later: far * later, Cost: cost("cost")})
				}
			}
		}
		n.Candidates = n.Candidates[:min(len(n.Candidates), 5)]
		p.Notes = append(p.Notes, n)
	}
	return p
}

// hold holds a result against its problem and against the best answer there is.
func hold(t *rapid.T, p ease.Problem, r ease.Result, best plainAnswer) {
	if rule := broken(p, r.Chosen); rule != "" {
		t.Fatalf("%v breaks a rule: %s", r.Chosen, rule)
	}
	sum, unkept := 0.0, []int(nil)
	for i, k := range r.Chosen {
		n := p.Notes[i]
		if k != ease.LeftOut {
			sum += n.Candidates[k].Cost
			continue
		}
		sum += n.LeaveOut
		if n.Stays {
			unkept = append(unkept, i)
		}
	}
	if math.Abs(sum-r.Cost) > 1e-9 || !slices.Equal(unkept, r.Unkept) {
		t.Fatalf("%+v: costs %g, %v are left out that stay", r, sum, unkept)
	}
	if r.LowerBound > r.Cost+1e-9 || r.Exact && r.LowerBound != r.Cost || best.unkept == 0 && r.LowerBound > best.cost+1e-6 {
		t.Fatalf("%+v: the least cost is %g", r, best.cost)
	}
	got := weigh(p, r.Chosen)
	if got.compare(best) < 0 {
		t.Fatalf("%+v: better than the best there is, %+v", r, best)
	}
	if r.Exact && (got.unkept != best.unkept || got.cost > best.cost+1e-5) {
		t.Fatalf("%+v: exact, but %+v is better", r, best)
	}
	if r.Impossible && best.unkept == 0 || r.Exact && best.unkept > 0 && !r.Impossible {
		t.Fatalf("%+v: %d notes have to be left out that stay", r, best.unkept)
	}
}

// Small problems are answered at the least cost, and that is proved.
func TestSolveFindsTheLeastCost(t *testing.T) {
	for _, k := range kinds {
		t.Run(k.name, func(t *testing.T) {
			eased, impossible, all := 0, 0, 0
			rapid.Check(t, func(t *rapid.T) {
				p := k.draw(t)
				r, best := ease.Solve(t.Context(), p), plainly(p)
				hold(t, p, r, best)
				if !r.Exact {
					t.Fatalf("%+v: not proved", r)
				}
				all++
				if len(r.Unkept) > 0 {
					impossible++
				}
				if slices.Contains(r.Chosen, ease.LeftOut) {
					eased++
				}
			})
			t.Logf("%d problems; in %d a note is left out, in %d one that stays", all, eased, impossible)
			if eased < all/10 || k.stays && impossible == 0 {
				t.Error("too little was tried")
			}
		})
	}
}

// What is said of an answer holds too where there is no room for a proof, no
// room for the problem, or no time.
func TestWhatIsProvedHoldsUnderAnyLimit(t *testing.T) {
	ended, cancel := context.WithCancel(t.Context())
	cancel()
	for _, c := range []struct {
		name   string
		ctx    context.Context
		limits ease.Limits
	}{
		{"one state", t.Context(), ease.Limits{States: 1}},
		{"no pairs", t.Context(), ease.Limits{Pairs: 1}},
		{"no time", ended, ease.Limits{}},
	} {
		t.Run(c.name, func(t *testing.T) {
			unproved, all := 0, 0
			rapid.Check(t, func(t *rapid.T) {
				p := tight[rapid.IntRange(0, len(tight)-1).Draw(t, "kind")].draw(t)
				best := plainly(p)
				p.Limits = c.limits
				r := ease.Solve(c.ctx, p)
				hold(t, p, r, best)
				all++
				if !r.Exact {
					unproved++
				}
			})
			t.Logf("%d of %d were not proved", unproved, all)
			if unproved == 0 && !testing.Short() { // which draws a fifth as many
				t.Error("all were proved, so nothing of this was tried")
			}
		})
	}
}

func TestSameProblemHasTheSameAnswer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := kinds[len(kinds)-1].draw(t)
		a, b := ease.Solve(t.Context(), p), ease.Solve(t.Context(), p)
		if !reflect.DeepEqual(a, b) {
			t.Fatalf("once %+v, then %+v", a, b)
		}
	})
}

func TestNoNotesCostNothing(t *testing.T) {
	for _, p := range []ease.Problem{{}, {Turn: 16}, {Turn: 16, Channels: []ease.Channel{{Gap: 2}}, TripsAtOnce: 1}} {
		if r := ease.Solve(t.Context(), p); r.Cost != 0 || !r.Exact || len(r.Chosen) != 0 || r.Impossible {
			t.Errorf("%+v", r)
		}
	}
}
