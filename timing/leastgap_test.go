package timing

import (
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/file/filetest"
)

// bare is a wheel of 1 mm arc a step, 4 steps to the beat: at 120 BPM a step
// takes 125 ms.
func bare(steps int, channels ...wheel.Channel) *wheel.Machine {
	m := &wheel.Machine{
		Format: wheel.MachineFormat, Name: "Hailstone",
		Marble: wheel.Marble{DiameterMM: 12, ClearanceMM: 2},
		Wheel:  wheel.Wheel{RadiusMM: float64(steps) / (2 * 3.141592653589793), Steps: steps, StepsPerBeat: 4, BeatsPerBar: 4},
		Limits: wheel.Limits{TempoMinBPM: 30, TempoMaxBPM: 180},
	}
	for i, c := range channels {
		c.ID, c.Name, c.Kind, c.Row = string(rune('a'+i)), string(rune('A'+i)), "bar", i
		if c.Service == "" {
			c.Service = wheel.Playing
		}
		m.Channels = append(m.Channels, c)
	}
	return filetest.Complete(m)
}

// Worked by hand, at 120 BPM, 125 ms a step.
func TestLeastGapIsTheFirstThatEveryRuleAllows(t *testing.T) {
	w, err := Compile(bare(16,
		wheel.Channel{}, // no rule but two pins in one hole
		wheel.Channel{Gate: wheel.Gate{ReloadMS: wheel.Known(250)}},                          // 2 steps, met exactly
		wheel.Channel{Gate: wheel.Gate{ReloadMS: wheel.Known(251)}},                          // 3
		wheel.Channel{Trip: wheel.Trip{HoldMM: wheel.Known(1.5), ReturnMS: wheel.Known(60)}}, // (2 − 1.5) × 125 ms = 62.5 ms
		wheel.Channel{Strike: wheel.Strike{ClearMS: wheel.Known(1000)}},                      // 8, half the turn
		wheel.Channel{Strike: wheel.Strike{ClearMS: wheel.Known(1001)}},                      // a lone pin: 16 × 125 ms = 2 s
		wheel.Channel{Gate: wheel.Gate{ReloadMS: wheel.Known(2000)}},                         // a lone pin, met exactly
		wheel.Channel{Gate: wheel.Gate{ReloadMS: wheel.Known(2001)}},                         // none
		wheel.Channel{Service: wheel.Resting},                                                // none
	))
	if err != nil {
		t.Fatal(err)
	}
	want := []int{1, 2, 3, 2, 8, 16, 16, 17, 17}
	got := w.LeastGaps([]int{0, 1, 2, 3, 4, 5, 6, 7, 8}, 120)
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("channel %d: %d steps, want %d", i, got[i], want[i])
		}
	}
}

// differences is a range of steps that a lane forbids.
type differences struct{ lane, from, to int }

func forbidden(w *Works, channel, other int, bpm float64) (list []differences) {
	w.Forbidden(channel, other, bpm, func(lane, from, to int) { list = append(list, differences{lane, from, to}) })
	return list
}

// Two pins on the wheel, at every distance: the whole check tells whether all
// tempos are safe, the gap and the forbidden differences tell the same.
func TestGapsAndDifferencesAgreeWithBands(t *testing.T) {
	like, _ := busy(t, 8, 48, 0)
	m := like.Machine.Clone()
	for i := range m.Channels { // marbles that are under way for several steps
		m.Channels[i].Trip.LatchMS = wheel.Known(170 * float64(i))
		m.Channels[i].Gate.ReloadMS = wheel.Known(90 * float64(i))
	}
	w, err := Compile(m)
	if err != nil {
		t.Fatal(err)
	}
	turn := w.NewTurn()
	all := []int{0, 1, 2, 3, 4, 5, 6, 7}
	met, apart := 0, 0
	for _, bpm := range []float64{31, 60, 97.3, 180} {
		gaps := w.LeastGaps(all, bpm)
		for a := range all {
			for b := range all {
				lanes := forbidden(w, a, b, bpm)
				for d := range 48 {
					if a == b && (d == 0 || d > 24) {
						continue
					}
					turn.Drive(a, 5)
					turn.Drive(b, (5+d)%48)
					most, ok := turn.MaxSafe()
					turn.Pull(a, 5)
					turn.Pull(b, (5+d)%48)
					safe := ok && most >= bpm*(1-1e-11)
					says := d >= gaps[a]
					if a != b {
						says = gaps[a] <= 48 && gaps[b] <= 48
						for _, r := range lanes {
							for turns := -3; turns <= 3; turns++ {
								if at := d + 48*turns; at >= r.from && at <= r.to {
									says = false
								}
							}
						}
					}
					if safe != says {
						t.Fatalf("at %g BPM, channels %d and %d, %d steps apart: safe to %v %v, by gaps and differences %v", bpm, a, b, d, most, ok, says)
					}
					if safe {
						apart++
					} else {
						met++
					}
				}
			}
		}
	}
	if met < floor(500) || apart < floor(500) {
		t.Errorf("%d differences are forbidden and %d are not; want many of both", met, apart)
	}
}

// A drop of 240 mm that two channels share, from rest at one instant: the
// second must be 14 mm behind, √(2 × 0.014 m / g) = 53.4 ms after the first,
// less than the step of 125 ms at 120 BPM and of 500 ms at 30 BPM. Only pins on
// one step meet. With the other's latch 600 ms later, its marble enters at
// d p + 0.6 s: at p from 125 to 500 ms, |d p + 0.6| < 0.0534 wants d between
// −5.23 and −1.09. Worked by hand; g by the 3rd CGPM, 1901.
func TestForbiddenDifferencesOfASharedDrop(t *testing.T) {
	for _, c := range []struct {
		latchMS float64
		want    differences
	}{{0, differences{0, 0, 0}}, {600, differences{0, -5, -2}}} {
		m := bare(16, wheel.Channel{Path: []string{"drop"}}, wheel.Channel{Path: []string{"drop"}, Trip: wheel.Trip{LatchMS: wheel.Known(c.latchMS)}})
		m.Lanes = []wheel.Lane{{ID: "drop", Kind: wheel.Fall, LengthMM: wheel.Known(240), Keep: wheel.Known(1)}}
		w, err := Compile(m)
		if err != nil {
			t.Fatal(err)
		}
		got := forbidden(w, 0, 1, 120)
		if len(got) != 1 || got[0] != c.want {
			t.Errorf("latch %g ms: %v, want %v", c.latchMS, got, c.want)
		}
	}
}

func TestEasingTempoIsInsideTheMachines(t *testing.T) {
	w, err := Compile(bare(16, wheel.Channel{}))
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ asked, from, to float64 }{{10, 30.01, 30.02}, {30, 30.01, 30.02}, {84, 84, 84}, {900, 180, 180}} {
		if got := w.EasingTempo(c.asked); got < c.from || got > c.to {
			t.Errorf("%g BPM: %g, want %g to %g", c.asked, got, c.from, c.to)
		}
	}
}
