package arrange

import (
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
	"pinwright/wheel/song"
)

// Worked by hand: at 4 steps a quarter, 3/4 is 12 steps, 7/8 is 14, 4/4 is 16.
// A wheel of 48 holds 12+14+16 = 42 of them and not 12 more.
func TestSectionsWithChangingMetersFit(t *testing.T) {
	s := tune(0)
	s.Bars = bars(s.Bars, 1, 3, 4, 480)
	s.Bars = bars(s.Bars, 1, 7, 8, 480)
	s.Bars = bars(s.Bars, 1, 4, 4, 480)
	s.Bars = bars(s.Bars, 1, 3, 4, 480)
	s.Bars = bars(s.Bars, 1, 13, 4, 480) // 52 steps
	got := Fits(machine(48, 4, row{id: "a"}), s)
	want := []Section{
		{1, 3, 0, 1440 + 1680 + 1920, 42, 5040},
		{2, 3, 1440, 1440 + 1680 + 1920 + 1440, 42, 5040},
		{3, 2, 3120, 3120 + 1920 + 1440, 28, 3360},
		{4, 1, 5040, 6480, 12, 1440},
		{5, 0, 6480, 6480, 0, 0},
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("from bar %d: %+v, want %+v", i+1, got[i], want[i])
		}
	}
}

// Worked by hand: a bar of 6/8 lasts three quarters, one of 7/8 three and a half.
func TestAPinningCountsItsBarsAsItsSectionDoes(t *testing.T) {
	m := machine(64, 4, row{id: "a", keys: []int{60}})
	for _, c := range []struct {
		name   string
		meters [][2]int
		want   wheel.Count
	}{
		{"waltz", [][2]int{{3, 4}, {3, 4}}, 3},
		{"common", [][2]int{{4, 4}, {2, 2}}, 4},
		{"jig", [][2]int{{6, 8}}, 3},
		{"half a beat over", [][2]int{{7, 8}}, 0},
		{"changing", [][2]int{{3, 4}, {4, 4}}, 0},
	} {
		s := tune(0, note(0, 60))
		for _, meter := range c.meters {
			s.Bars = bars(s.Bars, 1, meter[0], meter[1], 480)
		}
		p, _ := set(t, m, s, Request{})
		if p.BeatsPerBar != c.want {
			t.Errorf("%s: bars of %d beats, want %d", c.name, p.BeatsPerBar, c.want)
		}
	}
}

// Worked by hand: a 4/4 bar at 30,000/1001 frames a second of 1 tick each, two
// quarters a second, has 59.94 ticks. Bars start at the nearest tick, so the
// first three take 180 ticks, 12.012 quarters; as music they are 12, 48 steps.
func TestBarsOfBrokenTicksFillTheWheel(t *testing.T) {
	s := tune(0, note(0, 60), note(179, 60))
	s.TicksPerQuarter = 30000.0 / 1001 / 2
	s.Bars = []song.Bar{{Tick: 0, Ticks: 60, Numerator: 4, Denominator: 4}, {Tick: 60, Ticks: 60, Numerator: 4, Denominator: 4}, {Tick: 120, Ticks: 60, Numerator: 4, Denominator: 4}}
	sec, err := SectionOf(machine(48, 4, row{id: "a"}), s, 1, 3)
	if err != nil || sec.Steps != 48 {
		t.Errorf("three bars take %g steps, %v; want 48", sec.Steps, err)
	}
	p, _ := set(t, machine(48, 4, row{id: "a", keys: []int{60}}), s, Request{}) // tick 179 is 47.78 steps
	wantHoles(t, p, "a@0")
}

// A bar cut short by a new meter is as long as its ticks say.
func TestBarCutShortIsMeasuredInTicks(t *testing.T) {
	s := tune(0)
	s.Bars = []song.Bar{{Ticks: 480, Numerator: 4, Denominator: 4}, {Tick: 480, Ticks: 1440, Numerator: 3, Denominator: 4}}
	sec, err := SectionOf(machine(16, 4, row{id: "a"}), s, 0, 0)
	if want := (Section{1, 2, 0, 1920, 16, 1920}); err != nil || sec != want {
		t.Errorf("%+v, %v; want %+v", sec, err, want)
	}
}

func TestFitsAgreesWithEverySectionTried(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, s := drawMachine(t), drawSong(t)
		for i, got := range Fits(m, s) {
			end, fits := s.Bars[i].Tick, 0
			for n, b := range s.Bars[i:] {
				ticks := b.Tick + b.Ticks - s.Bars[i].Tick
				if ticks*int64(m.Wheel.StepsPerBeat) > int64(m.Wheel.Steps)*int64(s.TicksPerQuarter) {
					break
				}
				end, fits = b.Tick+b.Ticks, n+1
			}
			if got.FromBar != i+1 || got.Bars != fits || got.Tick != s.Bars[i].Tick || got.EndTick != end {
				t.Fatalf("from bar %d %+v fits, want %d bars to tick %d", i+1, got, fits, end)
			}
			sec, err := SectionOf(m, s, i+1, 0)
			if (err == nil) != (fits > 0) || err == nil && sec != got {
				t.Fatalf("from bar %d the longest section is %+v, %v; want %+v", i+1, sec, err, got)
			}
		}
	})
}

func TestSongWithoutTimeHasNoSections(t *testing.T) {
	s := tune(3)
	s.TicksPerQuarter = 0
	if got := Fits(machine(48, 4, row{id: "a"}), s); got != nil {
		t.Errorf("got %+v", got)
	}
	if got := Fits(machine(48, 4, row{id: "a"}), &song.Song{TicksPerQuarter: 1}); got != nil {
		t.Errorf("got %+v", got)
	}
}
