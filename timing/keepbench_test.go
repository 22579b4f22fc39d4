package timing

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/demo"
)

// fullHailstone is Hailstone with about as many pins as it has in stock. Those
// of channels that share a lane take turns, so that marbles keep from each other
// up to some tempo.
func fullHailstone(tb testing.TB) (*Works, *wheel.Pinning) {
	w := must(Compile(demo.Machine()))
	m := w.Machine
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Full", TempoBPM: 60}
	turns := map[int]int{} // by the last lane: how many channels end in it
	for i := range m.Channels {
		if m.Channels[i].Service == wheel.Resting {
			continue
		}
		ps := w.Channels[i].Passages
		last := ps[len(ps)-1].Lane
		every := 4
		if len(w.lanes[last].passages) > 4 {
			every = 8
		}
		for step := turns[last]; step < m.Wheel.Steps; step += every {
			p.Pins = append(p.Pins, wheel.Pin{Channel: m.Channels[i].ID, Step: step})
		}
		turns[last]++
	}
	return w, p
}

// fullDrain is 64 channels of which every four share a fall, and all one drain
// in single file, with 5,000 pins: at most one on a step.
func fullDrain(tb testing.TB) (*Works, *wheel.Pinning) {
	const channels, steps, pins = 64, 8192, 5000
	w, _ := busy(tb, channels, steps, 1)
	m := w.Machine.Clone()
	m.Wheel.RadiusMM = 600 * steps / 256 // Hailstone's arc
	w = must(Compile(m))
	random := rand.New(rand.NewPCG(25, 26))
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Drain", TempoBPM: 60}
	for _, step := range random.Perm(steps)[:pins] {
		p.Pins = append(p.Pins, wheel.Pin{Channel: fmt.Sprint("ch-", random.IntN(channels)), Step: step})
	}
	return w, p
}

func BenchmarkKeepBelow(b *testing.B) {
	for _, rippled := range []bool{false, true} {
		for _, full := range []struct {
			name string
			on   func(tb testing.TB) (*Works, *wheel.Pinning)
		}{{"Hailstone", fullHailstone}, {"one-drain", fullDrain}} {
			w, p := full.on(b)
			name := full.name
			if rippled {
				m := w.Machine.Clone()
				m.Limits.Wander, m.Limits.Ripple = wheel.Known(0.02), wheel.Known(0.03)
				w, name = must(Compile(m)), name+"-rippled"
			}
			t := must(w.Turn(p))
			w.scatter()
			b.Run(name, func(b *testing.B) {
				b.ReportAllocs()
				keep := 0.0
				for b.Loop() {
					keep, _ = t.KeepBelow()
				}
				bare, _ := t.MaxSafe()
				b.ReportMetric(keep, "BPM")
				b.ReportMetric(bare, "bare-BPM")
				b.ReportMetric(float64(t.Pins()), "pins")
			})
			b.Run(name+"-faults", func(b *testing.B) {
				b.ReportAllocs()
				for b.Loop() {
					t.Faults(keepTempo)
				}
			})
		}
	}
}

const keepTempo = 90

func BenchmarkDoubtCosts(b *testing.B) {
	w, p := fullHailstone(b)
	t := must(w.Turn(p))
	costs := 0
	for b.Loop() {
		costs = len(t.DoubtCosts())
	}
	b.ReportMetric(float64(costs), "figures")
}

func BenchmarkDivide(b *testing.B) {
	w, p := fullHailstone(b)
	t := must(w.Turn(p))
	for b.Loop() {
		t.Divide()
	}
}

func BenchmarkContributions(b *testing.B) {
	w, p := fullHailstone(b)
	t := must(w.Turn(p))
	for b.Loop() {
		t.Contributions(keepTempo, 3)
	}
}

func BenchmarkBeyondFlam(b *testing.B) {
	w, p := fullHailstone(b)
	t := must(w.Turn(p))
	for b.Loop() {
		t.BeyondFlam(keepTempo)
	}
	b.ReportMetric(float64(len(t.chords)), "chords")
}

// What a new machine costs before anything is asked of it.
func BenchmarkScatter(b *testing.B) {
	w, _ := fullHailstone(b)
	b.ReportAllocs()
	for b.Loop() {
		newScatter(w, w.sources())
	}
}
