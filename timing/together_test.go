package timing

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
)

// flam is a plain count of errors: strike − p·aim, in seconds, aims compared as
// the turn has them.
func (r plain) flam(tempo float64) float64 {
	period, n := r.stepPeriod(tempo), float64(r.m.Wheel.Steps)
	worst := 0.0
	same := func(a, b wheel.Pin) bool {
		return math.Abs(math.Remainder(r.p.AimOf(a)-r.p.AimOf(b), n)) < 5e-7
	}
	late := func(pin wheel.Pin) float64 {
		c := &r.m.Channels[slices.IndexFunc(r.m.Channels, func(c wheel.Channel) bool { return c.ID == pin.Channel })]
		return period*(float64(pin.Step)+r.reach(c)-r.p.AimOf(pin)) + r.way(c).strike
	}
	for _, a := range r.p.Pins {
		chord := slices.ContainsFunc(r.p.Pins, func(b wheel.Pin) bool { return a.Channel != b.Channel && same(a, b) })
		for _, b := range r.p.Pins {
			if chord && same(a, b) {
				// Both are on the same turn when they differ by less than half of it.
				worst = max(worst, math.Abs(math.Remainder(late(a)-late(b), period*n)))
			}
		}
	}
	return worst
}

func TestFlamAndItsTemposAgreeWithErrorsCountedPinByPin(t *testing.T) {
	chords, compared, undecided := 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		w, p := anyMachine(t)
		p.Advance = map[string]int{}
		for i := range w.Machine.Channels {
			p.Advance[w.Machine.Channels[i].ID] = rapid.IntRange(0, 1).Draw(t, "advance")
		}
		for i := range p.Pins {
			if rapid.IntRange(0, 3).Draw(t, "held") == 0 {
				aim := rapid.IntRange(0, 3).Draw(t, "aim")
				early := p.Advance[p.Pins[i].Channel] + rapid.IntRange(-1, 1).Draw(t, "stray")
				p.Pins[i].Aim = wheel.AimAt(float64(aim))
				p.Pins[i].Step = w.Machine.Wheel.Wrap(aim - early)
			}
		}
		p.Pins = distinct(p.Pins)
		w.Machine.Limits.FlamMS = rapid.Float64Range(1, 120).Draw(t, "flam")
		turn, err := w.Turn(p)
		if err != nil {
			t.Fatal(err)
		}
		from, to, ok := turn.Together()
		flam := w.Machine.Limits.FlamMS / 1000
		for range 4 {
			tempo := rapid.Float64Range(w.Machine.Limits.TempoMinBPM, w.Machine.Limits.TempoMaxBPM).Draw(t, "tempo")
			want, got := (plain{w.Machine, p}).flam(tempo), turn.Flam(tempo)
			if turnS := w.Machine.Wheel.StepPeriod(tempo) * float64(w.Machine.Wheel.Steps); max(got, want) > 0.4*turnS {
				undecided++ // the plain count cannot tell which turn is meant
				continue
			}
			if math.Abs(got-want) > 1e-9 {
				t.Fatalf("flam %v s at %v BPM, counted %v s", got, tempo, want)
			}
			if math.Abs(want-flam) < 1e-7 {
				undecided++
				continue
			}
			compared++
			if inside := ok && from <= tempo && tempo <= to; inside != (want <= flam) {
				t.Fatalf("together from %v to %v BPM (%v), and at %v BPM the flam is %v s of %v s", from, to, ok, tempo, want, flam)
			}
			if want > 0 {
				chords++
			}
		}
	})
	t.Logf("%d tempos compared, %d of them with chords, %d undecided", compared, chords, undecided)
	if chords < floor(100) || undecided > compared/10 {
		t.Errorf("%d tempos compared, %d of them with chords, %d undecided", compared, chords, undecided)
	}
}

func distinct(pins []wheel.Pin) []wheel.Pin {
	type hole struct {
		channel string
		step    int
	}
	seen := map[hole]bool{}
	var out []wheel.Pin
	for _, p := range pins {
		if h := (hole{p.Channel, p.Step}); !seen[h] {
			seen[h] = true
			out = append(out, p)
		}
	}
	return out
}
