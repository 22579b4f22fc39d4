package page

import (
	"strings"
	"testing"

	"pinwright/wheel"
)

// crowdedStrip has everything a strip can show, as near together as it comes.
func crowdedStrip() Strip {
	s := Strip{MinBPM: 30, MaxBPM: 180, MaxSafe: 104, Playable: true}
	s.Parts = []StripPart{
		{FromBPM: 30, ToBPM: 104, Width: s.across(104), Safe: true},
		{FromBPM: 104, ToBPM: 110, X: s.across(104), Width: 40, Label: "unready: Tube D3"},
		{FromBPM: 110, ToBPM: 116, X: s.across(110), Width: 40, Safe: true, Island: true},
		{FromBPM: 116, ToBPM: 180, X: s.across(116), Width: StripWide - s.across(116), Label: "meeting in chute-1: Tube D3, Bar A4"},
	}
	return s.WithMark("red line", 101).WithMark("bare limit", 106).WithMark(ownTempo, 103).
		WithWindow(wheel.TempoWindow{FromBPM: 76.5, ToBPM: 88.8, Open: true})
}

func TestNoLabelOfAStripCoversAnother(t *testing.T) {
	all := crowdedStrip().labels()
	if len(all) != 5 {
		t.Fatalf("%d labels, want the red line or the bare limit, three marks and the island", len(all))
	}
	for i, l := range all {
		if overlaps(l, all[:i]) || overlaps(l, all[i+1:]) {
			t.Errorf("%q covers another label of its row", l.Text)
		}
		if from, to := l.span(); from < 0 || to > StripWide {
			t.Errorf("%q leaves the strip: %.0f to %.0f", l.Text, from, to)
		}
	}
}

func TestAStripSaysInWordsAllThatItShows(t *testing.T) {
	text := StripText(crowdedStrip())
	for _, want := range []string{"red line 101 BPM", "bare limit 106 BPM", "own tempo 103 BPM", "for visitors: 76.5 to 88.8 BPM", "chords hold together at no tempo"} {
		if !strings.Contains(text, want) {
			t.Errorf("it does not say %q: %s", want, text)
		}
	}
}

// 150 BPM in steps of 30 are 5 numbers; 570 BPM would be 19, in steps of 120 they
// are 4 (worked by hand).
func TestAPhoneHasRoomForTheNumbersOfTheScale(t *testing.T) {
	for rangeBPM, want := range map[float64]int{150: 30, 240: 30, 250: 60, 570: 120} {
		if got := namedTicks(rangeBPM); got != want {
			t.Errorf("over %g BPM a number every %d BPM, want %d", rangeBPM, got, want)
		}
	}
}

func TestATempoOutsideTheStripStandsAtItsEnd(t *testing.T) {
	s := crowdedStrip()
	if low, high := s.across(10), s.across(500); low != 0 || high != StripWide {
		t.Errorf("10 BPM stands at %g, 500 BPM at %g", low, high)
	}
}
