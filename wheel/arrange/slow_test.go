package arrange

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

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
				all = append(all, fmt.Sprintf("%s at %.6f", pin.Channel, wrapped(p.AimOf(pin), n)))
			}
			slices.Sort(all)
			return all
		}
		if was, is := aims(p), aims(r.Pinning); !slices.Equal(was, is) {
			t.Fatalf("aims were %v and are %v", was, is)
		}
	})
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
