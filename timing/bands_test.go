package timing

import (
	"maps"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// nearBound is how near to a bound, in seconds of slack, a random tempo says
// nothing about it.
const nearBound = 1e-6

func TestBandsAndFindingsAgreeWithPassagesCountedOverTurns(t *testing.T) {
	compared, undecided, slivers := 0, 0, 0
	seen := map[string]int{}
	rapid.Check(t, func(t *rapid.T) {
		w, p := anyMachine(t)
		turn, err := w.Turn(p)
		if err != nil {
			t.Fatal(err)
		}
		bands := turn.Bands()
		for range 4 {
			tempo := rapid.Float64Range(w.Machine.Limits.TempoMinBPM, w.Machine.Limits.TempoMaxBPM).Draw(t, "tempo")
			ref := plain{w.Machine, p}
			want := ref.broken(tempo, -nearBound)
			if wider := ref.broken(tempo, nearBound); !maps.Equal(want, wider) {
				undecided++
				continue
			}
			got := map[string]bool{}
			found := turn.Findings(tempo, nil)
			for _, f := range found {
				got[f.Kind.String()] = true
			}
			if first, ok := turn.First(tempo); ok != (len(found) > 0) || ok && first != found[0] {
				t.Fatalf("at %v BPM the first of %v is %v", tempo, found, first)
			}
			if !maps.Equal(got, want) {
				t.Fatalf("at %v BPM found %v, counted %v", tempo, keys(got), keys(want))
			}
			inside := false
			for _, b := range bands {
				inside = inside || b.From <= tempo && tempo <= b.To
			}
			if inside != (len(want) == 0) {
				if inside || !ref.sliver(tempo) {
					t.Fatalf("at %v BPM inside a band: %v, counted %v, bands %v", tempo, inside, keys(want), bands)
				}
				slivers++
			}
			compared++
			for k := range want {
				seen[k]++
			}
			if len(want) == 0 {
				seen["safe"]++
			}
		}
	})
	t.Logf("%d tempos compared: %v; %d are too near a bound to tell, %d in bands too narrow to be listed", compared, seen, undecided, slivers)
	if undecided > compared/100 || slivers > compared/100 {
		t.Errorf("%d tempos compared, %d too near a bound to tell, %d in bands too narrow to be listed", compared, undecided, slivers)
	}
	want := []string{"safe"}
	for _, k := range Kinds() {
		want = append(want, k.String())
	}
	for _, k := range want {
		if seen[k] == 0 {
			t.Errorf("no %s among %d tempos compared", k, compared)
		}
	}
}

// sliver reports whether a safe tempo lies in a band too narrow to be listed:
// within 0.01 BPM to either side the machine's range ends or a rule is broken.
func (r plain) sliver(tempo float64) bool {
	ends := func(side float64) bool {
		const looks = 40
		for i := 1; i <= looks; i++ {
			at := tempo + side*0.01*float64(i)/looks
			if at < r.m.Limits.TempoMinBPM || at > r.m.Limits.TempoMaxBPM || len(r.broken(at, 0)) > 0 {
				return true
			}
		}
		return false
	}
	return ends(-1) && ends(1)
}

// A band's cause is broken just above its top, and its ends themselves are
// safe; each limit's cause is broken just above it and not at it.
func TestCausesBiteJustAboveAndNotBelow(t *testing.T) {
	ends, bites, narrow := 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		w, p := anyMachine(t)
		turn, _ := w.Turn(p)
		ref := plain{w.Machine, p}
		has := func(tempo float64, c Cause) bool {
			return slices.ContainsFunc(turn.Findings(tempo, nil), func(f Finding) bool { return f.Cause() == c })
		}
		// The stretch in which a cause bites may be narrower than the step above
		// its limit that is taken here; with needs a microsecond longer it is not.
		above := func(bpm float64, c Cause) bool {
			if has(bpm*(1+2e-6), c) {
				bites++
				return true
			}
			narrow++
			return ref.broken(bpm, nearBound)[c.Kind.String()]
		}
		lowest, top := w.Machine.Limits.TempoMinBPM, w.Machine.Limits.TempoMaxBPM
		for _, b := range turn.Bands() {
			if n := len(turn.Findings(b.To, nil)); n > 0 {
				t.Fatalf("%d findings at %v BPM, the top of a band", n, b.To)
			}
			if n := len(turn.Findings(b.From, nil)); n > 0 {
				t.Fatalf("%d findings at %v BPM, the foot of a band", n, b.From)
			}
			if b.StoppedBy == nil {
				if b.To != top {
					t.Fatalf("a band ends at %v BPM and nothing stops it", b.To)
				}
				continue
			}
			if ends++; !above(b.To, *b.StoppedBy) {
				t.Fatalf("just above %v BPM %v is not broken", b.To, *b.StoppedBy)
			}
		}
		for _, l := range turn.Limits() {
			if l.BPM < lowest || l.BPM > top {
				t.Fatalf("a limit at %v BPM, outside the machine's tempos", l.BPM)
			}
			if l.BPM > lowest && has(l.BPM, l.Cause) {
				t.Fatalf("%v bites at %v BPM already", l.Cause, l.BPM)
			}
			if !above(l.BPM, l.Cause) {
				t.Fatalf("just above its limit of %v BPM %v is not broken", l.BPM, l.Cause)
			}
		}
	})
	t.Logf("%d bands are stopped, %d causes bite just above, %d over too narrow a stretch", ends, bites, narrow)
	if ends < floor(100) || bites < floor(1000) || narrow > bites/100 {
		t.Errorf("%d bands are stopped, %d causes bite just above, %d over too narrow a stretch", ends, bites, narrow)
	}
}

// tooNarrow: the forbidden stretch above a tempo is narrower than the step
// above it that the test takes.
func tooNarrow(t *Turn, tempo float64) bool {
	for _, s := range t.cover.spans {
		p := t.works.Machine.Wheel.StepPeriod(tempo)
		if s.to > p*(1-1e-9) && s.from > p*(1-3e-6) {
			return true
		}
	}
	return false
}

func keys(m map[string]bool) []string { return slices.Sorted(maps.Keys(m)) }
