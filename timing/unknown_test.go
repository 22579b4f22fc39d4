package timing

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
)

// A machine with no gate, lever or plate figures at all is not safe at any
// tempo, whatever its pins.
func TestNothingIsSafeWhileAFigureIsUnknown(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, p := anyMachine(t)
		before, err := w.Turn(p)
		if err != nil {
			t.Fatal(err)
		}
		best, bestOK := before.MaxSafe()
		m := w.Machine.Clone()
		path := rapid.SampledFrom(before.asked()).Draw(t, "figure")
		forget(m, path)
		w, err = Compile(m)
		if err != nil {
			t.Fatal(err)
		}
		turn, err := w.Turn(p)
		if err != nil {
			t.Fatal(err)
		}
		v, err := turn.Verdict(60)
		if err != nil {
			t.Fatal(err)
		}
		if len(v.Unknown) == 0 {
			t.Fatalf("nothing is unknown without %s", path)
		}
		if v.Safe || len(v.Bands) > 0 || v.MaxSafeBPM != nil || v.NotesBPM != nil || v.LanesBPM != nil || v.StopBPM != nil || v.FlamMS != nil || v.Together != nil {
			t.Fatalf("without %s: %+v", path, v)
		}
		if _, ok := turn.MaxSafe(); ok {
			t.Fatal("it has a highest safe tempo")
		}
		// Less is asked of the wheel where a time between pins of one channel is
		// taken for 0.
		if strings.Contains(path, "reload") || strings.Contains(path, "return") || strings.Contains(path, "hold") {
			if bestOK && (v.AtBestBPM == nil || *v.AtBestBPM < best-1e-9) {
				t.Fatalf("at best %v, with %s it was %v", v.AtBestBPM, path, best)
			}
		}
		for _, f := range v.Findings {
			known := before.Findings(60, nil)
			if !slices.ContainsFunc(known, func(g Finding) bool { return g.Kind == f.Kind && g.Channel == f.Channel && g.Step == f.Step }) {
				t.Fatalf("without %s it finds %+v", path, f)
			}
		}
	})
}

// asked are figures without which something is unknown for the pins on the
// wheel.
func (t *Turn) asked() (paths []string) {
	for i := range t.rows {
		if t.rows[i].pins == 0 {
			continue
		}
		c := &t.works.Machine.Channels[i]
		for _, key := range []string{"trip.reach_mm", "trip.hold_mm", "trip.return_ms", "trip.latch_ms", "gate.reload_ms", "strike.clear_ms"} {
			paths = append(paths, "channels."+c.ID+"."+key)
		}
		for _, id := range c.Route() {
			paths = append(paths, "lanes."+id+".length_mm")
		}
	}
	return paths
}

// forget leaves a figure out, and what would stand in for it.
func forget(m *wheel.Machine, path string) {
	for i := range m.Lanes {
		if path == "lanes."+m.Lanes[i].ID+".length_mm" {
			m.Lanes[i].LengthMM = wheel.Maybe{}
		}
	}
	for i := range m.Channels {
		c := &m.Channels[i]
		switch key, _ := strings.CutPrefix(path, "channels."+c.ID+"."); key {
		case "trip.reach_mm":
			c.Trip.ReachMM = wheel.Maybe{}
		case "trip.hold_mm":
			c.Trip.HoldMM = wheel.Maybe{}
		case "trip.return_ms":
			c.Trip.ReturnMS = wheel.Maybe{}
		case "trip.latch_ms":
			c.Trip.LatchMS = wheel.Maybe{}
		case "gate.reload_ms":
			c.Gate.ReloadMS, c.Gate.FeedSlopeDeg = wheel.Maybe{}, wheel.Maybe{}
		case "strike.clear_ms":
			c.Strike = wheel.Strike{}
		}
	}
}

// The bare limit is the lower of the tempo up to which every note sounds and
// that up to which every lane runs free; from the limit down to where it says no
// rule is broken, and just below that one is.
func TestBareLimitIsTheLowerOfNotesAndLanes(t *testing.T) {
	stopped := 0
	rapid.Check(t, func(t *rapid.T) {
		w, p := anyMachine(t)
		turn, err := w.Turn(p)
		if err != nil {
			t.Fatal(err)
		}
		b := turn.Bare()
		safe, ok := turn.MaxSafe()
		if ok != (b.MaxSafeBPM != nil) || ok && *b.MaxSafeBPM != safe {
			t.Fatalf("the bare limit is %v, MaxSafe %v %v", b.MaxSafeBPM, safe, ok)
		}
		if !ok {
			return
		}
		if b.NotesBPM == nil || b.LanesBPM == nil || math.Abs(min(*b.NotesBPM, *b.LanesBPM)-safe) > 1e-9*safe {
			t.Fatalf("notes %v, lanes %v, bare %v", b.NotesBPM, b.LanesBPM, safe)
		}
		ref := plain{w.Machine, p}
		lowest := w.Machine.Limits.TempoMinBPM
		for _, part := range []float64{0.999, 0.7, 0.4, 0.1} {
			bpm := *b.StopBPM + (lowest-*b.StopBPM)*part
			if bpm > lowest/50 { // slower takes the reference too many turns
				if broken := ref.broken(bpm, -1e-6); len(broken) > 0 {
					t.Fatalf("at %v BPM, above where it stops at %v, %v", bpm, *b.StopBPM, broken)
				}
			}
		}
		if *b.StopBPM > lowest/50 {
			stopped++
			if broken := ref.broken(*b.StopBPM*(1-1e-9), 1e-6); !broken["meeting"] && !broken["unclear"] {
				t.Fatalf("just below %v BPM nothing is broken", *b.StopBPM)
			}
		}
	})
	t.Logf("%d pinnings pass a forbidden tempo as they start", stopped)
}

// A damper strikes nothing: a chord with it is none, and nobody hears it late.
func TestAHoldIsNoStrike(t *testing.T) {
	m := bare(32, wheel.Channel{Trip: wheel.Trip{LatchMS: wheel.Known(200)}}, wheel.Channel{Works: wheel.Holds})
	turn := must(must(Compile(m)).Turn(&wheel.Pinning{Format: wheel.PinningFormat, Title: "Two", TempoBPM: 60,
		Pins: []wheel.Pin{{Channel: "a", Step: 4}, {Channel: "b", Step: 4}}}))
	if flam, strikes := turn.Flam(60), turn.AsPlayed(60, nil); flam != 0 || len(strikes) != 1 || len(turn.ErrorsByChannel(60)) != 1 {
		t.Errorf("a flam of %v s, strikes %+v", flam, strikes)
	}
}

// Keep-below is looked for in the machine's range. Two marbles of one step, one
// 20 ms behind the other in a fall of 1 m, which they pass in 0.45 s, with pins
// 0.5 mm off in steps of 1 mm: below the range they are trusted no more than in
// it, though no rule is broken.
func TestNothingIsTrustedBelowTheRangeThatWouldNotBeInIt(t *testing.T) {
	m := bare(32, wheel.Channel{Path: []string{"fall"}}, wheel.Channel{Path: []string{"fall"}, Trip: wheel.Trip{LatchMS: wheel.Known(150)}})
	m.Lanes = []wheel.Lane{{ID: "fall", Kind: wheel.Fall, LengthMM: wheel.Known(1000)}}
	m.Marble.ClearanceMM = 0
	w := must(Compile(m))
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Two", TempoBPM: 60, Pins: []wheel.Pin{{Channel: "a", Step: 4}, {Channel: "b", Step: 4}}}
	for _, bpm := range []float64{4, 8, 16, 29} {
		v := must(w.Check(p, bpm))
		if most := m.Limits.MostJams(); len(v.Findings) == 0 && (v.Faults.JamsPerTurn > most) == (v.Trust == Trusted) {
			t.Errorf("at %v BPM %v with %v jams a turn", bpm, v.Trust, v.Faults.JamsPerTurn)
		}
	}
}

// An open tray has no meetings: two marbles fall into it together.
func TestMarblesMeetOnlyInSingleFile(t *testing.T) {
	for _, open := range []bool{false, true} {
		m := bare(32, wheel.Channel{Path: []string{"tray"}}, wheel.Channel{Path: []string{"tray"}})
		m.Lanes = []wheel.Lane{{ID: "tray", Kind: wheel.Fall, LengthMM: wheel.Known(300)}}
		if open {
			m.Lanes[0].File = wheel.OpenFile
		}
		turn := must(must(Compile(m)).Turn(&wheel.Pinning{Format: wheel.PinningFormat, Title: "Two", TempoBPM: 60,
			Pins: []wheel.Pin{{Channel: "a", Step: 4}, {Channel: "b", Step: 4}}}))
		if found := turn.Findings(60, nil); (len(found) == 0) != open {
			t.Errorf("open %v: %+v", open, found)
		}
	}
}

// Two channels on one plate, steps of 15/T s: strikes one step apart leave 15/T,
// a plate is clear after 0.125 s, so up to 120 BPM (worked by hand).
func TestAPlateIsSharedByChannels(t *testing.T) {
	clear := wheel.Strike{ClearMS: wheel.Known(125)}
	m := bare(32, wheel.Channel{Plate: "gong", Strike: clear}, wheel.Channel{Plate: "gong", Strike: clear}, wheel.Channel{Strike: clear})
	w := must(Compile(m))
	two := func(other string) *Turn {
		return must(w.Turn(&wheel.Pinning{Format: wheel.PinningFormat, Title: "Two", TempoBPM: 60,
			Pins: []wheel.Pin{{Channel: "a", Step: 4}, {Channel: other, Step: 5}}}))
	}
	turn := two("b")
	if bpm, ok := turn.MaxSafe(); !ok || math.Abs(bpm-120) > 1e-9 {
		t.Errorf("safe to %v, want 120", bpm)
	}
	rungs := turn.MendedLadder(60, 1)
	clears := func(m Mend) bool {
		return m.Path == "channels.a.strike.clear_ms" && m.To <= 125.0*120/180+1e-6
	}
	if len(rungs) != 1 || rungs[0].Kind != Unclear || !slices.ContainsFunc(rungs[0].Mends, clears) {
		t.Errorf("the ladder is %+v", rungs)
	}
	found := turn.Findings(150, nil)
	if len(found) != 1 || !strings.Contains(w.Sentence(found[0]), "B strikes the same plate 100 ms later") {
		t.Errorf("found %+v", found)
	}
	if bpm, ok := two("c").MaxSafe(); !ok || bpm != 180 {
		t.Errorf("on plates of their own safe to %v, want 180", bpm)
	}
}
