package main

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"regexp"
	"testing"

	"pinwright/timing"
	"pinwright/wheel"
)

// edge is a machine of figures at the edges of what a file may say, and a pinning
// on it. Spreads stay below some steps: far wider ones take long to work out.
func edge(random *rand.Rand) (*wheel.Machine, *wheel.Pinning) {
	of := func(values ...float64) float64 { return values[random.IntN(len(values))] }
	usual := func(v float64, edges ...float64) float64 {
		if random.IntN(3) > 0 {
			return v
		}
		return of(edges...)
	}
	known := wheel.Known
	m := &wheel.Machine{
		Format: wheel.MachineFormat, Name: "Edge",
		Marble: wheel.Marble{DiameterMM: usual(12, 1e-3, 1e6, 0.5), ClearanceMM: usual(2, 0, 5e-324, 1e-300, 1e6), DensityKgM3: usual(7850, 1e-300, 5e-324, 1e-30, 1e-6, 1e5)},
		Wheel: wheel.Wheel{RadiusMM: usual(600, 100, 1e6), Steps: int(usual(64, 1, 2, 3, 1024)), StepsPerBeat: int(usual(4, 1, 96)), BeatsPerBar: 4,
			PinSDMM: known(usual(0.5, 0, 1e-300, 5e-324, 5)), PinDiameterMM: usual(4, 0, 1e6)},
		Limits: wheel.Limits{TempoMinBPM: usual(30, 1), TempoMaxBPM: usual(180, 31, 1000), FlamMS: usual(20, 0, 1e-300, 600000), TripsAtOnce: int(usual(0, 1)),
			Wander: known(usual(0.02, 0, 5e-324, 0.5)), Ripple: known(usual(0.03, 0, 5e-324, 0.999, 1-1e-16)),
			SpoiltPerTurn: known(usual(0.01, 0, 1e-300, 1e6)), JamsPerTurn: known(usual(0.01, 0, 1e-300, 1e6)), UnmeasuredU: known(usual(0.05, 0, 1e-300, 1))},
	}
	d := m.Marble.DiameterMM
	m.Lanes = []wheel.Lane{
		{ID: "fall", Kind: wheel.Fall, LengthMM: known(usual(240, 1e-3, 1e6)), Keep: known(usual(1, 0, 5e-324, 1e-300))},
		{ID: "pipe", Kind: wheel.Fall, LengthMM: known(usual(500, 1e-3, 1e6)), BoreMM: usual(d*1.2, d*(1+1e-15), d*(1+1e-8), 1e6), Keep: known(usual(0.6, 0, 1e-300))},
		{ID: "ramp", Kind: wheel.Ramp, LengthMM: known(usual(420, 1e-3, 1e6)), SlopeDeg: known(usual(10, 0, 1e-300, 1e-12, 1e-4, 90, -90, -1e-9)), RailGapMM: usual(0, d*(1-1e-16), d*0.999, 5e-324), Rolling: usual(0.003, 0, 1, 1e-300), Keep: known(usual(0.6, 0, 1)), Friction: known(usual(0.15, 0, 5e-324, 10))},
		{ID: "rods", Kind: wheel.Ramp, LengthMM: known(usual(420, 1e-3, 1e6)), SlopeDeg: known(usual(10, 1e-4, 90)), RodMM: usual(4, 1e-300, 5e-324, 1e6), ClearGapMM: usual(d/2, d*(1-1e-16), 0, 5e-324), Keep: known(usual(0.6, 0, 1))},
	}
	for i := range 2 {
		path, exit := []string{}, []string{}
		for _, l := range m.Lanes {
			switch random.IntN(6) {
			case 0, 1:
				path = append(path, l.ID)
			case 2:
				exit = append(exit, l.ID)
			}
		}
		c := wheel.Channel{
			ID: fmt.Sprint("ch-", i), Name: fmt.Sprint("Channel ", i), Row: i, Kind: "bar", Service: wheel.Playing, Path: path, Exit: exit,
			Trip: wheel.Trip{ReachMM: known(usual(3.5, 0, 5e-324, 1e6)), HoldMM: known(usual(6, 0, 5e-324, 1e6)), ReturnMS: known(usual(60, 0, 5e-324, 600000)),
				LatchMS: known(usual(18, 0, 5e-324, 1e-300, 200)), JitterMS: known(usual(3, 0, 5e-324, 100))},
			Gate:   wheel.Gate{ReloadMS: known(usual(140, 0, 5e-324, 600000)), ReloadSDMS: known(usual(8, 0, 5e-324, 100)), ReleaseMMS: usual(100, 0, 5e-324, 1e-300, 1e6)},
			Strike: wheel.Strike{ClearMS: known(usual(90, 0, 5e-324, 500))}, ExitMMS: known(usual(250, 0, 5e-324, 1e-300, 1e6)),
		}
		if random.IntN(3) == 0 {
			c.Gate.ReloadMS, c.Gate.FeedSlopeDeg, c.Gate.Rolling = wheel.Maybe{}, known(usual(10, 1e-300, 1e-9, 90, 0)), usual(0, 1, 1e-300)
		}
		if random.IntN(3) == 0 {
			c.Strike = wheel.Strike{Restitution: known(usual(0.5, 0, 5e-324, 1))}
		}
		if random.IntN(3) == 0 {
			c.Plate = "gong"
		}
		m.Channels = append(m.Channels, c)
	}
	if random.IntN(3) == 0 {
		m.Measured = []wheel.Measured{{Figure: "lanes.fall.length_mm", N: 10, SD: known(of(0, 5e-324, 1, 50))}, {Figure: "channels.ch-0.trip.latch_ms", U: known(of(0, 5e-324, 1, 50))},
			{Figure: "marble.diameter_mm", U: known(of(5e-324, 1e-3, 0.1))}}
	}
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Edge", TempoBPM: 60}
	for i := range m.Channels {
		for _, step := range []int{0, 1, 5, m.Wheel.Steps / 2, m.Wheel.Steps - 1} {
			if pin := (wheel.Pin{Channel: m.Channels[i].ID, Step: step}); step >= 0 && step < m.Wheel.Steps && (len(p.Pins) == 0 || p.Pins[len(p.Pins)-1] != pin) {
				p.Pins = append(p.Pins, pin)
			}
		}
	}
	seen := map[wheel.Pin]bool{}
	kept := p.Pins[:0]
	for _, pin := range p.Pins {
		if !seen[pin] {
			seen[pin] = true
			kept = append(kept, pin)
		}
	}
	p.Pins = kept
	return m, p
}

var notANumber = regexp.MustCompile(`NaN|Inf\b|[0-9]e\+?[0-9]`)

// A machine at the edges is refused in a sentence, or answered in numbers: JSON
// has none for what is not finite, and sentences none for what nobody can read.
func TestMachinesAtTheEdgesAreAnsweredInNumbers(t *testing.T) {
	random := rand.New(rand.NewPCG(13, 5))
	machines := 300
	accepted, refused := 0, 0
	for range machines {
		m, p := edge(random)
		said, _ := json.Marshal(m)
		w, err := timing.Compile(m)
		if err != nil {
			if refused++; notANumber.MatchString(err.Error()) {
				t.Errorf("refused with %v: %s", err, said)
			}
			continue
		}
		accepted++
		turn, err := w.Turn(p)
		if err != nil {
			t.Fatal(err)
		}
		for _, bpm := range []float64{1, m.Limits.TempoMinBPM, 60, m.Limits.TempoMaxBPM, 1000} {
			v, err := turn.Verdict(bpm)
			if err != nil {
				t.Fatal(err)
			}
			out := newVerdictJSON(w, v)
			if bpm == 60 && m.Wheel.Steps <= 64 {
				out.addCosts(turn)
			}
			if _, err := json.Marshal(out); err != nil {
				t.Errorf("at %v BPM: %v: %s", bpm, err, said)
			}
			if bpm == 60 {
				if text := verdictText(w, turn, v, nil, false); notANumber.MatchString(text) {
					t.Errorf("%q at %v BPM of %s", notANumber.FindString(text), bpm, said)
				}
			}
		}
	}
	t.Logf("%d machines answered, %d refused", accepted, refused)
	if accepted < machines/10 || refused < machines/10 {
		t.Error("too few of some kind")
	}
}
