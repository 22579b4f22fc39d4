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
		Lanes:  []wheel.Lane{{ID: "drain", Kind: wheel.Ramp, LengthMM: 500, SlopeDeg: 9, RailGapMM: 7, Rolling: 0.003, Keep: 0.6}},
	}
	for i := range channels {
		if i%4 == 0 {
			m.Lanes = append(m.Lanes, wheel.Lane{ID: fmt.Sprint("fall-", i/4), Kind: wheel.Fall, LengthMM: 200 + float64(i), Keep: 1})
		}
		m.Channels = append(m.Channels, wheel.Channel{
			ID: fmt.Sprint("ch-", i), Name: fmt.Sprint("Channel ", i), Row: i, Kind: "bar", Service: wheel.Playing,
			Trip:   wheel.Trip{ReachMM: 3.5 + 0.01*float64(i), HoldMM: 6, ReturnMS: 40, LatchMS: 15 + float64(i%9)},
			Gate:   wheel.Gate{ReloadMS: 60},
			Path:   []string{fmt.Sprint("fall-", i/4)},
			Strike: wheel.Strike{ClearMS: 60}, ExitMMS: 200 + 2*float64(i), Exit: []string{"drain"},
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
