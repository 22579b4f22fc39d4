package arrange

import (
	"context"
	"errors"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"pinwright/wheel"
)

func (tr trial) decision(c EaseChange, take bool) Decision {
	return Decision{Channel: c.Channel, Step: c.FromStep, Kind: c.Kind, ToChannel: c.ToChannel, ToStep: c.ToStep, Take: take}
}

// where is what became of a note, in the words of a decision; ok is false
// where nothing did.
func where(r *Eased, channel string, step int) (EaseChange, bool) {
	for _, c := range r.Changes {
		if c.Channel == channel && c.FromStep == step {
			return c, true
		}
	}
	return EaseChange{}, false
}

// TestDecisionsAreKept refuses and takes changes at random and holds what
// comes of it against a plain search that keeps to them.
func TestDecisionsAreKept(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 8))
	refused, taken, short := 0, 0, 0
	for range 300 {
		tr := smallTrial(t, random, trialKind{channels: 2, lanes: random.IntN(2) == 0, twins: random.IntN(2) == 0, notes: 6, least: 3})
		m := tr.w.Machine
		r := easeTrial(t, tr, EaseOptions{})
		if len(r.Changes) == 0 {
			continue
		}
		var decisions []Decision
		for _, c := range r.Changes {
			if random.IntN(4) > 0 {
				decisions = append(decisions, tr.decision(c, false))
				refused++
			}
		}
		free := tr.notes[random.IntN(len(tr.notes))]
		if _, changed := where(r, m.Channels[free.channel].ID, int(free.aim)); !changed && random.IntN(2) == 0 {
			decisions = append(decisions, Decision{Channel: m.Channels[free.channel].ID, Step: int(free.aim), Kind: "shifted",
				ToStep: m.Wheel.Wrap(int(free.aim) + 1 + random.IntN(2)), Take: true})
			taken++
		}
		again := easeTrial(t, tr, EaseOptions{Decisions: decisions})
		plain := tr.plain()
		plain.may = func(note int, channel, later int32, out bool) bool {
			n := tr.notes[note]
			to, kind := m.Wheel.Wrap(int(n.aim+later)), "shifted"
			switch {
			case out:
				to, kind = int(n.aim), "dropped"
			case channel != n.channel:
				kind = "moved"
			case later == 0:
				kind = ""
			}
			for _, d := range decisions {
				if d.Channel != m.Channels[n.channel].ID || d.Step != int(n.aim) {
					continue
				}
				same := d.Kind == kind && (kind != "moved" || d.ToChannel == m.Channels[channel].ID) && (kind == "dropped" || d.ToStep == to)
				if same != d.Take {
					return false
				}
			}
			return true
		}
		lost := 0 // told to be left out all the same
		for _, s := range again.Cannot {
			if strings.Contains(s, "all the same") {
				lost++
			}
		}
		for _, d := range decisions {
			c, changed := where(again, d.Channel, d.Step)
			same := changed && c.Kind == d.Kind && c.ToStep == d.ToStep && (d.Kind != "moved" || c.ToChannel == d.ToChannel)
			if same != d.Take && !(lost > 0 && c.Kind == "dropped") {
				t.Errorf("%v: decided %+v, changes %+v, cannot %q", tr, d, again.Changes, again.Cannot)
			}
		}
		want := plain.least()
		if again.Cannot == nil {
			if math.Abs(again.Cost-want) > 1e-7 {
				t.Errorf("%v: cost %g with decisions %+v, least %g", tr, again.Cost, decisions, want)
			}
			continue
		}
		short++
		if !math.IsInf(want, 1) {
			t.Errorf("%v: cannot %q with %+v; it can, at a cost of %g", tr, again.Cannot, decisions, want)
		}
		reached := tr.w.Machine.Limits.TempoMinBPM
		if again.MaxSafeBPM != nil && lost == 0 {
			if plain.toBPM = *again.MaxSafeBPM; math.Abs(plain.least()-again.Cost) > 1e-7 {
				t.Errorf("%v: reached %g BPM at a cost of %g, least %g", tr, plain.toBPM, again.Cost, plain.least())
			}
			reached = *again.MaxSafeBPM
		}
		if plain.toBPM = reached + 0.02; plain.toBPM < tr.bpm && !math.IsInf(plain.least(), 1) {
			t.Errorf("%v: reached %g BPM with %+v; %g can be", tr, reached, decisions, plain.toBPM)
		}
	}
	t.Logf("%d refused, %d taken, %d times the tempo could not be reached", refused, taken, short)
	if refused < 50 || taken < 20 || short < 20 {
		t.Error("too little was tried")
	}
}

func TestEasingSaysWhatIsWrong(t *testing.T) {
	w := compile(t, machine(16, 4, row{id: "e5", keys: []int{76}, reloadMS: 250}, row{id: "c5", keys: []int{72}}))
	notes := []placedNote{{channel: 0, aim: 4, weight: 1, choices: []int32{0}}, {channel: 0, aim: 5, weight: 1, choices: []int32{0}}}
	advance := []int{0, 0}
	decided := func(d ...Decision) EaseOptions { return EaseOptions{Decisions: d} }
	for _, c := range []struct {
		name    string
		notes   []placedNote
		advance []int
		bpm     float64
		o       EaseOptions
		says    string
	}{
		{"no tempo", notes, advance, 0, EaseOptions{}, "the tempo to be trusted is 0 BPM; it should be 1 to 1000 BPM"},
		{"not a number", notes, advance, math.NaN(), EaseOptions{}, "is NaN BPM"},
		{"endless", notes, advance, math.Inf(1), EaseOptions{}, "is +Inf BPM"},
		{"below nothing", notes, advance, -60, EaseOptions{}, "is −60 BPM"},
		{"advances", notes, []int{0}, 60, EaseOptions{}, "advances of 1 channels; Hailstone has 2"},
		{"no such channel", []placedNote{{channel: 2, weight: 1, choices: []int32{2}}}, advance, 60, EaseOptions{}, "notes[0] has no place"},
		{"no such step", []placedNote{{aim: 16, weight: 1, choices: []int32{0}}}, advance, 60, EaseOptions{}, "notes[0] has no place"},
		{"no choices", []placedNote{{weight: 1}}, advance, 60, EaseOptions{}, "notes[0] has no place"},
		{"no weight", []placedNote{{weight: math.NaN(), choices: []int32{0}}}, advance, 60, EaseOptions{}, "notes[0] weighs NaN"},
		{"two on one hole", []placedNote{notes[0], notes[0]}, advance, 60, EaseOptions{}, "notes[1] stands where notes[0] does"},
		{"decision on no channel", notes, advance, 60, decided(Decision{Channel: "g9"}), `decisions[0] is about channel "g9"; Hailstone has none of that id`},
		{"decision on no note", notes, advance, 60, decided(Decision{Channel: "e5", Step: 1 << 40}), "decisions[0] is about a note of Bar e5 at step 1099511627776; there is none"},
		{"decision of no kind", notes, advance, 60, decided(Decision{Channel: "e5", Step: 4, Kind: "sung"}), `decisions[0] is of kind "sung"; it should be`},
		{"shifted far", notes, advance, 60, decided(Decision{Channel: "e5", Step: 4, Kind: "shifted", ToStep: 7}), "decisions[0] moves the note at step 4 to step 7; it may go one or two steps"},
		{"moved to another key", notes, advance, 60, decided(Decision{Channel: "e5", Step: 4, Kind: "moved", ToChannel: "c5", ToStep: 4}), `decisions[0] moves a note of Bar e5 to channel "c5"`},
		{"shifted to another channel", notes, advance, 60, decided(Decision{Channel: "e5", Step: 4, Kind: "shifted", ToChannel: "c5", ToStep: 5}), `decisions[0] shifts a note to channel "c5"`},
		{"both ways", notes, advance, 60, decided(
			Decision{Channel: "e5", Step: 4, Kind: "dropped", Take: true},
			Decision{Channel: "e5", Step: 4, Kind: "shifted", ToStep: 5, Take: true}), "decisions[1] contradicts an earlier one"},
		{"taken and refused", notes, advance, 60, decided(
			Decision{Channel: "e5", Step: 4, Kind: "shifted", ToStep: 5, Take: true},
			Decision{Channel: "e5", Step: 4, Kind: "shifted", ToStep: 5}), "decisions[1] contradicts an earlier one"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, err := easeNotes(t.Context(), w, c.notes, c.advance, c.bpm, c.o)
			if err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("said %v, want %q", err, c.says)
			}
		})
	}
}

func TestNoNotesNeedNoEasing(t *testing.T) {
	w := compile(t, machine(16, 4, row{id: "e5", keys: []int{76}}))
	_, r, err := easeNotes(t.Context(), w, nil, []int{0}, 120, EaseOptions{})
	if err != nil || r.Cost != 0 || !r.Exact || len(r.Changes) != 0 || r.Cannot != nil || r.MaxSafeBPM == nil || *r.MaxSafeBPM != 180 {
		t.Errorf("%+v, %v", r, err)
	}
}

func TestEasingThatIsGivenUpSaysSo(t *testing.T) {
	tr := smallTrial(t, rand.New(rand.NewPCG(1, 1)), trialKind{channels: 2, lanes: true, notes: 6})
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, _, err := easeNotes(ctx, tr.w, tr.notes, tr.advance, tr.bpm, EaseOptions{}); !errors.Is(err, context.Canceled) {
		t.Errorf("said %v", err)
	}
}

// With no time at all there is an answer still, and the tempo is safe.
func TestEasingWithoutTimeIsSafe(t *testing.T) {
	w := compile(t, bare(drained(24, 128)))
	tr := scatter(w, 500, 90)
	r := easeTrial(t, tr, EaseOptions{Limit: time.Nanosecond})
	if r.Cannot != nil || r.Exact || r.Cost == 0 {
		t.Errorf("cost %g, exact %v, cannot %q", r.Cost, r.Exact, r.Cannot)
	}
}

// Sentences, worked by hand: 16 steps, 4 to the beat; at 120 BPM a step takes
// 60/(120 × 4) s = 125 ms, so a gate that takes 250 ms needs 2 steps.
func TestEasingTellsWhatItDidAndWhy(t *testing.T) {
	one := []row{{id: "e5", keys: []int{76}, reloadMS: 250}}
	two := append(one, row{id: "f5", keys: []int{76}, reloadMS: 250})
	note := func(aim int32, weight float64, choices ...int32) placedNote {
		return placedNote{channel: 0, aim: aim, weight: weight, choices: choices}
	}
	lane := machine(16, 4, two...)
	lane.Lanes = []wheel.Lane{{ID: "drop", Kind: wheel.Fall, LengthMM: wheel.Known(240), Keep: wheel.Known(1)}}
	lane.Channels[0].Path, lane.Channels[1].Path = []string{"drop"}, []string{"drop"}
	full := machine(16, 4, two...)
	full.Limits.TripsAtOnce = 1
	other := placedNote{channel: 1, aim: 4, weight: 2, choices: []int32{1}}
	stay := []Decision{{Channel: "e5", Step: 5, Kind: "shifted", ToStep: 6}, {Channel: "e5", Step: 5, Kind: "shifted", ToStep: 7},
		{Channel: "e5", Step: 5, Kind: "dropped"}, {Channel: "e5", Step: 4, Kind: "dropped"},
		{Channel: "e5", Step: 4, Kind: "shifted", ToStep: 3}, {Channel: "e5", Step: 4, Kind: "shifted", ToStep: 2}}
	for _, c := range []struct {
		name   string
		m      *wheel.Machine
		bpm    float64
		notes  []placedNote
		decide []Decision
		says   []string // texts, reasons, what cannot be
	}{
		{"shifted", machine(16, 4, one...), 120, []placedNote{note(4, 2, 0), note(5, 1, 0)}, nil, []string{
			"bar 1 beat 2 +1/4: Bar e5 one step later, 125 ms",
			"Bar e5 sounds at bar 1 beat 2 too, 1 step away; up to 120 BPM it needs 2"}},
		{"taken", machine(16, 4, one...), 120, []placedNote{note(4, 2, 0), note(5, 1, 0)},
			[]Decision{{Channel: "e5", Step: 4, Kind: "shifted", ToStep: 2, Take: true}}, []string{
				"bar 1 beat 2: Bar e5 two steps earlier, 250 ms",
				"Bar e5 sounds at bar 1 beat 2 +1/4 too, 1 step away; up to 120 BPM it needs 2"}},
		{"moved", machine(16, 4, two...), 120, []placedNote{note(4, 2, 0, 1), note(5, 1, 0)}, nil, []string{
			"bar 1 beat 2: moved from Bar e5 to Bar f5",
			"Bar e5 sounds at bar 1 beat 2 +1/4 too, 1 step away; up to 120 BPM it needs 2"}},
		{"left out", machine(3, 4, row{id: "e5", keys: []int{76}, reloadMS: 400}), 120, []placedNote{note(1, 1, 0)}, nil, []string{
			"bar 1 beat 1 +1/4: Bar e5 left out",
			"up to 120 BPM, even a lone pin of Bar e5 follows itself too soon, one turn later"}},
		// Both marbles fall from rest at the same instant: the lighter note goes.
		{"meeting", lane, 120, []placedNote{note(4, 1, 0), other}, nil, []string{
			"bar 1 beat 2: Bar e5 one step earlier, 125 ms",
			"its marble would meet that of Bar f5, bar 1 beat 2, in lane drop"}},
		{"overload", full, 120, []placedNote{note(4, 1, 0), other}, nil, []string{
			"bar 1 beat 2: Bar e5 one step earlier, 125 ms",
			"the wheel may trip 1 pin at once; that many others are on this step"}},
		// All refused: 250 ms for 1 step is 60 BPM.
		{"refused", machine(16, 4, one...), 120, []placedNote{note(4, 2, 0), note(5, 1, 0)}, stay, []string{
			"cannot: bar 1 beat 2 +1/4: Bar e5 cannot stay at 120 BPM: Bar e5 sounds at bar 1 beat 2 too, 1 step away; up to 120 BPM it needs 2",
			"cannot: with these decisions, the highest tempo found that can be trusted is 60 BPM"}},
		{"too fast", machine(16, 4, one...), 200, []placedNote{note(4, 2, 0)}, nil, []string{
			"cannot: 200 BPM is above the machine's highest tempo; eased for that, 180 BPM"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			tr := trial{w: compile(t, c.m), notes: c.notes, advance: make([]int, len(c.m.Channels)), bpm: c.bpm}
			r := easeTrial(t, tr, EaseOptions{Decisions: c.decide})
			var said []string
			for _, change := range r.Changes {
				said = append(said, change.Text, change.Why)
			}
			for _, s := range r.Cannot {
				said = append(said, "cannot: "+s)
			}
			if strings.Join(said, "\n") != strings.Join(c.says, "\n") {
				t.Errorf("said\n%s\nwant\n%s", strings.Join(said, "\n"), strings.Join(c.says, "\n"))
			}
		})
	}
}
