package timing

import (
	"testing"

	"pinwright/wheel"
)

func TestWhatDoubtCostsInWords(t *testing.T) {
	w := must(Compile(bare(64, wheel.Channel{}, wheel.Channel{})))
	costs := []DoubtCost{{"channels.a.exit_mm_s", 1.39}, {"channels.b.trip.latch_ms", 0.4}, {"wheel.radius_mm", 0.09}, {"channels.a.trip.latch_ms", 0.05}}
	for n, want := range []string{"", "Measure next: speed off the plate of A (+1.3 BPM).", "Measure next: speed off the plate of A (+1.3 BPM), latch of B (+0.4 BPM).", "Measure next: speed off the plate of A (+1.3 BPM), latch of B (+0.4 BPM)."} {
		if got := w.CostSentence(costs, n); got != want {
			t.Errorf("%d of them: said %q, want %q", n, got, want)
		}
	}
	if got := w.CostSentence(nil, 3); got != "" {
		t.Errorf("of nothing: said %q", got)
	}
}

// Of 22.2 BPM 8.88, 7.77, 4.44 and 1.11 are 40, 35, 20 and 5 %; thirds are 34, 33
// and 33 % (worked by hand).
func TestWhatTheDistanceComesFromInWords(t *testing.T) {
	w := must(Compile(bare(64, wheel.Channel{})))
	keep, none := 91.0, (*float64)(nil)
	for _, c := range []struct {
		keep   *float64
		shares []Share
		want   string
	}{
		{&keep, []Share{{BySpread, 7.77}, {ByDoubt, 8.88}, {ByPins, 4.44}, {ByCrank, 1.11}}, "Between 91 and 113.2 BPM: doubt 40 %, spread 35 %, pins 20 %, hand 5 %."},
		{&keep, []Share{{BySpread, 7.4}, {ByDoubt, 7.4}, {ByPins, 7.4}, {ByCrank, 0}}, "Between 91 and 113.2 BPM: spread 34 %, doubt 33 %, pins 33 %."},
		{&keep, []Share{{BySpread, 0}, {ByDoubt, 0}}, ""},
		{none, []Share{{BySpread, 1}}, ""},
	} {
		if got := w.DivideSentence(Standing{MaxSafeBPM: 113.2, Safe: true, KeepBelowBPM: c.keep}, c.shares); got != c.want {
			t.Errorf("said %q, want %q", got, c.want)
		}
	}
}
