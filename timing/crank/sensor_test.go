package crank

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"pinwright/wheel"
)

// send counts turns one by one, as they come in every so many seconds.
func send(t *testing.T, s *Sensor, now time.Time, from, to int, every time.Duration) time.Time {
	t.Helper()
	for turn := from; turn <= to; turn++ {
		now = now.Add(every)
		if err := s.Count(eightTurns, float64(turn), nil, now); err != nil {
			t.Fatal(err)
		}
	}
	return now
}

var morning = time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)

// Turns in 4 s each are 120 BPM (8 beats in 4 s). A turn at 1.75 times less would
// take 7 s: until then the crank may be turning.
func TestSensorKnowsACrankThatTurnsStandsOrIsSilent(t *testing.T) {
	same := func(s *Sensor, now time.Time) { _ = s.Count(eightTurns, 8, nil, now) }
	for _, c := range []struct {
		name  string
		sends func(*Sensor, time.Time)
		state State
		says  string
	}{
		{"the same count", same, Still, "The crank has not turned for 14 s. The last measurement is still shown."},
		{"nonsense", func(s *Sensor, now time.Time) { s.Nonsense(errors.New("no count"), now) }, Silent, "Nothing that the sensor has sent for 14 s makes sense. The last measurement is still shown."},
		{"a count below 0", func(s *Sensor, now time.Time) { _ = s.Count(eightTurns, -3, nil, now) }, Silent, "Nothing that the sensor has sent for 14 s makes sense. The last measurement is still shown."},
		{"nothing", func(*Sensor, time.Time) {}, Silent, "The sensor has been silent for 14 s. The last measurement is still shown."},
	} {
		var s Sensor
		now := send(t, &s, morning, 0, 8, 4*time.Second)
		for second := 1; second <= 14; second++ {
			now = now.Add(time.Second)
			c.sends(&s, now)
			if state, _ := s.State(now); (state == Turning) != (second <= 7) {
				t.Errorf("%s, %d s after the last turn: %s", c.name, second, state)
			}
		}
		if state, says := s.State(now); state != c.state || says != c.says {
			t.Errorf("%s: %s, %q", c.name, state, says)
		}
		send(t, &s, now, 9, 9, time.Second)
		if state, _ := s.State(now.Add(time.Second)); state != Turning {
			t.Errorf("%s, then a turn: %s", c.name, state)
		}
	}
}

func TestSensorThatWasNeverHeardKnowsNothing(t *testing.T) {
	var s Sensor
	if state, says := s.State(morning); state != Unknown || says != "No sensor has been heard." {
		t.Errorf("%s, %q", state, says)
	}
	s.Nonsense(errors.New("no count"), morning)
	if state, says := s.State(morning); state != Unknown || says != "A sensor is heard; nothing that it sent makes sense." {
		t.Errorf("%s, %q", state, says)
	}
	if r := s.Report(eightTurns, nil, morning); r.Known || r.Problem != "no count" {
		t.Errorf("%+v", r)
	}
	send(t, &s, morning, 0, 0, time.Second)
	if r := s.Report(eightTurns, nil, morning.Add(time.Second)); r.State != Still || r.Problem != "" || r.Says != "The sensor is heard; the crank has not been turned yet." {
		t.Errorf("%+v", r)
	}
}

// Counts that come in 1 s late with times of their own 4 s apart are 120 BPM.
func TestSensorWithAClockOfItsOwnIsTimedByIt(t *testing.T) {
	var s Sensor
	send(t, &s, morning, 0, 3, time.Second)
	for turn := range 4 {
		at := float64(4 * turn)
		if err := s.Count(eightTurns, float64(turn), &at, morning.Add(time.Duration(turn)*time.Second)); err != nil {
			t.Fatal(err)
		}
	}
	if r := s.Report(eightTurns, nil, morning.Add(4*time.Second)); !r.Known || r.BPM != 120 || r.Spans != 3 || r.RPM != 15 {
		t.Errorf("%+v", r)
	}
}

// Turns in 6 s are 80 BPM, in 4 s 120 and in 12 s 40, of a window from 50 to 90
// below a red line at 100.25 BPM, and a bare limit that is nobody's concern.
func TestReportJudgesByTheWindow(t *testing.T) {
	window := wheel.TempoWindow{FromBPM: 50, ToBPM: 90, Open: true, RedLineBPM: 100.25, MaxSafeBPM: 60 / (4 * 0.140)}
	unknown := wheel.TempoWindow{Unknown: true, Closed: "There is no window while figures are unknown.", Fastest: "Measure first: the reload of Bar C5 is unknown."}
	for _, c := range []struct {
		every  time.Duration
		later  time.Duration
		window wheel.TempoWindow
		slower bool
		judged string
	}{
		{6 * time.Second, 0, window, false, "Inside the window, 50 to 90 BPM."},
		{5 * time.Second, 0, window, false, "Above the window, 50 to 90 BPM."},
		{12 * time.Second, 0, window, false, "Below the window, 50 to 90 BPM."},
		{4 * time.Second, 0, window, true, "Slower: the red line is at 100.2 BPM."},
		{4 * time.Second, time.Minute, window, false, "It was above the red line at 100.2 BPM."},
		{4 * time.Second, 0, wheel.TempoWindow{}, false, "There is no window for this pinning."},
		{4 * time.Second, 0, unknown, false, "There is no window while figures are unknown. Measure first: the reload of Bar C5 is unknown."},
	} {
		var s Sensor
		now := send(t, &s, morning, 0, 4, c.every)
		if r := s.Report(eightTurns, &c.window, now.Add(c.later)); r.Slower != c.slower || r.Judged != c.judged {
			t.Errorf("a turn in %v: %v, %q, want %q", c.every, r.Slower, r.Judged, c.judged)
		}
	}
}

func TestTapsAreMeasuredPerTurnOrPerBeat(t *testing.T) {
	m := &wheel.Machine{Name: "Hailstone", Wheel: eightTurns}
	for per, want := range map[Per]float64{PerTurn: 80, PerBeat: 10} { // one in 6 s; 8 beats are a turn
		if r, err := Tapped(m, per, []float64{0, 6, 12}, nil); err != nil || !r.Known || r.BPM != want || r.State != Turning {
			t.Errorf("per %s: %+v, %v", per, r, err)
		}
	}
	if r, err := Tapped(m, PerBeat, []float64{5}, nil); err != nil || r.Known || r.Says == "" {
		t.Errorf("one tap: %+v, %v", r, err)
	}
	if _, err := Tapped(m, "bar", []float64{0, 1}, nil); !errors.Is(err, wheel.ErrInvalid) {
		t.Errorf("per bar: %v", err)
	}
	m.Wheel.CrankTurns = 0
	if _, err := Tapped(m, PerTurn, []float64{0, 1}, nil); !errors.Is(err, wheel.ErrInvalid) || !strings.Contains(err.Error(), "tap with the beat") {
		t.Errorf("turns of a crank that is not geared: %v", err)
	}
}

// 96 beats are 12 turns of 8; of turns of 64 beats six are needed.
func TestWanderTakesSoManyTurns(t *testing.T) {
	for crankTurns, want := range map[float64]int{8: 12, 1: 6, 0: 0} {
		w := eightTurns
		w.CrankTurns = crankTurns
		if got := TurnsForWander(w); got != want {
			t.Errorf("%g turns of the crank to one of the wheel: %d, want %d", crankTurns, got, want)
		}
	}
}

// A hand turns the crank once in six seconds.
func ExampleSensor() {
	w := wheel.Wheel{RadiusMM: 600, Steps: 256, StepsPerBeat: 4, BeatsPerBar: 4, CrankTurns: 8}
	now := time.Date(2026, 5, 4, 9, 30, 0, 0, time.UTC)
	var s Sensor
	for turn := range 4 {
		now = now.Add(6 * time.Second)
		if err := s.Count(w, float64(turn), nil, now); err != nil {
			panic(err)
		}
	}
	r := s.Report(w, &wheel.TempoWindow{FromBPM: 50, ToBPM: 90, Open: true, RedLineBPM: 100.2}, now)
	fmt.Println(r.State, r.LastBPM, "BPM.", r.Judged)
	// Output:
	// turning 80 BPM. Inside the window, 50 to 90 BPM.
}
