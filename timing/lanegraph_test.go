package timing

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Points lie on x = u t + a t²/2 with the lane's own figures, from its mouth
// to its end; and a turn's meetings are those that Findings has in that lane,
// each once, wherever on the wheel the turn starts.
func TestALaneGraphOfATurnHasTheMeetingsThatFindingsHas(t *testing.T) {
	meetings, tracks, near, edges := 0, 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		w, p := anyMachine(t)
		turn, _ := w.Turn(p)
		n := w.Machine.Wheel.Steps
		tempo := rapid.Float64Range(w.Machine.Limits.TempoMinBPM, w.Machine.Limits.TempoMaxBPM).Draw(t, "tempo")
		from := rapid.IntRange(0, n-1).Draw(t, "from")
		found := turn.Findings(tempo, nil)
		for lane := range w.Machine.Lanes {
			g, err := turn.LaneGraph(lane, from, n, tempo)
			if err != nil {
				t.Fatal(err)
			}
			tracks += len(g.Tracks)
			for _, track := range g.Tracks {
				checkTrack(t, w, turn, g, track, from, tempo)
			}
			var got, want []string
			edge := false
			for _, m := range g.Meetings {
				got = append(got, fmt.Sprint(m.Channel, m.Step, m.Other, m.OtherStep))
				near++
				if m.ApartMM < 0 || m.ApartMM >= g.SpacingMM && m.ApartMM > g.SpacingMM+1e-6 || m.MM < -1e-9 || m.MM > g.LengthMM+1e-9 {
					t.Fatalf("%+v in %v mm, spacing %v", m, g.LengthMM, g.SpacingMM)
				}
				edge = edge || m.AtS < 1e-9 || m.AtS > g.ToS-1e-9
			}
			for _, f := range found {
				if f.Kind == Meeting && f.Lane == lane {
					want = append(want, fmt.Sprint(f.Channel, f.Step, f.Other, f.OtherStep))
				}
			}
			meetings += len(want)
			slices.Sort(got)
			slices.Sort(want)
			if edge { // on the last bit of the stretch's ends one may count twice or not at all
				got, want = slices.Compact(got), slices.Compact(want)
				edges++
				if len(got) < len(want) {
					continue
				}
			}
			if !slices.Equal(got, want) {
				t.Fatalf("lane %d from step %d at %v BPM: the graph has %v, findings are %v", lane, from, tempo, got, want)
			}
		}
	})
	t.Logf("%d meetings among %d tracks, %d graphs with one on the last bit of their ends", meetings, tracks, edges)
	if meetings < floor(200) || near < floor(200) || edges > near/50 {
		t.Errorf("%d meetings, %d drawn, %d graphs with one on the last bit of their ends", meetings, near, edges)
	}
}

// brushing is a rule no machine has: of marbles in a lane, as meeting is.
type brushing struct{ meeting }

var brushingKind = Kind{&kindFacts{name: "brushing", order: uint8(len(rules))}}

func (brushing) kind() Kind { return brushingKind }

// Held to a rule of the same bounds as well, every pair that meets is drawn
// once for either rule.
func TestALaneGraphAsksEveryRuleOfItsLane(t *testing.T) {
	drawn := 0
	rapid.Check(t, func(t *rapid.T) {
		w, p := anyMachine(t)
		w = must(compile(w.Machine, append(slices.Clone(rules), brushing{})))
		turn := must(w.Turn(p))
		for lane := range w.Machine.Lanes {
			g, err := turn.LaneGraph(lane, 0, w.Machine.Wheel.Steps, w.Machine.Limits.TempoMaxBPM)
			if err != nil {
				continue // too many marbles to draw
			}
			of := map[Kind]int{}
			for _, m := range g.Meetings {
				of[m.Kind]++
			}
			if of[Meeting] != of[brushingKind] || of[Meeting]+of[brushingKind] != len(g.Meetings) {
				t.Fatalf("lane %d: %d meet and %d brush, of %d", lane, of[Meeting], of[brushingKind], len(g.Meetings))
			}
			drawn += of[brushingKind]
		}
	})
	if drawn < floor(200) {
		t.Errorf("%d drawn by the invented rule: too few to tell", drawn)
	}
}

func checkTrack(t *rapid.T, w *Works, turn *Turn, g LaneGraph, track LaneTrack, from int, tempo float64) {
	if !turn.Has(track.Channel, track.Step) {
		t.Fatalf("no pin for %+v", track)
	}
	if track.EnterS >= g.ToS || track.LeaveS < 0 {
		t.Fatalf("%+v is not in the lane from 0 to %v s", track, g.ToS)
	}
	ref := plain{m: w.Machine}
	c := &w.Machine.Channels[track.Channel]
	passings := ref.way(c).passings
	at := slices.IndexFunc(passings, func(q passing) bool { return q.lane == g.Lane })
	if at < 0 {
		t.Fatalf("%+v is in a lane that is not on its way", track)
	}
	q := passings[at]
	enter := ref.stepPeriod(tempo)*(float64(track.Step+track.Turn*w.Machine.Wheel.Steps-from)+ref.reach(c)) + q.enter
	if math.Abs(enter-track.EnterS) > 1e-9 || q.exit != track.Exit {
		t.Fatalf("%+v enters at %v s, exit %v", track, enter, q.exit)
	}
	for _, point := range track.Points {
		if want := q.at(point.AtS-track.EnterS) * 1000; math.Abs(point.MM-want) > 1e-6 {
			t.Fatalf("%+v is %v mm in, x = ut + at²/2 gives %v", track, point.MM, want)
		}
	}
	first, last := track.Points[0], track.Points[len(track.Points)-1]
	if len(track.Points) > 24 || first != (LanePoint{track.EnterS, 0}) || math.Abs(last.MM-q.length*1000) > 1e-6 || math.Abs(last.AtS-track.LeaveS) > 1e-9 {
		t.Fatalf("%+v in a lane of %v mm", track, q.length*1000)
	}
}

// Of a shorter stretch the graph is what the whole turn's has in it: counted
// over several turns, whichever marbles are under way when it starts.
func TestALaneGraphHasEveryMarbleUnderWayInItsStretch(t *testing.T) {
	counted, undecided := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		w, p := anyMachine(t)
		turn, _ := w.Turn(p)
		n := w.Machine.Wheel.Steps
		tempo := rapid.Float64Range(w.Machine.Limits.TempoMinBPM, w.Machine.Limits.TempoMaxBPM).Draw(t, "tempo")
		from, steps := rapid.IntRange(0, n-1).Draw(t, "from"), rapid.IntRange(1, n).Draw(t, "steps")
		for lane := range w.Machine.Lanes {
			g, err := turn.LaneGraph(lane, from, steps, tempo)
			if err != nil {
				t.Fatal(err)
			}
			want, ok := plain{w.Machine, p}.underWay(lane, from, steps, tempo)
			if !ok {
				undecided++
				continue
			}
			if counted++; len(g.Tracks) != want {
				t.Fatalf("%d tracks, counted %d", len(g.Tracks), want)
			}
		}
	})
	t.Logf("%d stretches of lanes counted, %d undecided", counted, undecided)
	if counted < floor(1000) || undecided > counted/100 {
		t.Errorf("%d stretches of lanes counted, %d undecided", counted, undecided)
	}
}

// underWay counts the marbles that are in a lane at some time of a stretch. ok
// is false where one enters or leaves on the last bit of the stretch's ends.
func (r plain) underWay(lane, from, steps int, tempo float64) (n int, ok bool) {
	p, ok := r.stepPeriod(tempo), true
	toS := p * float64(steps)
	for i := range r.m.Channels {
		c := &r.m.Channels[i]
		way := r.way(c)
		before := int(way.home/(p*float64(r.m.Wheel.Steps))) + 2 // turns ago that a marble may have set out
		for _, q := range way.passings {
			if q.lane != lane {
				continue
			}
			for _, step := range r.steps(c) {
				for turn := -before; turn <= 1; turn++ {
					enter := p*(float64(step+turn*r.m.Wheel.Steps-from)+r.reach(c)) + q.enter
					leave := enter + q.through()
					if math.Abs(enter-toS) < 1e-9 || math.Abs(leave) < 1e-9 {
						ok = false
					}
					if enter < toS && leave >= 0 {
						n++
					}
				}
			}
		}
	}
	return n, ok
}

func TestAStretchThatIsNoneIsRefused(t *testing.T) {
	w, p := busy(t, 4, 64, 20)
	turn := must(w.Turn(p))
	for _, c := range []struct {
		lane, from, steps int
		tempo             float64
		says              string
	}{
		{5, 0, 1, 60, "there is no lane 5; the machine has 2"},
		{-1, 0, 1, 60, "there is no lane -1; the machine has 2"},
		{0, 64, 1, 60, "the stretch starts at step 64; the wheel has steps 0 to 63"},
		{0, -1, 1, 60, "the stretch starts at step -1; the wheel has steps 0 to 63"},
		{0, 0, 0, 60, "the stretch is 0 steps long; it should be 1 to 64, one turn"},
		{0, 0, 65, 60, "the stretch is 65 steps long; it should be 1 to 64, one turn"},
		{0, 0, 1, math.NaN(), "the tempo is NaN BPM; it should be 1 to 1000 BPM"},
	} {
		if _, err := turn.LaneGraph(c.lane, c.from, c.steps, c.tempo); err == nil || err.Error() != c.says {
			t.Errorf("%+v: %v", c, err)
		}
	}
	w, p = busy(t, 64, 1024, 5000)
	if _, err := must(w.Turn(p)).LaneGraph(0, 0, 1024, 60); err == nil || !strings.HasPrefix(err.Error(), "more than 2000 marbles are in lane drain") {
		t.Errorf("5000 marbles: %v", err)
	}
}
