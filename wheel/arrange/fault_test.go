package arrange

import "testing"

// Of what is wrong with a song, its row names what costs most: of the shares that
// are multiplied, the smallest (see [Judge]).
func TestAFaultIsWhatCostsASongMost(t *testing.T) {
	bpm := func(v float64) *float64 { return &v }
	good := Judgement{Suits: 1, Notes: 100, Share: 1, TempoBPM: 80, KeepBelowBPM: bpm(107.14), grid: 1}
	for _, c := range []struct {
		change      func(j *Judgement)
		word, fault string
	}{
		{func(j *Judgement) {}, "suits well", ""},
		{func(j *Judgement) { j.EasedNotes = 3 }, "suits well", "3 notes moved"},
		{func(j *Judgement) { j.LeftOut, j.EasedNotes = 1, 3 }, "suits well", "1 note left out"},
		{func(j *Judgement) { j.Suits, j.Share, j.grid = 0.63, 0.7, 0.9 }, "can be set", "30\u00a0% of notes do not sound"},
		{func(j *Judgement) { j.Suits, j.Share, j.LeftOut = 0.7, 0.9, 20 }, "can be set", "30\u00a0% of notes do not sound"},
		{func(j *Judgement) { j.Suits, j.Share, j.KeepBelowBPM = 0.4, 0.8, bpm(40.07) }, "suits poorly", "trusted to 40 of 80 BPM"},
		{func(j *Judgement) { j.Suits, j.HouseBPM = 0.8, bpm(64) }, "can be set", "trusted to 64 of 80 BPM"},
		{func(j *Judgement) { j.Suits, j.Share, j.KeepBelowBPM = 0, 0.1, nil }, "suits poorly", "no tempo to be trusted"},
		{func(j *Judgement) { j.KeepBelowBPM, j.Unmeasured = nil, "Measure first." }, "suits well", "how fast is unknown"},
		{func(j *Judgement) { j.Suits, j.grid, j.Share = 0.5, 0.5, 0.9 }, "suits poorly", "off the grid"},
	} {
		j := good
		c.change(&j)
		if j.Word() != c.word || j.Fault() != c.fault {
			t.Errorf("%q, %q; want %q, %q", j.Word(), j.Fault(), c.word, c.fault)
		}
	}
}
