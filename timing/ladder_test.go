package timing

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
)

// belongs counts the findings at a tempo that are of a cause, and the others.
func belongs(t *Turn, tempo float64, c Cause) (its, others int) {
	for _, f := range t.Findings(tempo, nil) {
		if f.Cause() == c {
			its++
		} else {
			others++
		}
	}
	return its, others
}

// The highest safe tempo without one limit is found a second way: up to it
// every finding is of that limit, and just above it there are others.
func TestWithoutOneLimitTheTempoIsFreeUpToTheNextThatBites(t *testing.T) {
	freed, none := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		w, p := anyMachine(t)
		turn, _ := w.Turn(p)
		lowest, highest := w.Machine.Limits.TempoMinBPM, w.Machine.Limits.TempoMaxBPM
		limits := slices.Clone(turn.Limits())
		rungs := turn.Ladder()
		if len(rungs) != len(limits) {
			t.Fatalf("%d rungs, %d limits", len(rungs), len(limits))
		}
		for i, r := range rungs {
			if r.Limit != limits[i] {
				t.Fatalf("rung %d is %+v, the limit is %+v", i, r.Limit, limits[i])
			}
			if r.Where.Cause() != r.Cause {
				t.Fatalf("%+v bites at %+v", r.Cause, r.Where)
			}
			if !r.FreedOK {
				none++
				other := limits[0].BPM
				if i == 0 && len(limits) > 1 {
					other = limits[1].BPM
				}
				_, others := belongs(turn, other*(1+2e-6), r.Cause)
				if i == 0 && len(limits) == 1 || other-lowest >= leastBand || others == 0 && !tooNarrow(turn, other) {
					t.Fatalf("without %+v %v BPM is safe", r.Cause, lowest)
				}
				continue
			}
			freed++
			tempo := rapid.Float64Range(lowest, r.Freed).Draw(t, "tempo")
			if _, others := belongs(turn, tempo, r.Cause); others > 0 {
				t.Fatalf("without %+v %v BPM is not safe, and Freed is %v", r.Cause, tempo, r.Freed)
			}
			if _, others := belongs(turn, r.Freed*(1+2e-6), r.Cause); r.Freed < highest && others == 0 {
				// It bites over a stretch narrower than that: with needs a
				// microsecond longer it does.
				other := limits[min(len(limits)-1, 1)]
				if i > 0 {
					other = limits[0]
				}
				if ref := (plain{w.Machine, p}); !ref.broken(r.Freed, nearBound)[other.Kind.String()] {
					t.Fatalf("without %+v just above %v BPM is safe", r.Cause, r.Freed)
				}
			}
			if r.Next <= r.BPM || r.Next > highest {
				t.Fatalf("the rung after %v BPM is at %v", r.BPM, r.Next)
			}
		}
	})
	t.Logf("%d rungs free a tempo, %d none", freed, none)
	if freed < floor(300) || none < floor(100) {
		t.Errorf("%d rungs free a tempo, %d none", freed, none)
	}
}

// enough holds a change against the whole computation: the machine is changed
// and compiled again, and its limits compared with those before, but for
// rounding, as a fraction of the tempo.
func enough(w *Works, p *wheel.Pinning, before []Limit, r Rung, path string, value, rounding float64) (bool, error) {
	changed, err := w.With(wheel.Set{Path: path, Value: value})
	if err != nil {
		return false, err
	}
	turn, err := changed.Turn(p)
	if err != nil {
		return false, err
	}
	for _, l := range turn.Limits() {
		least := r.Next
		if i := slices.IndexFunc(before, func(b Limit) bool { return b.Cause == l.Cause }); i >= 0 && l.Cause != r.Cause {
			least = min(least, before[i].BPM)
		}
		if l.BPM < least*(1-rounding) {
			return false, nil
		}
	}
	for k := range 5 { // and its findings are gone as well
		tempo := w.Machine.Limits.TempoMinBPM + float64(k)/5*(r.Next-w.Machine.Limits.TempoMinBPM)
		if its, _ := belongs(turn, tempo, r.Cause); its > 0 {
			return false, fmt.Errorf("a finding at %v BPM and no limit", tempo)
		}
	}
	return true, nil
}

func TestAMendedFigureIsJustEnoughForTheWholeComputation(t *testing.T) {
	mended, worsened, tooLittle := map[string]int{}, 0, 0
	check := func(t *rapid.T) {
		w, p := anyMachine(t)
		turn, _ := w.Turn(p)
		before := turn.Limits()
		for _, r := range turn.Ladder() {
			if r.Mend == nil {
				mended["no figure for "+r.Kind.String()]++
				if r.Kind == Meeting && r.Next > r.BPM*(1+1e-6) {
					if ok, _ := enough(w, p, before, r, "marble.clearance_mm", 0, 1e-8); ok {
						t.Fatalf("%+v: no clearance at all would do, and there is no mend", r)
					}
				}
				continue
			}
			m := *r.Mend
			mended[m.Path[strings.LastIndexByte(m.Path, '.')+1:]]++
			if f, err := w.Machine.Figure(m.Path); err != nil || f.Value != m.From || m.Reaches != r.Next {
				t.Fatalf("%+v of %+v, next %v; the figure is %+v (%v)", m, r.Limit, r.Next, f, err)
			}
			for _, to := range []float64{m.To, m.Workshop()} {
				if ok, err := enough(w, p, before, r, m.Path, to, 1e-8); !ok {
					t.Fatalf("%+v of %+v: %v is not enough (%v)", m, r, to, err)
				}
			}
			if math.Abs(m.Workshop()-m.From) < math.Abs(m.To-m.From)-1e-9 {
				t.Fatalf("%+v is rounded to less than enough, %v", m, m.Workshop())
			}
			slack := max(1e-5*math.Abs(m.To), 1e-4)
			if slack > math.Abs(m.From-m.To) || r.Next < r.BPM*(1+1e-6) {
				tooLittle++ // to be worse by
				continue
			}
			worsened++
			worse := m.To + math.Copysign(slack, m.From-m.To)
			if ok, err := enough(w, p, before, r, m.Path, worse, 1e-12); ok || err != nil {
				t.Fatalf("%+v of %+v: %v would do as well (%v)", m, r, worse, err)
			}
		}
	}
	for range 3 { // the rarer figures mend one limit in a hundred
		rapid.Check(t, check)
	}
	t.Logf("%d values made worse, %d too little to be worse by; %v", worsened, tooLittle, mended)
	if tooLittle > worsened/20 {
		t.Errorf("%d values made worse, %d too little to be worse by", worsened, tooLittle)
	}
	for _, key := range []string{"reload_ms", "feed_slope_deg", "return_ms", "hold_mm", "clear_ms", "restitution", "clearance_mm", "latch_ms", "slope_deg"} {
		if mended[key] == 0 {
			t.Errorf("%s mends no limit", key)
		}
	}
}
