package timing_test

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pinwright/timing"
	"pinwright/wheel"
)

func ladder(t testing.TB, w *timing.Works, pins ...wheel.Pin) []timing.Rung {
	t.Helper()
	turn, err := w.Turn(pinned(pins...))
	if err != nil {
		t.Fatal(err)
	}
	return turn.MendedLadder(60, timing.MaxRungs)
}

// mends fails the test unless a rung has a mend of this figure, as worked out.
func mends(t *testing.T, r timing.Rung, path string, from, to, workshop float64) {
	t.Helper()
	i := slices.IndexFunc(r.Mends, func(m timing.Mend) bool { return m.Path == path })
	if i < 0 {
		t.Errorf("no %s mends %+v", path, r)
		return
	}
	if m := r.Mends[i]; m.From != from || math.Abs(m.To-to) > 1e-4 || math.Abs(m.Workshop()-workshop) > 1e-12 {
		t.Errorf("%+v, to be set at %v; want from %v to %v, to be set at %v", m, m.Workshop(), from, to, workshop)
	}
}

// Two pins one step apart, a step taking 15/T s: the gate's 140 ms hold up to
// 15/0.140 = 107.14 BPM, the plate's 90 ms up to 15/0.090 = 166.67 BPM. A
// reload of 90 ms reaches there; and a plate clear after 15/180 = 83.33 ms, 83
// in whole ones, reaches the machine's 180 BPM (worked by hand). The lever,
// held over 6 of 14.726 mm, has 60 ms up to 15·(1 − 0.40744)/0.060 = 148.14; held
// over a third of a step, 4.909 mm, up to 15·(2/3)/0.060 = 166.67.
func TestTheLadderOfOneGateAndOnePlate(t *testing.T) {
	w := works(t, oneBar)
	rungs := ladder(t, w, at("bar-c5", 36), at("bar-c5", 37))
	if len(rungs) != 3 {
		t.Fatalf("%+v", rungs)
	}
	arc := 2 * math.Pi * 600 / 256
	lever := 15 * (1 - 6/arc) / 0.060
	for i, want := range []struct{ bpm, freed, next float64 }{{15 / .14, lever, lever}, {lever, 15 / .14, 15 / .09}, {15 / .09, 15 / .14, 180}} {
		r := rungs[i]
		if math.Abs(r.BPM-want.bpm) > 1e-9 || !r.FreedOK || math.Abs(r.Freed-want.freed) > 1e-9 || math.Abs(r.Next-want.next) > 1e-9 || r.Where.Step != 36 {
			t.Errorf("rung %d is %+v, want %+v", i, r, want)
		}
	}
	// 15/148.14 = 101.26 ms; 0.59256·90 = 53.33 ms
	mends(t, rungs[0], "channels.bar-c5.gate.reload_ms", 140, 15000/lever, 101)
	mends(t, rungs[1], "channels.bar-c5.trip.return_ms", 60, 90*(1-6/arc), 53)
	mends(t, rungs[1], "channels.bar-c5.trip.hold_mm", 6, arc*(1-60./90), 4.9)
	mends(t, rungs[2], "channels.bar-c5.strike.clear_ms", 90, 15000./180, 83)
	for i, want := range []string{
		"reload 140 ms → 101 ms lifts the limit from 107.1 to 148.1 BPM",
		"lever's return 60 ms → 53 ms lifts this limit from 148.1 to 166.6 BPM",
		"time to clear 90 ms → 83 ms lifts this limit from 166.6 to 180 BPM",
	} {
		if got := w.MendSentence(rungs[i], rungs[i].Mends[0]); got != want {
			t.Errorf("said %q, want %q", got, want)
		}
	}
}

// A feed of 10° takes √(0.024/a), a = 5/7·9.80665·sin 10° = 1.21636 m/s²:
// 140.47 ms, up to 106.79 BPM. To reach 180 it may take 83.33 ms: sin α =
// 1.4·0.024/(9.80665·0.083333²) = 0.49338, α = 29.563° (worked by hand).
func TestAFeedIsMendedByItsSlope(t *testing.T) {
	file := strings.Replace(oneBar, `"gate": {"reload_ms": 140}`, `"gate": {"feed_slope_deg": 10}`, 1)
	file = strings.Replace(file, `"clear_ms": 90`, `"clear_ms": 9`, 1)
	file = strings.Replace(file, `"return_ms": 60`, `"return_ms": 6`, 1)
	rungs := ladder(t, works(t, file), at("bar-c5", 36), at("bar-c5", 37))
	if len(rungs) != 1 || math.Abs(rungs[0].BPM-106.787) > 1e-3 {
		t.Fatalf("%+v", rungs)
	}
	mends(t, rungs[0], "channels.bar-c5.gate.feed_slope_deg", 10, math.Asin(1.4*0.024/(9.80665*math.Pow(15./180, 2)))*180/math.Pi, 29.6)
}

// Two marbles of one step come to their lane together however slowly the wheel
// turns, and a pin one step after another finds the lever held over 20 mm, more
// than a step: the pins break these rules, not the machine.
func TestNothingIsOfferedWhereNoTempoIsFree(t *testing.T) {
	file := strings.Replace(oneBar, `"trips_at_once": 1`, `"trips_at_once": 2`, 1)
	for _, rungs := range [][]timing.Rung{
		ladder(t, works(t, file), at("bar-c5", 0), at("bar-e5", 0)),
		ladder(t, works(t, strings.Replace(file, `"hold_mm": 6`, `"hold_mm": 20`, 1)), at("bar-c5", 0), at("bar-c5", 1))[:1],
	} {
		if len(rungs) != 1 || rungs[0].BPM != 30 || rungs[0].Freed <= 30 || len(rungs[0].Mends) > 0 {
			t.Errorf("%+v", rungs)
		}
	}
}

// One step apart at up to 300 BPM, 50 ms a step: marbles need 53.434 ms in the
// fall, as worked out by hand at TestTwoFallsOfOneLaneNeedTheTimeToFallOneSpacing,
// so the one that follows has to come 3.434 ms later, or the other sooner; the
// clearance of 2 mm, of which 0.25 would do, is a margin and mends nothing.
func TestAMeetingIsMendedByEitherLatchAndNeverByTheClearance(t *testing.T) {
	file := strings.Replace(oneBar, `"tempo_max_bpm": 180`, `"tempo_max_bpm": 300`, 1)
	w := works(t, file)
	rungs := ladder(t, w, at("bar-c5", 0), at("bar-e5", 1))
	need := 1000 * math.Sqrt(0.028/9.80665)
	if len(rungs) != 1 || math.Abs(rungs[0].BPM-15000/need) > 1e-9 || len(rungs[0].Mends) != 2 {
		t.Fatalf("%+v", rungs)
	}
	mends(t, rungs[0], "channels.bar-e5.trip.latch_ms", 18, 18+need-50, 21.5)
	mends(t, rungs[0], "channels.bar-c5.trip.latch_ms", 18, 18+50-need, 14.5)
	if got, want := w.MendSentence(rungs[0], rungs[0].Mends[0]), "latch of Bar E5 18 ms → 21.5 ms lifts the limit from 280.7 to 300 BPM"; got != want {
		t.Errorf("said %q, want %q", got, want)
	}
}

func TestNoFigureMendsARestingChannelOrTooManyTrips(t *testing.T) {
	w := works(t, strings.Replace(oneBar, `"keys": [76],`, `"keys": [76], "service": "resting",`, 1))
	rungs := ladder(t, w, at("bar-c5", 0), at("bar-e5", 0))
	seen := map[timing.Kind]bool{}
	for _, r := range rungs {
		seen[r.Kind] = true
		if (r.Kind == timing.Silent || r.Kind == timing.Overload) && len(r.Mends) > 0 {
			t.Errorf("%+v", r)
		}
		if r.FreedOK || r.Freed != 0 {
			t.Errorf("without %v there is a safe tempo, %v, and two more limits hold at every tempo", r.Kind, r.Freed)
		}
	}
	if !seen[timing.Silent] || !seen[timing.Overload] || !seen[timing.Meeting] {
		t.Errorf("the rungs are %v", seen)
	}
}

func TestATrialSaysWhatIsWrongByItsPath(t *testing.T) {
	file := strings.Replace(oneBar, `{"id": "drop", "kind": "fall", "length_mm": 240}`,
		`{"id": "drop", "kind": "fall", "length_mm": 240}, {"id": "chute", "kind": "ramp", "length_mm": 500, "slope_deg": 10, "rolling": 0.02, "rail_gap_mm": 7}`, 1)
	w := works(t, strings.Replace(file, `"exit": []`, `"exit": ["chute"]`, 1))
	for _, c := range []struct {
		sets []wheel.Set
		want string
	}{
		{[]wheel.Set{{Path: "channels.bar-c5.gate.relod_ms", Value: 1}}, "channels.bar-c5.gate.relod_ms is no figure of the machine; did you mean channels.bar-c5.gate.reload_ms?"},
		{[]wheel.Set{{Path: "channels.bar-c5.gate.reload_ms", Value: -5}}, "channels.bar-c5.gate.reload_ms is −5; a time cannot be negative"},
		{[]wheel.Set{{Path: "marble.diameter_mm", Value: 6}}, "with marble.diameter_mm at 6, lanes[1].rail_gap_mm is 7; a marble of 6 mm would fall through, so it has to be smaller"},
		{[]wheel.Set{{Path: "marble.clearance_mm", Value: 1}, {Path: "lanes.chute.slope_deg", Value: 0.1}}, `with marble.clearance_mm at 1 and lanes.chute.slope_deg at 0.1, channels[0].exit[0] sends the marble of Bar C5 into lane "chute" at 250 mm/s, where it stalls; the lane has to be steeper or shorter, or the marble faster`},
	} {
		if tried, err := w.With(c.sets...); err == nil || tried != nil || err.Error() != c.want {
			t.Errorf("%v:\n\t%v\nwant\n\t%s", c.sets, err, c.want)
		}
	}
	tried, err := w.With(wheel.Set{Path: "channels.bar-c5.gate.reload_ms", Value: 120})
	if err != nil || tried.Channels[0].Reload != 0.120 || w.Channels[0].Reload != 0.140 {
		t.Errorf("tried %v, %v", tried, err)
	}
}

// At 300 BPM a step takes 50 ms, and the levers are full pushed 3.5/14.7262 =
// 0.23767 steps on, 11.884 ms; with 18 ms of latch the first marble falls at
// 29.884 ms and the second at 79.884 ms. The first is then 9.80665·0.05²/2 =
// 12.258 mm down, half way 6.129, and they should be 14 apart (worked by hand).
func TestTwoMarblesAreNearestAtTheSecondsEntry(t *testing.T) {
	turn, err := works(t, oneBar).Turn(pinned(at("bar-c5", 2), at("bar-e5", 3)))
	if err != nil {
		t.Fatal(err)
	}
	g, err := turn.LaneGraph(0, 2, 16, 300)
	if err != nil || len(g.Tracks) != 2 || len(g.Meetings) != 1 {
		t.Fatalf("%+v, %v", g, err)
	}
	m := g.Meetings[0]
	if math.Abs(g.Tracks[0].EnterS-0.029884) > 1e-6 || math.Abs(m.AtS-0.079884) > 1e-6 || math.Abs(m.ApartMM-12.2583) > 1e-4 || math.Abs(m.MM-6.12916) > 1e-4 || m.First != 0 || m.Second != 1 {
		t.Errorf("%+v", m)
	}
	if g.LengthMM != 240 || math.Abs(g.SpacingMM-14) > 1e-12 || math.Abs(g.ToS-0.8) > 1e-12 {
		t.Errorf("lane of %v mm, spacing %v mm, to %v s", g.LengthMM, g.SpacingMM, g.ToS)
	}
	// A turn from the second one's step: the first fell 50 − 29.884 = 20.116 ms
	// before it starts and falls again 20.116 ms before it ends, 12.8 s on. The
	// second, which enters at 29.884 ms, meets the first of the two.
	g, err = turn.LaneGraph(0, 3, 256, 300)
	if err != nil || len(g.Tracks) != 3 || len(g.Meetings) != 1 {
		t.Fatalf("%+v, %v", g, err)
	}
	if m := g.Meetings[0]; math.Abs(g.Tracks[0].EnterS+0.020116) > 1e-6 || math.Abs(g.Tracks[2].EnterS-12.779884) > 1e-6 || math.Abs(m.AtS-0.029884) > 1e-6 || m.First != 0 || m.Second != 1 {
		t.Errorf("%+v of %+v", m, g.Tracks)
	}
}

// Three strikes with one aim, latches of 18, 18 + 9 and 18 + 24 ms: errors of
// −12, −3 and +12 ms from their middle, a spread of 24. Another pin alone, set
// a step early at 60 BPM, 250 ms, would move the middle, so it is on its step
// and falls with the first (worked by hand).
func TestErrorsCountFromThePinningsMiddle(t *testing.T) {
	third := `, {"id": "bar-g5", "name": "Bar G5", "row": 2, "kind": "bar", "trip": {"reach_mm": 3.5, "latch_ms": 42}, "path": ["drop"], "exit": []}
 ],
 "limits"`
	file := strings.Replace(oneBar, "\n ],\n \"limits\"", third, 1)
	w, err := works(t, file).With(wheel.Set{Path: "channels.bar-e5.trip.latch_ms", Value: 27})
	if err != nil {
		t.Fatal(err)
	}
	turn, err := w.Turn(pinned(at("bar-c5", 8), at("bar-e5", 8), at("bar-g5", 8), at("bar-c5", 20), at("bar-e5", 40), at("bar-c5", 40)))
	if err != nil {
		t.Fatal(err)
	}
	chords := turn.Chords(60)
	if len(chords) != 2 || math.Abs(chords[0].SpreadS-0.024) > 1e-12 || chords[0].Step != 8 || math.Abs(chords[1].SpreadS-0.009) > 1e-12 || chords[1].Aim != 40 {
		t.Fatalf("%+v", chords)
	}
	if math.Abs(chords[0].SpreadS-turn.Flam(60)) > 1e-15 {
		t.Errorf("the widest chord is %v s, flam is %v s", chords[0].SpreadS, turn.Flam(60))
	}
	for i, want := range []float64{-0.012, -0.003, 0.012} {
		if m := chords[0].Members[i]; m.Channel != i || m.Step != 8 || math.Abs(m.ErrorS-want) > 1e-12 {
			t.Errorf("member %+v, want %v s", m, want)
		}
	}
	errors := turn.ErrorsByChannel(60)
	for i, want := range []timing.ChannelError{{0, 3, -.012, -.012, -.012}, {1, 2, -.003, -.003, -.003}, {2, 1, .012, .012, .012}} {
		e := errors[i]
		if e.Channel != want.Channel || e.Pins != want.Pins || math.Abs(e.MeanS-want.MeanS)+math.Abs(e.EarliestS-want.EarliestS)+math.Abs(e.LatestS-want.LatestS) > 1e-12 {
			t.Errorf("%+v, want %+v", e, want)
		}
	}
}

func ExampleTurn_MendedLadder() {
	w, err := timing.ReadMachine([]byte(oneBar))
	if err != nil {
		fmt.Println(err)
		return
	}
	turn, err := w.Turn(pinned(at("bar-c5", 36), at("bar-c5", 37)))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, r := range turn.MendedLadder(84, 3) {
		fmt.Printf("%.1f BPM, %s: %s\n", r.BPM, r.Kind, w.MendSentence(r, r.Mends[0]))
	}
	// Output:
	// 107.1 BPM, unready: reload 140 ms → 101 ms lifts the limit from 107.1 to 148.1 BPM
	// 148.1 BPM, crowded: lever's return 60 ms → 53 ms lifts this limit from 148.1 to 166.6 BPM
	// 166.7 BPM, unclear: time to clear 90 ms → 83 ms lifts this limit from 166.6 to 180 BPM
}
