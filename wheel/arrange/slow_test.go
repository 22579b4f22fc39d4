package arrange

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/timing"
	"pinwright/wheel"
)

// Two channels whose strikes come 90 and 590 ms after their pins. Over 60 to 120
// BPM, four steps to the beat, a step takes 250 to 125 ms. Each advance more of
// the second takes that from 500 ms of difference: 2 leaves 0 at 60 and 250 at
// 120, 3 leaves −250 and 125, 4 leaves −500 and 0. The worst over the range is
// least with 2 or 3, 250 ms, and 2 is the smaller (worked by hand).
func TestReadvanceOverARangeByHand(t *testing.T) {
	w := compile(t, machine(64, 4, row{id: "a", latchMS: 90}, row{id: "b", latchMS: 590}))
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Two", Machine: "Hailstone", TempoBPM: 120, Advance: map[string]int{"b": 4},
		Pins: []wheel.Pin{{Channel: "a", Step: 0}, {Channel: "b", Step: 60, Aim: wheel.AimAt(0)}, {Channel: "b", Step: 12}}}
	r, err := Readvance(w, p, 60, 120)
	if err != nil {
		t.Fatal(err)
	}
	if math.Abs(r.SpreadS-0.25) > 1e-9 || math.Abs(r.WasS-0.5) > 1e-9 || r.Moved != 2 || len(r.Merged) != 0 {
		t.Errorf("%+v", r)
	}
	if got := r.Pinning.Advance; len(got) != 1 || got["b"] != 2 {
		t.Errorf("advances %v", got)
	}
	want := []wheel.Pin{{Channel: "a", Step: 0}, {Channel: "b", Step: 14}, {Channel: "b", Step: 62, Aim: wheel.AimAt(0)}}
	if !slices.Equal(r.Pinning.Pins, want) {
		t.Errorf("pins %v, want %v", r.Pinning.Pins, want)
	}
	if p.Advance["b"] != 4 || p.Pins[1].Step != 60 {
		t.Error("the pinning that was given was changed")
	}
}

// TestReadvanceKeepsEveryAim: the notes are where they were, and the spread over
// the range is no worse than before.
func TestReadvanceKeepsEveryAim(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var rows []row
		for i := range rapid.IntRange(1, 5).Draw(t, "channels") {
			rows = append(rows, row{id: fmt.Sprint(i), reachMM: rapid.Float64Range(0, 3).Draw(t, "reach"), latchMS: rapid.Float64Range(0, 900).Draw(t, "latch")})
		}
		const n = 48
		w := compileRapid(t, machine(n, 4, rows...))
		p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Any", Advance: map[string]int{}}
		for i := range rows {
			p.Advance[rows[i].id] = rapid.IntRange(0, 9).Draw(t, "advance")
		}
		for _, hole := range rapid.SliceOfNDistinct(rapid.IntRange(0, n*len(rows)-1), 0, 30, rapid.ID).Draw(t, "holes") {
			pin := wheel.Pin{Channel: rows[hole/n].id, Step: hole % n}
			if rapid.Bool().Draw(t, "said") {
				pin.Aim = wheel.AimAt(p.AimOf(pin))
			}
			p.Pins = append(p.Pins, pin)
		}
		from := rapid.Float64Range(30, 180).Draw(t, "from")
		r, err := Readvance(w, p, from, rapid.Float64Range(from, 180).Draw(t, "to"))
		if err != nil {
			t.Fatal(err)
		}
		if err := r.Pinning.CheckOn(w.Machine).Err(); err != nil {
			t.Fatal(err)
		}
		if r.SpreadS > r.WasS+1e-9 {
			t.Fatalf("the spread goes from %g to %g s", r.WasS, r.SpreadS)
		}
		aims := func(p *wheel.Pinning) (all []string) {
			for _, pin := range p.Pins {
				all = append(all, fmt.Sprintf("%s at %.6f", pin.Channel, math.Mod(p.AimOf(pin)+float64(n), float64(n))))
			}
			slices.Sort(all)
			return all
		}
		if was, is := aims(p), aims(r.Pinning); !slices.Equal(was, is) {
			t.Fatalf("aims were %v and are %v", was, is)
		}
	})
}

// Strikes of b come half a second after those of a. At 90 and 120 BPM a step takes
// 1/6 and 1/8 s: an advance of 4 leaves 0.5 − 4/6 = −1/6 s and 0 between the two,
// 3 leaves 0 and 1/8. Whether the advances are told by channel or by the aims of
// the pins, the strikes are spread by 1/6 s as they are (worked by hand).
func TestAdvancesAsTheyAreAreReadFromTheAims(t *testing.T) {
	w := compile(t, machine(64, 4, row{id: "a", latchMS: 90}, row{id: "b", latchMS: 590}))
	told := &wheel.Pinning{Format: wheel.PinningFormat, Title: "With advances", Advance: map[string]int{"b": 4},
		Pins: []wheel.Pin{{Channel: "a", Step: 8}, {Channel: "b", Step: 4}, {Channel: "b", Step: 62}}}
	aimed := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Aims only", Pins: []wheel.Pin{
		{Channel: "a", Step: 8, Aim: wheel.AimAt(8)}, {Channel: "b", Step: 4, Aim: wheel.AimAt(8)}, {Channel: "b", Step: 62, Aim: wheel.AimAt(2)}}}
	for _, p := range []*wheel.Pinning{told, aimed} {
		r, err := Readvance(w, p, 90, 120)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(r.WasS-1.0/6) > 1e-9 || math.Abs(r.WasFlamS-1.0/6) > 1e-9 || math.Abs(r.SpreadS-0.125) > 1e-9 || math.Abs(r.FlamS-0.125) > 1e-9 {
			t.Errorf("%s: %+v", p.Title, r)
		}
		if r.Moved != 2 || r.Pinning.Advance["b"] != 3 {
			t.Errorf("%s: %d moved, advances %v", p.Title, r.Moved, r.Pinning.Advance)
		}
	}
}

// pinErrors is the error of every pin, strike − p·aim, by its definition: a strike
// comes Lag after the pin's step. Of aims that are equal modulo the turn it takes
// the one nearest the pin, so advances are less than half a turn.
func pinErrors(w *timing.Works, p *wheel.Pinning, bpm float64) []float64 {
	period, n := w.Machine.Wheel.StepPeriod(bpm), float64(w.Machine.Wheel.Steps)
	errs := make([]float64, len(p.Pins))
	for i, pin := range p.Pins {
		c := slices.IndexFunc(w.Machine.Channels, func(c wheel.Channel) bool { return c.ID == pin.Channel })
		reach, seconds := w.Lag(c)
		early := math.Mod(p.AimOf(pin)-float64(pin.Step)+2.5*n, n) - n/2
		errs[i] = period*(reach-early) + seconds
	}
	return errs
}

// plainSpreads is the spread of all strikes and of the widest chord, pin by pin
// and pair by pair. Pins of one aim are a chord where they are on two channels or
// more.
func plainSpreads(w *timing.Works, p *wheel.Pinning, bpm float64) (all, flam float64) {
	errs, n := pinErrors(w, p, bpm), float64(w.Machine.Wheel.Steps)
	oneAim := func(a, b wheel.Pin) bool { return math.Abs(math.Remainder(p.AimOf(a)-p.AimOf(b), n)) < 1e-6 }
	for i, a := range p.Pins {
		inChord := slices.ContainsFunc(p.Pins, func(b wheel.Pin) bool { return b.Channel != a.Channel && oneAim(a, b) })
		for j, b := range p.Pins[:i] {
			d := math.Abs(errs[i] - errs[j])
			all = max(all, d)
			if inChord && oneAim(a, b) {
				flam = max(flam, d)
			}
		}
	}
	return all, flam
}

// Pins of one channel may stand at different distances from their aims. What the
// page says of them as they are and as they would be is what timing says: at the
// ends of the range the worse of the two is met, inside nothing is worse.
func TestSpreadsOverARangeAreThoseOfThePins(t *testing.T) {
	mixed, stays := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		var rows []row
		for i := range rapid.IntRange(1, 4).Draw(t, "channels") {
			rows = append(rows, row{id: fmt.Sprint(i), reachMM: rapid.Float64Range(0, 3).Draw(t, "reach"), latchMS: rapid.Float64Range(0, 900).Draw(t, "latch")})
		}
		const n = 64
		w := compileRapid(t, machine(n, 4, rows...))
		p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Any", Advance: map[string]int{"0": rapid.IntRange(0, 3).Draw(t, "advance")}}
		offsets := map[string]float64{}
		for _, hole := range rapid.SliceOfNDistinct(rapid.IntRange(0, n*len(rows)-1), 0, 24, rapid.ID).Draw(t, "holes") {
			pin := wheel.Pin{Channel: rows[hole/n].id, Step: hole % n}
			if rapid.Bool().Draw(t, "aimed") {
				aim := float64(pin.Step/4*4) + float64(rapid.IntRange(0, 8).Draw(t, "quarters of a step"))/4
				pin.Aim = wheel.AimAt(math.Mod(aim, n))
			}
			if was, seen := offsets[pin.Channel]; seen && was != p.Offset(pin, n) {
				mixed++
			}
			offsets[pin.Channel] = p.Offset(pin, n)
			p.Pins = append(p.Pins, pin)
		}
		from := rapid.Float64Range(30, 180).Draw(t, "from")
		to := rapid.Float64Range(from, 180).Draw(t, "to")
		r, err := Readvance(w, p, from, to)
		if err != nil {
			t.Fatal(err)
		}
		if r.Stays() {
			stays++
		}
		for _, c := range []struct {
			what       string
			p          *wheel.Pinning
			all, chord float64
		}{{"as it is", p, r.WasS, r.WasFlamS}, {"set for slow", r.Pinning, r.SpreadS, r.FlamS}} {
			turn, err := w.Turn(c.p)
			if err != nil {
				t.Fatal(err)
			}
			worstAll, worstFlam := 0.0, 0.0
			for _, bpm := range []float64{from, to} {
				all, flam := plainSpreads(w, c.p, bpm)
				if math.Abs(flam-turn.Flam(bpm)) > 1e-9 {
					t.Fatalf("%s, at %g BPM chords spread by %g s and timing says %g", c.what, bpm, flam, turn.Flam(bpm))
				}
				worstAll, worstFlam = max(worstAll, all), max(worstFlam, flam)
			}
			if math.Abs(worstAll-c.all) > 1e-9 || math.Abs(worstFlam-c.chord) > 1e-9 {
				t.Fatalf("%s, from %g to %g BPM: all %g s, chords %g s; pin by pin %g and %g", c.what, from, to, c.all, c.chord, worstAll, worstFlam)
			}
			for i := range 9 {
				bpm := from + (to-from)*float64(i+1)/10
				if all, flam := plainSpreads(w, c.p, bpm); all > c.all+1e-9 || flam > c.chord+1e-9 || turn.Flam(bpm) > c.chord+1e-9 {
					t.Fatalf("%s, at %g BPM inside: all %g s, chords %g s; over the range %g and %g", c.what, bpm, all, flam, c.all, c.chord)
				}
			}
		}
		if r.SpreadS > r.WasS+1e-9 && r.FlamS > r.WasFlamS+1e-9 {
			t.Fatalf("it is worse in every way: %+v", r)
		}
	})
	if (mixed < 50 || stays < 5) && !testing.Short() { // which draws a fifth as many
		t.Errorf("%d pins stood otherwise than others of their channel, %d pinnings stayed: too few to tell", mixed, stays)
	}
}

// Where whole steps can do no better nothing moves: an aim between two steps is
// met as well as it can be, and so are advances that are the best already.
func TestReadvanceLeavesWhatIsBestAlready(t *testing.T) {
	w := compile(t, machine(64, 4, row{id: "a"}, row{id: "b", latchMS: 500}))
	for _, p := range []*wheel.Pinning{
		{Format: wheel.PinningFormat, Title: "Best", Advance: map[string]int{"b": 4}, Pins: []wheel.Pin{{Channel: "a", Step: 8}, {Channel: "b", Step: 4}}},
		{Format: wheel.PinningFormat, Title: "Best by its aims", Pins: []wheel.Pin{{Channel: "a", Step: 8}, {Channel: "b", Step: 4, Aim: wheel.AimAt(8)}}},
		{Format: wheel.PinningFormat, Title: "Any advance in common", Advance: map[string]int{"a": 3, "b": 7}, Pins: []wheel.Pin{{Channel: "a", Step: 8}, {Channel: "b", Step: 4}}},
	} {
		r, err := Readvance(w, p, 120, 120) // steps of 125 ms, four of which are 500
		if err != nil {
			t.Fatal(err)
		}
		if !r.Stays() || !slices.Equal(r.Pinning.Pins, p.Pins) || !maps.Equal(r.Pinning.Advance, p.Advance) || r.SpreadS > 1e-9 || r.WasS != r.SpreadS {
			t.Errorf("%s: %+v with pins %v", p.Title, r, r.Pinning.Pins)
		}
	}
}

func TestReadvanceRefusesWhatIsNoRange(t *testing.T) {
	w := compile(t, machine(64, 4, row{id: "a"}))
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "One", Pins: []wheel.Pin{{Channel: "a", Step: 3}}}
	for _, c := range []struct {
		from, to float64
		says     string
	}{
		{90, 60, "goes from 90 down to 60 BPM; the slower one comes first"},
		{0, 60, "has 0 BPM in it; it should lie within the machine's, 30 to 180 BPM"},
		{60, 500, "has 500 BPM in it"},
		{math.NaN(), 60, "has NaN BPM in it"},
	} {
		if _, err := Readvance(w, p, c.from, c.to); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%g to %g: %v, want %q", c.from, c.to, err, c.says)
		}
	}
	p.Pins[0].Channel = "z"
	if _, err := Readvance(w, p, 60, 90); err == nil || !strings.Contains(err.Error(), "z") {
		t.Errorf("a pinning of another machine: %v", err)
	}
}

// Two notes of one channel whose aims round to one step are one pin, and it is
// said which.
func TestReadvanceSaysWhatItMerges(t *testing.T) {
	w := compile(t, machine(64, 4, row{id: "a"}))
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Eased", Pins: []wheel.Pin{
		{Channel: "a", Step: 3, Aim: wheel.AimAt(4)}, {Channel: "a", Step: 5, Aim: wheel.AimAt(4.25)}}}
	r, err := Readvance(w, p, 60, 90)
	if err != nil || len(r.Pinning.Pins) != 1 || len(r.Merged) != 1 || r.Merged[0].Step != 5 {
		t.Errorf("%+v, %v", r, err)
	}
}

// Latches of minutes, which no lever has, over a wide range: thousands of steps
// for each channel to choose from. It is refused at once.
func TestReadvanceRefusesWhatTakesTooLong(t *testing.T) {
	var rows []row
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Hostile"}
	for i := range 120 {
		rows = append(rows, row{id: fmt.Sprint(i), latchMS: float64(i) * 5000})
		p.Pins = append(p.Pins, wheel.Pin{Channel: fmt.Sprint(i)})
	}
	w := compile(t, machine(64, 4, rows...))
	if _, err := Readvance(w, p, 100, 180); err == nil || !strings.Contains(err.Error(), "take a narrower range") {
		t.Errorf("%v", err)
	}
}

// As many channels and as late strikes as a large machine has are no trouble.
func BenchmarkReadvance(b *testing.B) {
	var rows []row
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Large"}
	for i := range 64 {
		rows = append(rows, row{id: fmt.Sprint(i), latchMS: float64(i*37%600) + 200})
		p.Pins = append(p.Pins, wheel.Pin{Channel: fmt.Sprint(i)})
	}
	w := compile(b, machine(1024, 4, rows...))
	for b.Loop() {
		if _, err := Readvance(w, p, 40, 90); err != nil {
			b.Fatal(err)
		}
	}
}
