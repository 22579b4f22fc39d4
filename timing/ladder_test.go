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
func enough(w *Works, p *wheel.Pinning, before []Limit, r Rung, reaches, rounding float64, sets ...wheel.Set) (bool, error) {
	changed, err := w.With(sets...)
	if err != nil {
		return false, err
	}
	turn, err := changed.Turn(p)
	if err != nil {
		return false, err
	}
	for _, l := range turn.Limits() {
		least := reaches
		if i := slices.IndexFunc(before, func(b Limit) bool { return b.Cause == l.Cause }); i >= 0 && l.Cause != r.Cause {
			least = min(least, before[i].BPM)
		}
		if l.BPM < least*(1-rounding) {
			return false, nil
		}
	}
	for k := range 5 { // and its findings are gone as well
		tempo := w.Machine.Limits.TempoMinBPM + float64(k)/5*(reaches-w.Machine.Limits.TempoMinBPM)
		if its, _ := belongs(turn, tempo, r.Cause); its > 0 {
			return false, fmt.Errorf("a finding at %v BPM and no limit", tempo)
		}
	}
	return true, nil
}

func TestAMendedFigureIsJustEnoughForTheWholeComputation(t *testing.T) {
	mended, worsened, tooLittle, several := map[string]int{}, 0, 0, 0
	check := func(t *rapid.T) {
		w, p := anyMachine(t)
		turn, _ := w.Turn(p)
		before := turn.Limits()
		rungs := turn.Ladder()
		mender := newMender(turn, 60)
		for _, r := range rungs {
			mends := mender.figures(r)
			if len(mends) == 0 {
				mended["no figure for "+r.Kind.String()]++
			}
			if len(mends) > 1 {
				several++
			}
			for _, m := range mends {
				mended[m.Path[strings.LastIndexByte(m.Path, '.')+1:]]++
				if strings.HasPrefix(m.Path, "limits.") || strings.HasPrefix(m.Path, "marble.") || strings.HasSuffix(m.Path, "jitter_ms") || strings.HasSuffix(m.Path, "_sd_ms") {
					t.Fatalf("%+v spends a margin", m)
				}
				set := func(value float64) wheel.Set { return wheel.Set{Path: m.Path, Value: value} }
				if f, err := w.Machine.Figure(m.Path); err != nil || f.Value != m.From || m.Reaches != r.Next || !slices.Equal(m.Sets, []wheel.Set{set(m.Workshop())}) {
					t.Fatalf("%+v of %+v, next %v; the figure is %+v (%v)", m, r.Limit, r.Next, f, err)
				}
				for _, to := range []float64{m.To, m.Workshop()} {
					if ok, err := enough(w, p, before, r, m.Reaches, 1e-8, set(to)); !ok {
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
				if ok, err := enough(w, p, before, r, m.Reaches, 1e-12, set(worse)); ok || err != nil {
					t.Fatalf("%+v of %+v: %v would do as well (%v)", m, r, worse, err)
				}
			}
		}
	}
	for range 3 { // the rarer figures mend one limit in a hundred
		rapid.Check(t, check)
	}
	t.Logf("%d values made worse, %d too little to be worse by, %d limits with several; %v", worsened, tooLittle, several, mended)
	if tooLittle > worsened/20 || several == 0 {
		t.Errorf("%d values made worse, %d too little to be worse by, %d limits with several", worsened, tooLittle, several)
	}
	for _, key := range []string{"reload_ms", "feed_slope_deg", "return_ms", "hold_mm", "clear_ms", "restitution", "latch_ms", "slope_deg"} {
		if mended[key] == 0 {
			t.Errorf("%s mends no limit", key)
		}
	}
}

// A factor of a whole kind lifts the limits of all its channels, and a hundredth
// more of it would not, unless it is rounded by that much.
func TestAGroupIsMendedJustEnoughForTheWholeComputation(t *testing.T) {
	grouped, worse := map[string]int{}, 0
	rapid.Check(t, func(t *rapid.T) {
		w, p := anyMachine(t)
		m := w.Machine.Clone()
		slow := wheel.Known(rapid.Float64Range(50, 500).Draw(t, "slow"))
		key := rapid.SampledFrom([]string{"trip.return_ms", "gate.reload_ms", "strike.clear_ms"}).Draw(t, "key")
		for i := range m.Channels {
			switch c := &m.Channels[i]; key {
			case "trip.return_ms":
				c.Trip.ReturnMS = slow
			case "gate.reload_ms":
				c.Gate.ReloadMS = slow
			default:
				c.Strike.ClearMS = slow
			}
		}
		w = must(Compile(m))
		turn, _ := w.Turn(p)
		before := turn.Limits()
		rungs := turn.Ladder()
		mender := newMender(turn, 60)
		times := func(m Mend, factor float64) []wheel.Set {
			return wheel.SetsOf(must(w.Machine.Resolve(wheel.Setting{Path: m.Path, Times: true, Value: factor})))
		}
		for _, r := range rungs {
			for _, m := range mender.group(r, rungs) {
				grouped[m.Path]++
				if m.Reaches < r.Next || m.From != 1 || m.To >= 1 || !slices.Equal(m.Sets, times(m, m.Workshop())) {
					t.Fatalf("%+v of %+v", m, r)
				}
				for _, factor := range []float64{m.To, m.Workshop()} {
					if ok, err := enough(w, p, before, r, m.Reaches, 1e-8, times(m, factor)...); !ok {
						t.Fatalf("%+v of %+v: × %v is not enough (%v)", m, r, factor, err)
					}
				}
				// With more than just enough, one channel of the kind falls short of it.
				tried := must(must(w.With(times(m, min(1, m.To+1e-3))...)).Turn(p)).Limits()
				short := slices.ContainsFunc(tried, func(l Limit) bool {
					return l.Kind == r.Kind && l.Channel == l.Other && l.BPM < m.Reaches*(1-1e-12)
				})
				if worse++; !short {
					t.Fatalf("%+v of %+v: a thousandth more would do as well", m, r)
				}
			}
		}
	})
	t.Logf("%v, %d made worse", grouped, worse)
	for _, key := range []string{"trip.return_ms", "gate.reload_ms", "strike.clear_ms"} {
		if grouped["kind:bar."+key] == 0 {
			t.Errorf("no %s of a kind mends a limit", key)
		}
	}
}
