package crank

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"pinwright/wheel"
)

// madeUpSeeds is how many cranks of each kind are turned: 60, or more by
// PINWRIGHT_CRANK_SEEDS.
func madeUpSeeds(t *testing.T) int {
	text := os.Getenv("PINWRIGHT_CRANK_SEEDS")
	if text == "" {
		return 60
	}
	n, err := strconv.Atoi(text)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// coverage counts how often the truth is within twice the stated uncertainty.
type coverage struct {
	in, of       int
	errors2, us2 float64
}

func (c *coverage) add(is, u, truth float64) {
	c.of++
	if math.Abs(is-truth) <= 2*u {
		c.in++
	}
	c.errors2 += (is - truth) * (is - truth)
	c.us2 += u * u
}

func (c *coverage) share() float64 { return float64(c.in) / float64(c.of) }

func (c *coverage) String() string {
	n := float64(c.of)
	return fmt.Sprintf("2u holds the truth in %5.1f %% of %d; errors %.3f %%, u %.3f %% (root mean squares)", 100*c.share(), c.of, 100*math.Sqrt(c.errors2/n), 100*math.Sqrt(c.us2/n))
}

// Made-up cranks, turned 14 times at 80 BPM with a wander of 2 % and times 2 ms
// out of place, by marks from 1 to 32 a turn. Of so many cranks as are turned here
// the share that 2u holds scatters by itself: of 60 by 2.8 % around 95 %, so each
// kind is let go down by three of these, to 86 %; of all kinds and marks together
// no lower than 93 %.
func TestMadeUpCranksAreMeasuredWithinTheirStatedDoubt(t *testing.T) {
	const turns, beats, bpm, sd = 14, 8, 80, 0.02
	seeds := madeUpSeeds(t)
	least := 0.95 - 3*math.Sqrt(0.95*0.05/float64(seeds))
	var ripples, wanders coverage
	wanderBy := map[int]*coverage{1: {}, 2: {}, 4: {}, 8: {}, 16: {}, 32: {}}
	for k, c := range []madeUp{{}, {once: 0.05}, {once: 0.1}, {once: 0.2}, {twice: 0.05}, {twice: 0.1}, {twice: 0.2}, {once: 0.1, twice: 0.05}} {
		by := map[int]*coverage{8: {}, 16: {}, 32: {}}
		for seed := range seeds {
			r := rand.New(rand.NewPCG(uint64(seed), uint64(k)))
			c.bpm, c.turnBeats, c.wander, c.jitterS = bpm, beats, sd, 0.002
			c.alpha, c.beta = 2*math.Pi*r.Float64(), 2*math.Pi*r.Float64()
			at := c.turned(r, turns)
			for perTurn, of := range by {
				got, err := RippleOf(marked(at, perTurn), perTurn)
				if err != nil {
					t.Fatal(err)
				}
				of.add(got.Fraction, got.U, c.ripple())
				ripples.add(got.Fraction, got.U, c.ripple())
			}
			for perTurn, of := range wanderBy {
				got, err := Measure(passingsOf(marked(at, perTurn), perTurn, beats), beats)
				if err != nil || !got.WanderOK || got.WanderMixed {
					t.Fatalf("%+v, %v", got, err)
				}
				of.add(got.Wander, got.WanderU, sd)
				wanders.add(got.Wander, got.WanderU, sd)
			}
		}
		for _, perTurn := range []int{8, 16, 32} {
			t.Logf("ripple %4.1f %% once, %4.1f %% twice a turn, %2d marks: %v", 100*c.once, 100*c.twice, perTurn, by[perTurn])
			if by[perTurn].share() < least {
				t.Errorf("once %g, twice %g, %d marks: 2u holds the truth in only %.1f %%", c.once, c.twice, perTurn, 100*by[perTurn].share())
			}
		}
	}
	for _, perTurn := range []int{1, 2, 4, 8, 16, 32} {
		t.Logf("wander of 2 %% by %2d marks: %v", perTurn, wanderBy[perTurn])
	}
	t.Logf("all ripples: %v", &ripples)
	t.Logf("all wanders: %v", &wanders)
	if ripples.share() < 0.93 || wanders.share() < 0.93 {
		t.Error("2u does not hold the truth about 95 times in 100")
	}
}

func passingsOf(marks []Mark, perTurn int, beats float64) (p []Passing) {
	for _, m := range marks {
		p = append(p, Passing{float64(m.N) * beats / float64(perTurn), m.AtS})
	}
	return p
}

// Without wander or jitter ripple comes back as it was put in, and none of it is
// taken for wander, however many marks there are and however the beats lie in a
// turn.
func TestRippleIsExactWithoutNoiseAndNeverLeaksIntoWander(t *testing.T) {
	for _, c := range []madeUp{
		{once: 0.05}, {once: 0.2, alpha: 1}, {twice: 0.1, beta: 2}, {once: 0.1, twice: 0.1, alpha: 3, beta: 1}, {once: 0.4, alpha: 2}, {twice: 0.3},
	} {
		for _, beats := range []float64{8, 64.0 / 7, 2, 32} {
			c.bpm, c.turnBeats, c.stepS = 80, beats, 0.002*beats
			turns := int(max(14, math.Ceil(100/beats)))
			at := c.turned(rand.New(rand.NewPCG(1, 2)), turns)
			for _, perTurn := range []int{1, 2, 4, 8, 16, 32} {
				marks := marked(at, perTurn)
				m, err := Measure(passingsOf(marks, perTurn, beats), beats)
				if err != nil || !m.WanderOK || m.WanderMixed || m.Wander > 1e-6 {
					t.Errorf("%+v, %g beats a turn, %d marks: wander %g (%v), %v", c, beats, perTurn, m.Wander, m.WanderOK, err)
				}
				if perTurn < MinRippleMarks {
					continue
				}
				r, err := RippleOf(marks, perTurn)
				if err != nil || math.Abs(r.Fraction-c.ripple()) > 2e-4 || math.Abs(r.Once-c.once) > 2e-4 || math.Abs(r.Twice-c.twice) > 2e-4 || r.UnevenD != 0 || r.Faults != (Faults{}) {
					t.Errorf("%+v, %g beats a turn, %d marks: %+v, %v; want %g", c, beats, perTurn, r, err, c.ripple())
				}
			}
		}
	}
}

// The fastest place of 1 + r sin(φ + α) is at φ = π/2 − α: with α = 0 a quarter of
// a turn after mark 0, mark 4 of 16.
func TestRippleSaysWhereTheCrankIsFastest(t *testing.T) {
	for alpha, want := range map[float64]int{0: 4, math.Pi / 2: 0, math.Pi: 12} {
		at := madeUp{bpm: 80, turnBeats: 8, once: 0.1, alpha: alpha}.turned(rand.New(rand.NewPCG(1, 2)), 12)
		if r, err := RippleOf(marked(at, 16)[5:], 16); err != nil || r.FastestN != want {
			t.Errorf("α = %g: mark %d, %v; want %d", alpha, r.FastestN, err, want)
		}
	}
}

func TestRippleRefusesWhatItCannotTell(t *testing.T) {
	at := madeUp{bpm: 80, turnBeats: 8, once: 0.1}.turned(rand.New(rand.NewPCG(1, 2)), 12)
	swapped, still, back := marked(at, 16), marked(at, 16), marked(at, 16)
	swapped[20], swapped[21] = swapped[21], swapped[20]
	still[30].AtS = still[29].AtS
	back[40].N = 3
	nan := marked(at, 16)
	nan[7].AtS = math.NaN()
	sparse := marked(at, 16)
	for i := range sparse {
		sparse[i].N *= 2
	}
	far := append(marked(at, 16), Mark{1 << 40, at[len(at)-1] + 1e9})
	stops := madeUp{bpm: 80, turnBeats: 8, once: 0.98}.turned(rand.New(rand.NewPCG(1, 2)), 12)
	for name, c := range map[string]struct {
		marks   []Mark
		perTurn int
		says    string
	}{
		"four marks":        {marked(at, 4), 4, "at least 8 marks in a turn of the crank, and the sensor has 4"},
		"one mark":          {marked(at, 1), 1, "at least 8 marks"},
		"no marks a turn":   {marked(at, 8), 0, "at least 8 marks"},
		"out of order":      {swapped, 16, "have to grow together"},
		"a count back":      {back, 16, "have to grow together"},
		"two at one time":   {still, 16, "have to grow together"},
		"no time":           {nan, 16, "NaN"},
		"nothing":           {nil, 16, "after 9 turns"},
		"one mark alone":    {marked(at, 16)[:1], 16, "after 9 turns"},
		"eight turns":       {marked(at, 16)[:8*16+1], 16, "after 9 turns"},
		"a count far ahead": {far, 16, "fewer than half"},
		"every second mark": {sparse, 16, "fewer than half"},
		"all but a stop":    {marked(stops, 32), 32, "cannot be told"},
	} {
		r, err := RippleOf(c.marks, c.perTurn)
		if err == nil || !strings.Contains(err.Error(), c.says) || r.Fraction != 0 {
			t.Errorf("%s: %+v, %v; want %q", name, r, err, c.says)
		}
	}
	if _, err := RippleOf(marked(at, 16)[:9*16+1], 16); err != nil {
		t.Errorf("nine turns: %v", err)
	}
}

// A mark that is missed, counted twice, or lost on the way costs nothing; how
// often is told.
func TestMarksThatAreMissedDoubledOrLostAreMended(t *testing.T) {
	const perTurn = 16
	clean := marked(madeUp{bpm: 80, turnBeats: 8, once: 0.1, twice: 0.05, wander: 0.01}.turned(rand.New(rand.NewPCG(4, 2)), 20), perTurn)
	want, err := RippleOf(clean, perTurn)
	if err != nil {
		t.Fatal(err)
	}
	recounted := func(marks []Mark) []Mark {
		for i := range marks {
			marks[i].N = i
		}
		return marks
	}
	missed := recounted(append(append(append([]Mark{}, clean[:50]...), clean[51:200]...), clean[201:]...))
	bounce := Mark{0, clean[90].AtS + 0.004}
	doubled := recounted(append(append(append([]Mark{}, clean[:91]...), bounce), clean[91:]...))
	lost := append(append([]Mark{}, clean[:120]...), clean[123:]...)
	for name, c := range map[string]struct {
		marks  []Mark
		faults Faults
	}{"missed": {missed, Faults{Missed: 2}}, "doubled": {doubled, Faults{Doubled: 1}}, "lost": {lost, Faults{Lost: 3}}} {
		r, err := RippleOf(c.marks, perTurn)
		if err != nil || r.Faults != c.faults || math.Abs(r.Fraction-want.Fraction) > 0.002 {
			t.Errorf("%s: %+v, %v; want %+v", name, r, err, want)
		}
	}
	often := []Mark{}
	for i, m := range clean {
		if i%40 != 17 {
			often = append(often, m)
		}
	}
	if _, err := RippleOf(recounted(often), perTurn); err == nil || !strings.Contains(err.Error(), "as if one were missed") {
		t.Errorf("a mark missed in every second turn: %v", err)
	}
}

// Times 12 ms out of place are told as 12 ms, and even ones as none to speak of.
func TestJitterOfTheTimesIsTold(t *testing.T) {
	for _, jitter := range []float64{0, 0.003, 0.012} {
		at := madeUp{bpm: 80, turnBeats: 8, once: 0.1, wander: 0.02, jitterS: jitter}.turned(rand.New(rand.NewPCG(4, 5)), 30)
		if r, err := RippleOf(marked(at, 16), 16); err != nil || math.Abs(r.JitterS-jitter) > 0.15*jitter+0.001 {
			t.Errorf("%g s: told as %g, %v", jitter, r.JitterS, err)
		}
	}
}

// One mark of 16 that lies 3° from its place shows, and ripple does not. A disc
// that is fixed off its middle makes the same errors as ripple once a turn: marks
// at θ + e sin θ look like a tempo of 1 + e cos θ, in turns 2π times as much, and
// nothing tells them apart.
func TestADiscsUnevenMarksAreToldUnlessTheyLookLikeRipple(t *testing.T) {
	disc := func(move func(turn float64) float64) (d []float64) {
		for i := range mostMarks {
			turn := float64(i) / mostMarks
			d = append(d, turn+move(turn))
		}
		return d
	}
	c := madeUp{bpm: 80, turnBeats: 8, once: 0.05, wander: 0.01}
	c.disc = disc(func(turn float64) float64 {
		if turn == 6.0/16 {
			return 3.0 / 360
		}
		return 0
	})
	r, err := RippleOf(marked(c.turned(rand.New(rand.NewPCG(4, 5)), 20), 16), 16)
	if err != nil || r.UnevenD < 2 || r.UnevenD > 3.5 {
		t.Errorf("a mark 3° from its place: %+v, %v", r, err)
	}
	c = madeUp{bpm: 80, turnBeats: 8, wander: 0.01}
	c.disc = disc(func(turn float64) float64 { return 0.1 / (2 * math.Pi) * math.Sin(2*math.Pi*turn) })
	if r, err = RippleOf(marked(c.turned(rand.New(rand.NewPCG(4, 5)), 20), 16), 16); err != nil || math.Abs(r.Fraction-0.1) > 0.01 || r.UnevenD > 1 {
		t.Errorf("a disc off its middle: %+v, %v", r, err)
	}
}

// A sensor's marks go through the watch as counts of turns: with 1, 4, 8 and 32 a
// turn the wander is told, ripple only from 8 on; a tempo that comes and goes with
// ripple is no rest and no bounce.
func TestWatchTellsRippleByTheMachinesMarks(t *testing.T) {
	at := madeUp{bpm: 80, turnBeats: 8, once: 0.3, wander: 0.01}.turned(rand.New(rand.NewPCG(4, 5)), 16)
	for _, perTurn := range []int{1, 4, 8, 32} {
		w := eightTurns
		w.CrankMarks = perTurn
		var c Watch
		for _, m := range marked(at, perTurn) {
			turn, err := TurnOfMark(w, float64(m.N))
			if err == nil {
				_, err = c.Turned(w, turn, m.AtS)
			}
			if err != nil && perTurn != 4 {
				t.Fatalf("%d marks: %v", perTurn, err)
			}
		}
		m, ok := c.Measured()
		if !ok || math.Abs(m.BPM/80-1) > 0.06 {
			t.Errorf("%d marks: %+v", perTurn, m)
		}
		if perTurn != 4 && (!m.WanderOK || m.Wander > 0.02 || m.WanderMixed) {
			t.Errorf("%d marks: wander %+v", perTurn, m)
		}
		if m.RippleOK != (perTurn >= 8) || perTurn >= 8 && math.Abs(m.Ripple.Fraction-0.3) > 2*m.Ripple.U+1e-4 || !m.RippleOK && !strings.Contains(m.RippleNo, fmt.Sprintf("gives the sensor %d", perTurn)) {
			t.Errorf("%d marks: ripple %v %+v, %q", perTurn, m.RippleOK, m.Ripple, m.RippleNo)
		}
	}
}

// Counts that do not come at the marks that the machine's file has, or fewer of
// them, are told; so is a mark that is no whole number.
func TestWatchSaysThatCountsAreNotTheMachinesMarks(t *testing.T) {
	w := eightTurns
	w.CrankMarks = 16
	for part, says := range map[float64]string{1: "fewer than half", 0.15: "come between the 16 marks"} {
		var c Watch
		for i := 0; float64(i)*part < 30; i++ {
			if _, err := c.Turned(w, 0.03*(1-part)+float64(i)*part, float64(i)*part*6); err != nil {
				t.Fatal(err)
			}
		}
		if m, ok := c.Measured(); !ok || m.RippleOK || !strings.Contains(m.RippleNo, says) || !m.WanderOK || m.Wander > 1e-6 {
			t.Errorf("every %g of a turn: %+v", part, m)
		}
	}
	if _, err := TurnOfMark(w, 3.5); err == nil || !strings.Contains(err.Error(), "whole number") {
		t.Errorf("mark 3.5: %v", err)
	}
	if turn, err := TurnOfMark(w, 40); err != nil || turn != 2.5 {
		t.Errorf("mark 40 of 16 a turn: %g, %v", turn, err)
	}
	if turn, err := TurnOfMark(wheel.Wheel{}, 40); err != nil || turn != 40 {
		t.Errorf("mark 40 of a file without crank_marks: %g, %v", turn, err)
	}
}

// A disc of many marks takes no more memory for longer, and is measured too.
func TestWatchTakesDiscsOfManyMarks(t *testing.T) {
	at := madeUp{bpm: 80, turnBeats: 8, once: 0.1}.turned(rand.New(rand.NewPCG(4, 5)), 12)
	w := eightTurns
	for _, perTurn := range []int{96, 128, 131} {
		w.CrankMarks = perTurn
		var c Watch
		for n := range 11 * perTurn { // between the marks of the made-up crank, on the straight line
			place := float64(n) / float64(perTurn) * mostMarks
			i := int(place)
			if _, err := c.Turned(w, float64(n)/float64(perTurn), at[i]+(place-float64(i))*(at[i+1]-at[i])); err != nil {
				t.Fatal(err)
			}
		}
		if m, _ := c.Measured(); !m.RippleOK || math.Abs(m.Ripple.Fraction-0.1) > 0.002 || len(c.marks) > maxMarks {
			t.Errorf("%d marks: %+v", perTurn, m)
		}
	}
}

// Hardly any value says how wide it scatters: two of Student's t at 95 % for 8 and
// for very many degrees of freedom are 2.306 and 1.960 (tables, from memory). A
// deviation from 1,000 values is known to 1/√2000.
func TestDoubtsFromFewValuesAreWide(t *testing.T) {
	if got := 2 * widened(8); math.Abs(got-2.306) > 5e-4 {
		t.Errorf("t for 8: %g", got)
	}
	if got := 2 * widened(1e7); math.Abs(got-1.960) > 5e-4 {
		t.Errorf("t for many: %g", got)
	}
	if got := 2 * deviationDoubt(1000) * math.Sqrt(2000) / 1.96; math.Abs(got-1) > 0.03 {
		t.Errorf("a deviation from 1000: %g of its standard error", got)
	}
	// Of five values deviations drawn by chance.
	r := rand.New(rand.NewPCG(1, 9))
	in := 0
	for range 4000 {
		sum := 0.0
		for range 5 {
			x := r.NormFloat64()
			sum += x * x
		}
		if s := math.Sqrt(sum / 5); math.Abs(s-1) <= 2*s*deviationDoubt(5) {
			in++
		}
	}
	if share := float64(in) / 4000; math.Abs(share-0.95) > 0.012 {
		t.Errorf("of deviations from five values 2u holds %.3f", share)
	}
}
