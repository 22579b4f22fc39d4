package arrange

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"pinwright/wheel/demo"
	"pinwright/wheel/song"
)

// TestEasingReachesForKeepBelow eases small machines whose figures vary and are
// doubtful. The answer can be trusted at the tempo asked for (trial.hold), it costs
// the least for the bare limit that the solver was given, and no lower step
// suffices: what the solver answers at each of them cannot be trusted, or costs as
// little as an answer of a lower step that cannot be trusted and keeps to its bare
// limit as well.
func TestEasingReachesForKeepBelow(t *testing.T) {
	for _, c := range []struct {
		name  string
		kind  trialKind
		cases int
	}{
		{"channels by themselves", trialKind{channels: 2, notes: 6}, 120},
		{"twins", trialKind{channels: 2, twins: true, notes: 5}, 80},
		{"channels that share lanes", trialKind{channels: 3, lanes: true, notes: 5}, 80},
	} {
		t.Run(c.name, func(t *testing.T) {
			random := rand.New(rand.NewPCG(11, 12))
			raised, cannot, lower := 0, 0, 0
			for range c.cases {
				c.kind.doubtful = true
				tr := smallTrial(t, random, c.kind)
				r := easeTrial(t, tr, EaseOptions{Limit: time.Minute})
				if r.Cannot != nil {
					cannot++
					continue
				}
				plain := tr.plain()
				plain.toBPM = min(*r.EasedToBPM, tr.w.Machine.Limits.TempoMaxBPM)
				if *r.EasedToBPM <= tr.w.Machine.Limits.TempoMaxBPM {
					if want := plain.least(); math.Abs(r.Cost-want) > 1e-7 || !r.Exact {
						t.Errorf("%v: cost %g for a bare limit of %g BPM, exact %v; least %g", tr, r.Cost, plain.toBPM, r.Exact, want)
					}
				}
				e := tr.easing()
				from := tr.w.EasingTempo(tr.bpm)
				if *r.EasedToBPM > from {
					raised++
				}
				var last *outcome
				for bpm := from; bpm < *r.EasedToBPM-climbStep/2; bpm += climbStep {
					if last != nil && last.bare >= bpm*(1-1e-11) {
						continue // it costs the least here too
					}
					lower++
					if last = e.to(t.Context(), bpm); last.keep >= e.keep {
						t.Errorf("%v: eased to %g BPM; %g suffices", tr, *r.EasedToBPM, bpm)
					}
				}
			}
			t.Logf("of %d cases %d were given a higher bare limit, %d cannot be; %d lower ones were tried", c.cases, raised, cannot, lower)
			if raised < c.cases/8 || cannot > c.cases/4 {
				t.Error("too little was tried")
			}
		})
	}
}

// easing is a trial as easeNotes has it, without decisions.
func (tr trial) easing() *easing {
	l := tr.w.Machine.Limits
	return &easing{mech: tr.w, machine: tr.w.Machine, notes: tr.notes, advance: tr.advance, wishes: make([]wish, len(tr.notes)),
		keep: min(max(tr.bpm, l.TempoMinBPM), l.TempoMaxBPM)}
}

// Where no bare limit suffices the answer is the cheapest of those that can be
// trusted up to the highest tempo found, and a sentence says so. On Hailstone,
// marbles of Mill Race come close to meeting, whatever its bare limit.
func TestEasingThatFallsShortChangesNoMoreThanItGains(t *testing.T) {
	w := compile(t, demo.Machine())
	songs, err := song.Parse(demo.Songs()[0].Bytes, demo.Songs()[0].FileName)
	if err != nil {
		t.Fatal(err)
	}
	for _, bpm := range []float64{96, 150} {
		_, r, err := Set(t.Context(), w, songs[0], Request{TempoBPM: bpm, Advance: true, Repeat: true, Ease: true, EaseLimit: time.Minute})
		if err != nil {
			t.Fatal(err)
		}
		e := r.Eased
		if len(e.Cannot) != 1 || !strings.Contains(e.Cannot[0], "cannot be trusted, even eased") || e.Exact {
			t.Errorf("at %g BPM: exact %v, cannot %q", bpm, e.Exact, e.Cannot)
		}
		if r.KeepBelowBPM == nil && *e.EasedToBPM != bpm {
			t.Errorf("at %g BPM: nothing can be trusted, and it eased to %g BPM for a cost of %g", bpm, *e.EasedToBPM, r.Cost)
		}
		t.Logf("at %g BPM: eased to %g for %g, %q", bpm, *e.EasedToBPM, r.Cost, e.Cannot)
	}
}
