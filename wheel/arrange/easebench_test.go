package arrange

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/demo"
	"pinwright/wheel/song"
)

// scatter is so many notes on a machine, each in a hole of its own, and the
// advances for a tempo.
func scatter(w *timing.Works, notes int, bpm float64) trial {
	random := rand.New(rand.NewPCG(1, 2))
	m := w.Machine
	tr := trial{w: w, bpm: bpm, advance: make([]int, len(m.Channels))}
	var playing []int
	for i := range m.Channels {
		if m.Channels[i].Service == wheel.Playing {
			playing = append(playing, i)
		}
	}
	advance, _ := Advances(w, playing, bpm)
	for i, c := range playing {
		tr.advance[c] = advance[i]
	}
	for _, hole := range random.Perm(len(playing) * m.Wheel.Steps)[:notes] {
		c := int32(playing[hole/m.Wheel.Steps])
		tr.notes = append(tr.notes, placedNote{
			channel: c, aim: int32(hole % m.Wheel.Steps), choices: []int32{c},
			weight: 1 + float64(random.IntN(128))/127 + float64(random.IntN(4)/3),
		})
	}
	return tr
}

// drained is a machine of many channels: falls shared by four of them, and one
// drain that all share.
func drained(channels, steps int) *wheel.Machine {
	m := &wheel.Machine{
		Format: wheel.MachineFormat, Name: "Hailstone",
		Marble: wheel.Marble{DiameterMM: 12, ClearanceMM: 2},
		Wheel:  wheel.Wheel{RadiusMM: 600, Steps: steps, StepsPerBeat: 4, BeatsPerBar: 4},
		Limits: wheel.Limits{TempoMinBPM: 30, TempoMaxBPM: 180, TripsAtOnce: 8},
		Lanes:  []wheel.Lane{{ID: "drain", Kind: wheel.Ramp, LengthMM: wheel.Known(500), SlopeDeg: wheel.Known(9), RailGapMM: 7, Rolling: 0.003, Keep: wheel.Known(0.6)}},
	}
	for i := range channels {
		if i%4 == 0 {
			m.Lanes = append(m.Lanes, wheel.Lane{ID: fmt.Sprint("fall-", i/4), Kind: wheel.Fall, LengthMM: wheel.Known(200 + float64(i)), Keep: wheel.Known(1)})
		}
		m.Channels = append(m.Channels, wheel.Channel{
			ID: fmt.Sprint("ch-", i), Name: fmt.Sprint("Channel ", i), Row: i, Kind: "bar", Service: wheel.Playing,
			Trip:   wheel.Trip{ReachMM: wheel.Known(3.5 + 0.01*float64(i)), HoldMM: wheel.Known(6), ReturnMS: wheel.Known(40), LatchMS: wheel.Known(15 + float64(i%9))},
			Gate:   wheel.Gate{ReloadMS: wheel.Known(140)},
			Path:   []string{fmt.Sprint("fall-", i/4)},
			Strike: wheel.Strike{ClearMS: wheel.Known(90)}, ExitMMS: wheel.Known(200 + 2*float64(i)), Exit: []string{"drain"},
		})
	}
	return m
}

// twins gives every two channels one key.
func (tr trial) twins() trial {
	for i := range tr.notes {
		n := &tr.notes[i]
		n.choices = []int32{n.channel &^ 1, n.channel | 1}
	}
	return tr
}

// To bare limits, which the solver is given as they are.
func BenchmarkEase(b *testing.B) {
	hail := compile(b, bare(demo.Machine()))
	free := bare(demo.Machine())
	for i := range free.Channels {
		free.Channels[i].Path, free.Channels[i].Exit = nil, nil
	}
	alone := compile(b, free)
	busy := compile(b, bare(drained(64, 1024)))
	short := compile(b, bare(drained(64, 256)))
	for _, c := range []struct {
		name string
		tr   trial
	}{
		{"Hailstone, 1500 notes at 84", scatter(hail, 1500, 84)},
		{"Hailstone, 1500 notes at 120", scatter(hail, 1500, 120)},
		{"Hailstone, 400 notes at 120", scatter(hail, 400, 120)},
		{"Hailstone without lanes, 1500 notes at 120", scatter(alone, 1500, 120)},
		{"64 channels with a drain, 500 notes on 1024 steps at 90", scatter(busy, 500, 90)},
		{"64 channels with a drain, 1500 notes on 1024 steps at 90", scatter(busy, 1500, 90)},
		{"the same, twins", scatter(busy, 1500, 90).twins()},
		{"64 channels with a drain, 1500 notes on 256 steps at 90", scatter(short, 1500, 90)},
	} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			var left []placedNote
			var r *Eased
			var err error
			for b.Loop() {
				if left, r, err = easeNotes(context.Background(), c.tr.w, c.tr.notes, c.tr.advance, c.tr.bpm, EaseOptions{}); err != nil {
					b.Fatal(err)
				}
			}
			c.tr.hold(b, left, r)
			b.ReportMetric(r.Cost, "cost")
			b.ReportMetric(r.LowerBound, "lower")
			b.ReportMetric(float64(len(r.Changes)), "changes")
		})
	}
}

// The demo's songs, until their tempo can be trusted: the bare limit is raised and
// the solver asked again, with keep-below of each answer.
func BenchmarkEaseToBeTrusted(b *testing.B) {
	w := compile(b, demo.Machine())
	for _, c := range []struct {
		song int
		bpm  float64
	}{{1, 96}, {1, 150}, {2, 84}, {0, 96}} {
		source := demo.Songs()[c.song]
		songs, err := song.Parse(source.Bytes, source.FileName)
		if err != nil {
			b.Fatal(err)
		}
		b.Run(fmt.Sprintf("%s at %g", source.FileName, c.bpm), func(b *testing.B) {
			b.ReportAllocs()
			var r *Report
			for b.Loop() {
				if _, r, err = Set(b.Context(), w, songs[0], Request{TempoBPM: c.bpm, Advance: true, Repeat: true, Ease: true}); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(r.Cost, "cost")
			b.ReportMetric(*r.Eased.EasedToBPM, "bare-BPM")
			b.ReportMetric(float64(len(r.Eased.Cannot)), "refused")
		})
	}
}
