package timing

import (
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/demo"
)

// Worked by hand: the gate of Tube D3 takes 265 ms to take in a marble. Pins one
// step apart, at four steps a beat, need 60/(4 · 0.265 s) = 56.6 BPM or less;
// two steps apart twice that, 113.2; with a gate of 600 ms 60/(4 · 0.6 s) = 25,
// below the machine's lowest tempo.
func TestStandingSaysHowFastAndWhatStopsIt(t *testing.T) {
	stand := func(reloadMS float64, steps ...int) (*Works, Standing) {
		t.Helper()
		m := demo.Machine()
		for i := range m.Channels {
			if c := &m.Channels[i]; c.ID == "tube-d3" && reloadMS != 0 {
				c.Gate.ReloadMS = wheel.Known(reloadMS)
			}
		}
		w, err := Compile(m)
		if err != nil {
			t.Fatal(err)
		}
		p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Mill Race", TempoBPM: 60}
		for _, step := range steps {
			p.Pins = append(p.Pins, wheel.Pin{Channel: "tube-d3", Step: step})
		}
		turn, err := w.Turn(p)
		if err != nil {
			t.Fatal(err)
		}
		return w, turn.Standing()
	}
	w, free := stand(0, 40)
	_, slow := stand(0, 40, 42)
	_, slower := stand(0, 40, 41)
	_, none := stand(600, 40, 41)

	top := wheel.Number(w.Machine.Limits.TempoMaxBPM)
	const where = "Tube D3, bar 3 beat 3"
	for _, c := range []struct {
		name          string
		before, after Standing
		want          string
	}{
		{"nothing changes", slow, slow, ""},
		{"it becomes slower", slow, slower, "95.4 to 46.3 BPM: " + where},
		{"it becomes faster", slower, slow, "46.3 to 95.4 BPM: no longer " + where},
		{"nothing stops it any more", slower, free, "46.3 to " + top + " BPM: no longer " + where},
		{"something stops it now", free, slower, top + " to 46.3 BPM: " + where},
		{"no tempo is safe any more", slower, none, "46.3 BPM to none: " + where},
		{"a tempo is safe again", none, slower, "none to 46.3 BPM: " + where},
	} {
		if got := w.StandingChange(c.before, c.after); got != c.want {
			t.Errorf("%s: it says %q, want %q", c.name, got, c.want)
		}
	}
	for _, c := range []struct {
		name    string
		s       Standing
		safe    bool
		stopped bool
		want    string
	}{
		{"nothing stops it", free, true, false, "Nothing up to " + top + " BPM, the machine's highest tempo."},
		{"something stops it", slower, true, true, w.LimitSentence(slower.Stop)},
		{"nothing is safe", none, false, true, w.Sentence(none.Stop)},
	} {
		if c.s.Safe != c.safe || c.s.Stopped != c.stopped {
			t.Errorf("%s: it stands at %+v", c.name, c.s)
		}
		if got := w.StandingSentence(c.s); got != c.want {
			t.Errorf("%s: it says %q, want %q", c.name, got, c.want)
		}
	}
}
