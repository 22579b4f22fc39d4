package arrange

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel/song"
)

// beatsOf is a song at 120 BPM of which every beat has notes at some places,
// given in ticks of 480, in so many bars of 4/4.
func beatsOf(nBars int, places ...int64) *song.Song {
	var notes []song.Note
	for beat := range int64(4 * nBars) {
		for _, p := range places {
			notes = append(notes, note(480*beat+p, 60))
		}
	}
	return tune(nBars, notes...)
}

func fitOf(t testing.TB, s *song.Song, stepsPerBeat int) GridFit {
	t.Helper()
	m := machine(16*len(s.Bars)*stepsPerBeat, stepsPerBeat, row{id: "a"})
	return GridFitOf(m, s, section(t, m, s, 1, 0), nil)
}

// Worked by hand: at 120 BPM a beat is 500 ms and at four steps a beat a step is
// 125 ms. The thirds of a beat stand at steps 1⅓ and 2⅔, a third of a step or
// 41.667 ms off; an offbeat at 288 of 480 ticks, 3/5, at 2.4, so 50 ms off; an
// eighth of it at ½, 62.5 ms off. Seven steps a beat would leave the eighth
// ⅛ − ⅐ of 500 ms, 8.9 ms off: more than 1/64 of a beat, 7.8 ms.
func TestFeelOfTheBeatAndStepsThatHoldIt(t *testing.T) {
	for _, c := range []struct {
		name         string
		s            *song.Song
		stepsPerBeat int
		want         GridFit
	}{
		{"quarters", beatsOf(2, 0), 4,
			GridFit{Feel: Straight, Holds: 1, Text: "every note lies on a step"}},
		{"eighths and sixteenths", beatsOf(2, 0, 120, 240), 4,
			GridFit{Feel: Straight, Holds: 4, Text: "every note lies on a step"}},
		{"thirty-seconds", beatsOf(2, 0, 60), 4,
			GridFit{WorstMS: 62.5, Suffering: 8, Feel: Straight, Holds: 8, Text: "8 beats have notes that are off the wheel's steps; the worst lies 62.5 ms off, in bar 1 beat 1; 8 steps per beat would hold it"}},
		{"triplets", beatsOf(2, 0, 160, 320), 4,
			GridFit{WorstMS: 500. / 12, Suffering: 8, Feel: Triplets, Holds: 3, Text: "8 beats have notes that are off the wheel's steps; the worst lies 41.7 ms off, in bar 1 beat 1; there are triplets; 3 steps per beat would hold it"}},
		{"triplets on twelve steps", beatsOf(2, 0, 160, 320), 12,
			GridFit{Feel: Triplets, Holds: 3, Text: "every note lies on a step; there are triplets"}},
		{"swung two to one", beatsOf(2, 0, 320), 4,
			GridFit{WorstMS: 500. / 12, Suffering: 8, Feel: Swung, Swing: 2. / 3, Holds: 3, Text: "8 beats have notes that are off the wheel's steps; the worst lies 41.7 ms off, in bar 1 beat 1; the beats are swung, 2 to 1; 3 steps per beat would hold it"}},
		{"swung three to two", beatsOf(2, 0, 288), 4,
			GridFit{WorstMS: 50, Suffering: 8, Feel: Swung, Swing: 0.6, Holds: 5, Text: "8 beats have notes that are off the wheel's steps; the worst lies 50 ms off, in bar 1 beat 1; the beats are swung, 1.5 to 1; 5 steps per beat would hold it"}},
		{"dotted eighths are not swung", beatsOf(2, 0, 360), 4,
			GridFit{Feel: Straight, Holds: 4, Text: "every note lies on a step"}},
		{"triplets among swung beats", tune(1, note(0, 60), note(320, 60), note(480, 60), note(640, 60), note(800, 60)), 4,
			GridFit{WorstMS: 500. / 12, Suffering: 2, Feel: Triplets, Holds: 3, Text: "2 beats have notes that are off the wheel's steps; the worst lies 41.7 ms off, in bar 1 beat 1; there are triplets; 3 steps per beat would hold it"}},
		{"a little off", beatsOf(2, 0, 243), 4,
			GridFit{WorstMS: 3.125, Feel: Straight, Holds: 2, Text: "no note is more than 3.2 ms off its step"}},
		{"no notes", tune(2), 4, GridFit{Feel: Straight, Holds: 1, Text: "there are no notes in bars 1 to 2"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, want := fitOf(t, c.s, c.stepsPerBeat), c.want
			if want.Swing == 0 {
				want.Swing = 0.5
			}
			if math.Abs(got.WorstMS-want.WorstMS) > 1e-9 || math.Abs(got.Swing-want.Swing) > 1e-12 ||
				math.Abs(got.SwingRatio-want.Swing/(1-want.Swing)) > 1e-9 {
				t.Errorf("worst %g ms, swing %g, %g to 1; want %g, %g", got.WorstMS, got.Swing, got.SwingRatio, want.WorstMS, want.Swing)
			}
			if got.Suffering != want.Suffering || got.Feel != want.Feel || got.Holds != want.Holds || got.Text != want.Text {
				t.Errorf("got %+v\nwant %+v", got, want)
			}
		})
	}
}

// Worked by hand: at 120 BPM 12 ticks of 480 are 12.5 ms, more than 10 ms and
// 1/64 of a beat (7.8 ms); at 60 BPM 6 ticks are 12.5 ms, less than 1/64 of a
// beat (15.6 ms).
func TestNotesAreOffByTheBeatOrByTenMilliseconds(t *testing.T) {
	s := tune(2, note(12, 60), note(1926, 60))
	s.Tempos = append(s.Tempos, song.Tempo{Tick: 1920, MicrosPerQuarter: 1_000_000})
	got := fitOf(t, s, 4)
	want := []BeatError{{1, 1, 12.5, 1}}
	if got.Suffering != 1 || len(got.Worst) != 1 || math.Abs(got.Worst[0].WorstMS-12.5) > 1e-9 {
		t.Errorf("beats %+v, want %+v", got.Worst, want)
	}
	if math.Abs(got.RMSMS-12.5) > 1e-9 {
		t.Errorf("root mean square %g ms, want 12.5", got.RMSMS)
	}
}

// Worked by hand: 24 beats are off by 12 + their number ticks; the worst 20 are
// told, the last beat first. In the last there are two notes off and one not.
func TestWorstBeatsAreToldFirst(t *testing.T) {
	var notes []song.Note
	for i := range int64(24) {
		notes = append(notes, note(480*i+12+i, 60))
	}
	notes = append(notes, note(480*23+240+20, 60), note(480*23+360, 60))
	got := fitOf(t, tune(6, notes...), 4)
	if got.Suffering != 24 || len(got.Worst) != MaxBeatErrors {
		t.Fatalf("%d suffer and %d are told", got.Suffering, len(got.Worst))
	}
	if w := got.Worst[0]; w.Bar != 6 || w.Beat != 4 || w.Notes != 2 || math.Abs(w.WorstMS-35*500./480) > 1e-9 {
		t.Errorf("worst is %+v", w)
	}
	if w := got.Worst[19]; w.Bar != 2 || w.Beat != 1 {
		t.Errorf("the twentieth is %+v", w)
	}
}

// One onset in a hundred may be off, and of fewer none.
func TestOneOnsetInAHundredMayBeOff(t *testing.T) {
	s := beatsOf(25, 0)
	s.Notes[50].Tick += 100
	if got := fitOf(t, s, 4); got.Holds != 1 {
		t.Errorf("of 100 onsets one off: %d steps hold", got.Holds)
	}
	s.Notes = s.Notes[1:]
	if got := fitOf(t, s, 4); got.Holds == 1 {
		t.Error("of 99 onsets one off: 1 step holds")
	}
}

func TestTimingWithoutAGridIsFree(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	var notes []song.Note
	for range 200 {
		notes = append(notes, note(random.Int64N(16*1920), 60))
	}
	if got := fitOf(t, tune(16, notes...), 4); got.Feel != Free || got.Holds != 0 {
		t.Errorf("got %+v", got)
	}
}

// TestHandsThatWanderKeepTheirFeel plays each feel with a deviation of 10 ms, as
// hands do (Rasch, Acustica 43, 1979, found 30 to 50 ms between players of trios).
func TestHandsThatWanderKeepTheirFeel(t *testing.T) {
	for feel, places := range map[Feel][]int64{Straight: {0, 120, 240, 360}, Triplets: {0, 160, 320}, Swung: {0, 310}} {
		random := rand.New(rand.NewPCG(1, 2))
		s := beatsOf(16, places...)
		for i := range s.Notes {
			s.Notes[i].Tick = max(0, s.Notes[i].Tick+int64(random.NormFloat64()*9.6))
		}
		slices.SortFunc(s.Notes, func(a, b song.Note) int { return int(a.Tick - b.Tick) })
		if got := fitOf(t, s, 4); got.Feel != feel || got.Holds != 0 || got.Suffering == 0 {
			t.Errorf("%s is taken for %s: %+v", feel, got.Feel, got)
		}
	}
}

func TestNoSectionHasNoFit(t *testing.T) {
	m, s := machine(32, 4, row{id: "a"}), beatsOf(1, 0)
	for _, sec := range []Section{{}, {FromBar: 1}, {FromBar: 2, Bars: 1}, {FromBar: -3, Bars: 1}} {
		if got := GridFitOf(m, s, sec, nil); got.Text != "there is no section" {
			t.Errorf("%+v has %+v", sec, got)
		}
	}
}

// TestGridFitAgreesWithFractions holds errors against fractions throughout, and
// steps that hold against every number of steps tried in full.
func TestGridFitAgreesWithFractions(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m, s := drawMachine(t), drawSong(t)
		for _, sec := range Fits(m, s) {
			if sec.Bars == 0 {
				continue
			}
			got := GridFitOf(m, s, sec, nil)
			worst, sum := 0.0, 0.0
			notes := plain{m: m, s: s, from: sec.Tick, until: sec.EndTick}.notes()
			for _, n := range notes {
				worst, sum = max(worst, math.Abs(n.errMS)), sum+n.errMS*n.errMS
			}
			if rms := math.Sqrt(sum / max(1, float64(len(notes)))); math.Abs(got.WorstMS-worst) > 1e-9 || math.Abs(got.RMSMS-rms) > 1e-9 {
				t.Fatalf("%+v: %+v, want errors of %g and %g ms", sec, got, worst, rms)
			}
			if got.Swing <= 0 || got.Swing >= 1 || got.Suffering < len(got.Worst) || got.Text == "" {
				t.Fatalf("%+v: %+v", sec, got)
			}
			want := 0
			for q := 24; q >= 1; q-- {
				other := *m
				other.Wheel.StepsPerBeat, other.Wheel.Steps = q, 1<<16
				off := map[int64]bool{}
				onsets := map[int64]bool{}
				for i, n := range (plain{m: &other, s: s, from: sec.Tick, until: sec.EndTick}).notes() {
					tick := sec.notes(s)[i].Tick
					onsets[tick] = true
					beatMS := float64(s.TempoAt(tick).MicrosPerQuarter) / 1000
					if math.Abs(n.errMS) > min(beatMS/64, 10)+1e-8 {
						off[tick] = true
					}
				}
				if len(off) <= len(onsets)/100 {
					want = q
				}
			}
			if got.Holds != want {
				t.Fatalf("%+v: %d steps hold, want %d", sec, got.Holds, want)
			}
		}
	})
}

// Worked by hand, two to one: the offbeat at ⅔ goes to ½, a third to ¼, five
// sixths to ¾. Whole beats stay, before the start too.
func TestStraightenSetsTheOffbeatOnTheHalfBeat(t *testing.T) {
	for _, c := range []struct{ at, swing, want float64 }{
		{0, 2. / 3, 0}, {2. / 3, 2. / 3, 0.5}, {1. / 3, 2. / 3, 0.25}, {5. / 6, 2. / 3, 0.75}, {1, 2. / 3, 1},
		{7 + 2./3, 2. / 3, 7.5}, {-1. / 3, 2. / 3, -0.5}, {0.3, 0.5, 0.3},
		{0.6, 0, 0.6}, {0.6, 1, 0.6}, {0.6, -2, 0.6}, {0.6, math.NaN(), 0.6},
	} {
		if got := Straighten(c.at, c.swing); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%g at swing %g goes to %g, want %g", c.at, c.swing, got, c.want)
		}
	}
}

func TestStraightenKeepsOrderAndCanBeUndone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		swing := rapid.Float64Range(0.05, 0.95).Draw(t, "swing")
		a, b := rapid.Float64Range(-4, 4).Draw(t, "a"), rapid.Float64Range(-4, 4).Draw(t, "b")
		x, y := Straighten(a, swing), Straighten(b, swing)
		if a < b && x > y+1e-12 {
			t.Fatalf("%g and %g go to %g and %g", a, b, x, y)
		}
		// Straight beats that are swung the other way: [0, ½] → [0, s].
		beat := math.Floor(x)
		back := beat + 2*swing*(x-beat)
		if x-beat > 0.5 {
			back = beat + 1 - 2*(1-swing)*(1-(x-beat))
		}
		if math.Abs(back-a) > 1e-9 {
			t.Fatalf("%g goes to %g and back to %g", a, x, back)
		}
	})
}

func ExampleStraighten() {
	fmt.Println(Straighten(0.625, 0.625), Straighten(2.3125, 0.625))
	// Output: 0.5 2.25
}

func BenchmarkGridFit100k(b *testing.B) {
	s := longSong()
	m := machine(65536, 4, row{id: "a"})
	sec := section(b, m, s, 1, 0)
	b.ReportAllocs()
	for b.Loop() {
		GridFitOf(m, s, sec, nil)
	}
}

// Worked by hand: bars of 7/8 at 480 ticks to the quarter are 1,680 ticks. Each
// has notes on its quarters and, in a swing of 2 to 1, 320 ticks after them;
// straightened these fall on the half, two steps of four. Every second bar starts
// in the middle of a quarter that is counted from the section's start.
func TestSwingIsTakenOutInEachBarsOwnBeats(t *testing.T) {
	m := machine(256, 4, row{id: "c", keys: []int{60}})
	s := &song.Song{Title: "Limp", TicksPerQuarter: 480, Tempos: []song.Tempo{{MicrosPerQuarter: 600_000}}, Tracks: []song.Track{{}}}
	s.Bars = bars(nil, 16, 7, 8, 480)
	for _, bar := range s.Bars {
		for beat := range int64(3) {
			s.Notes = append(s.Notes, note(bar.Tick+beat*480, 60), note(bar.Tick+beat*480+320, 60))
		}
	}
	_, r := set(t, m, s, Request{Straighten: true})
	if math.Abs(r.Swing-2) > 1e-9 || r.WorstErrorMS > 1e-9 {
		t.Errorf("a swing of %g is taken out and %g ms are left", r.Swing, r.WorstErrorMS)
	}
	if _, r = set(t, m, s, Request{}); r.Swing != 0 || r.WorstErrorMS < 10 {
		t.Errorf("kept, the swing is %g and off by %g ms", r.Swing, r.WorstErrorMS)
	}
}
