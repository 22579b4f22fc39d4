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
	meetings, tracks, near := 0, 0, 0
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
				if len(got) < len(want) {
					continue
				}
			}
			if !slices.Equal(got, want) {
				t.Fatalf("lane %d from step %d at %v BPM: the graph has %v, findings are %v", lane, from, tempo, got, want)
			}
		}
	})
	t.Logf("%d meetings among %d tracks", meetings, tracks)
	if meetings < 200 || near < 200 {
		t.Errorf("%d meetings, %d drawn", meetings, near)
	}
}

func checkTrack(t *rapid.T, w *Works, turn *Turn, g LaneGraph, track LaneTrack, from int, tempo float64) {
	if !turn.Has(track.Channel, track.Step) {
		t.Fatalf("no pin for %+v", track)
	}
	if track.EnterS >= g.ToS || track.LeaveS < 0 {
		t.Fatalf("%+v is not in the lane from 0 to %v s", track, g.ToS)
	}
	l := w.Machine.Lanes[g.Lane]
	speed := 0.0
	for _, pass := range w.Channels[track.Channel].Passages {
		if pass.Lane == g.Lane {
			speed = pass.SpeedIn
			period := w.Machine.Wheel.StepPeriod(tempo)
			enter := period*(float64(track.Step+track.Turn*w.Machine.Wheel.Steps-from)+w.Channels[track.Channel].Reach) + pass.Enter
			if math.Abs(enter-track.EnterS) > 1e-9 || pass.Exit != track.Exit {
				t.Fatalf("%+v enters at %v s, exit %v", track, enter, pass.Exit)
			}
		}
	}
	q := passing{0, speed, w.Accel(g.Lane), l.LengthMM / 1000}
	for _, point := range track.Points {
		if want := q.at(point.AtS-track.EnterS) * 1000; math.Abs(point.MM-want) > 1e-6 {
			t.Fatalf("%+v is %v mm in, x = ut + at²/2 gives %v", track, point.MM, want)
		}
	}
	first, last := track.Points[0], track.Points[len(track.Points)-1]
	if len(track.Points) > 24 || first != (LanePoint{track.EnterS, 0}) || math.Abs(last.MM-l.LengthMM) > 1e-6 || math.Abs(last.AtS-track.LeaveS) > 1e-9 {
		t.Fatalf("%+v in a lane of %v mm", track, l.LengthMM)
	}
}

// Of a shorter stretch the graph is what the whole turn's has in it: counted
// over several turns, whichever marbles are under way when it starts.
func TestALaneGraphHasEveryMarbleUnderWayInItsStretch(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, p := anyMachine(t)
		turn, _ := w.Turn(p)
		n := w.Machine.Wheel.Steps
		tempo := rapid.Float64Range(w.Machine.Limits.TempoMinBPM, w.Machine.Limits.TempoMaxBPM).Draw(t, "tempo")
		from, steps := rapid.IntRange(0, n-1).Draw(t, "from"), rapid.IntRange(1, n).Draw(t, "steps")
		period := w.Machine.Wheel.StepPeriod(tempo)
		const turns = 40
		for lane := range w.Machine.Lanes {
			g, err := turn.LaneGraph(lane, from, steps, tempo)
			if err != nil {
				t.Fatal(err)
			}
			want, longestS := 0, 0.0
			for _, pin := range p.Pins {
				ci := w.Machine.Channel(pin.Channel)
				for _, pass := range w.Channels[ci].Passages {
					if pass.Lane != lane {
						continue
					}
					longestS = max(longestS, pass.Enter+pass.Time)
					for k := -turns; k <= 2; k++ {
						enter := period*(float64(pin.Step+k*n-from)+w.Channels[ci].Reach) + pass.Enter
						if math.Abs(enter-g.ToS) < 1e-9 || math.Abs(enter+pass.Time) < 1e-9 {
							t.Skip("on the last bit of the stretch's ends")
						}
						if enter < g.ToS && enter+pass.Time >= 0 {
							want++
						}
					}
				}
			}
			if longestS > (turns-2)*period*float64(n) {
				t.Skip("a marble is under way for more turns than are counted")
			}
			if len(g.Tracks) != want {
				t.Fatalf("%d tracks, counted %d", len(g.Tracks), want)
			}
		}
	})
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
