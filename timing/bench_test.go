package timing

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"pinwright/wheel"
)

// busy is a machine and pinning for benchmarks: falls shared by every fourth
// channel, and one drain that all share.
func busy(tb testing.TB, channels, steps, pins int) (*Works, *wheel.Pinning) {
	m := &wheel.Machine{
		Format: wheel.MachineFormat, Name: "Busy",
		Marble: wheel.Marble{DiameterMM: 12, ClearanceMM: 2},
		Wheel:  wheel.Wheel{RadiusMM: 600, Steps: steps, StepsPerBeat: 4, BeatsPerBar: 4},
		Limits: wheel.Limits{TempoMinBPM: 30, TempoMaxBPM: 180, TripsAtOnce: channels},
		Lanes:  []wheel.Lane{{ID: "drain", Kind: wheel.Ramp, LengthMM: wheel.Known(500), SlopeDeg: wheel.Known(9), RailGapMM: 7, Rolling: 0.003, Keep: wheel.Known(0.6)}},
	}
	for i := range channels {
		if i%4 == 0 {
			m.Lanes = append(m.Lanes, wheel.Lane{ID: fmt.Sprint("fall-", i/4), Kind: wheel.Fall, LengthMM: wheel.Known(200 + float64(i)), Keep: wheel.Known(1)})
		}
		m.Channels = append(m.Channels, wheel.Channel{
			ID: fmt.Sprint("ch-", i), Name: fmt.Sprint("Channel ", i), Row: i, Kind: "bar", Service: wheel.Playing,
			Trip:   wheel.Trip{ReachMM: wheel.Known(3.5 + 0.01*float64(i)), HoldMM: wheel.Known(6), ReturnMS: wheel.Known(40), LatchMS: wheel.Known(15 + float64(i%9))},
			Gate:   wheel.Gate{ReloadMS: wheel.Known(60)},
			Path:   []string{fmt.Sprint("fall-", i/4)},
			Strike: wheel.Strike{ClearMS: wheel.Known(60)}, ExitMMS: wheel.Known(200 + 2*float64(i)), Exit: []string{"drain"},
		})
	}
	w, err := Compile(m)
	if err != nil {
		tb.Fatal(err)
	}
	random := rand.New(rand.NewPCG(1, 2))
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Busy", TempoBPM: 90}
	for _, hole := range random.Perm(channels * steps)[:pins] {
		p.Pins = append(p.Pins, wheel.Pin{Channel: m.Channels[hole/steps].ID, Step: hole % steps})
	}
	return w, p
}

var sizes = []struct{ channels, steps, pins int }{{28, 256, 1000}, {64, 1024, 5000}}

func BenchmarkBands(b *testing.B) {
	for _, s := range sizes {
		b.Run(fmt.Sprintf("%d-pins-%d-channels", s.pins, s.channels), func(b *testing.B) {
			w, p := busy(b, s.channels, s.steps, s.pins)
			t, err := w.Turn(p)
			if err != nil {
				b.Fatal(err)
			}
			b.ReportAllocs()
			for b.Loop() {
				t.Bands()
			}
		})
	}
}

func BenchmarkFindings(b *testing.B) {
	for _, s := range sizes {
		b.Run(fmt.Sprintf("%d-pins-%d-channels", s.pins, s.channels), func(b *testing.B) {
			w, p := busy(b, s.channels, s.steps, s.pins)
			t, _ := w.Turn(p)
			var found []Finding
			b.ReportAllocs()
			for b.Loop() {
				found = t.Findings(60, found[:0])
			}
			b.ReportMetric(float64(len(found)), "findings")
		})
	}
}

func BenchmarkLoad(b *testing.B) {
	w, p := busy(b, 64, 1024, 5000)
	t := w.NewTurn()
	b.ReportAllocs()
	for b.Loop() {
		if err := t.Load(p); err != nil {
			b.Fatal(err)
		}
	}
}

// hailstonelike is a machine of Hailstone's size and sharing, with as many
// pins as it has in stock.
func hailstonelike(b *testing.B) (*Works, *wheel.Pinning) { return busy(b, 28, 256, 1500) }

// What a page asks for when a figure is tried: the machine changed and worked
// out, its bands and limits, and the findings and flam at a tempo.
func BenchmarkTrial(b *testing.B) {
	w, p := hailstonelike(b)
	var found []Finding
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		tried, err := w.With(wheel.Set{Path: "channels.ch-5.gate.reload_ms", Value: 60 + float64(i%9)})
		if err != nil {
			b.Fatal(err)
		}
		t, err := tried.Turn(p)
		if err != nil {
			b.Fatal(err)
		}
		t.Bands()
		t.Limits()
		found = t.Findings(84, found[:0])
		t.Flam(84)
		t.Together()
	}
}

// What a page asks for when the tempo is dragged.
func BenchmarkTempo(b *testing.B) {
	w, p := hailstonelike(b)
	t := must(w.Turn(p))
	var found []Finding
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		tempo := 60 + float64(i%50)
		found = t.Findings(tempo, found[:0])
		t.Flam(tempo)
		t.Bands()
	}
	b.ReportMetric(float64(len(found)), "findings")
}

func BenchmarkLadder(b *testing.B) {
	w, p := hailstonelike(b)
	t := must(w.Turn(p))
	b.ReportAllocs()
	rungs := 0
	for b.Loop() {
		rungs = len(t.Ladder())
	}
	b.ReportMetric(float64(rungs), "rungs")
}

// What would lift the first limits of Hailstone with all its pins, compared.
func BenchmarkMendedLadder(b *testing.B) {
	for _, n := range []int{1, 5} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			w, p := fullHailstone(b)
			t := must(w.Turn(p))
			b.ReportAllocs()
			mends := 0
			for b.Loop() {
				mends = 0
				for _, r := range t.MendedLadder(84, n) {
					mends += len(r.Mends)
				}
			}
			b.ReportMetric(float64(mends), "mends")
		})
	}
}

func BenchmarkErrors(b *testing.B) {
	w, p := hailstonelike(b)
	t := must(w.Turn(p))
	b.ReportAllocs()
	for b.Loop() {
		t.Chords(84)
		t.ErrorsByChannel(84)
	}
}

// The drain that all channels share, over four bars.
func BenchmarkLaneGraph(b *testing.B) {
	w, p := hailstonelike(b)
	t := must(w.Turn(p))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := t.LaneGraph(0, 250, 64, 84); err != nil {
			b.Fatal(err)
		}
	}
}
