package timing

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
)

// simulate lets the wheel turn past the pins of one channel, one touch after
// another, and returns what each turn sounds, by step, once that repeats. For
// the first two turns the gate is shut, so that the levers find their way. ok
// is false where a bound is met too nearly to tell.
func simulate(m *wheel.Machine, c *wheel.Channel, steps []int, p float64) (turns []map[int]bool, crowded map[int]bool, ok bool) {
	slices.Sort(steps)
	n, arc := m.Wheel.Steps, 2*math.Pi*m.Wheel.RadiusMM/float64(m.Wheel.Steps)
	held, falls, reload := c.Trip.HoldMM.Or(0)/arc*p, c.Trip.ReturnMS.Or(0)/1000, c.Gate.ReloadMS.Or(0)/1000
	settled := (len(steps) + 1) * (int(reload/(p*float64(n))) + 2)
	leverFree, gateReady := math.Inf(-1), math.Inf(-1)
	crowded = map[int]bool{}
	ok = true
	for turn := range 2 + 2*settled {
		sounds := map[int]bool{}
		for _, step := range steps {
			now := p * float64(step+turn*n)
			free, ready := now-leverFree, now-gateReady
			if math.Abs(free) < 1e-7 || math.Abs(ready) < 1e-7 {
				return nil, nil, false
			}
			leverFree = now + held + falls
			crowded[step] = free < 0
			if turn < 2 || free < 0 || ready < 0 {
				continue
			}
			sounds[step] = true
			gateReady = now + reload
		}
		if turn >= 2+settled {
			turns = append(turns, sounds)
		}
	}
	return turns, crowded, ok
}

// poorest is the turn that sounds the least, of several the one that sounds
// earliest.
func poorest(turns []map[int]bool) map[int]bool {
	first := func(turn map[int]bool) int {
		least := math.MaxInt
		for step := range turn {
			least = min(least, step)
		}
		return least
	}
	return slices.MinFunc(turns, func(a, b map[int]bool) int {
		if len(a) != len(b) {
			return len(a) - len(b)
		}
		return first(a) - first(b)
	})
}

func TestDropsFailAsOnAWheelThatIsTurned(t *testing.T) {
	seen := map[string]int{}
	rapid.Check(t, func(t *rapid.T) {
		w, p := anyMachine(t)
		m, n := w.Machine, w.Machine.Wheel.Steps
		tempo := rapid.Float64Range(m.Limits.TempoMinBPM, m.Limits.TempoMaxBPM).Draw(t, "tempo")
		period := 60 / (tempo * float64(m.Wheel.StepsPerBeat))
		for i := range m.Channels {
			g := &m.Channels[i].Gate
			g.FeedSlopeDeg, g.ReloadMS = wheel.Maybe{}, wheel.Known(min(5000, 1000*period*rapid.Float64Range(0.1, 6).Draw(t, "reload in steps")))
			if rapid.IntRange(0, 9).Draw(t, "slow") == 0 {
				g.ReloadMS = wheel.Known(min(5000, 1000*period*float64(n)*rapid.Float64Range(0.5, 3).Draw(t, "reload in turns")))
			}
		}
		w, err := Compile(m)
		if err != nil {
			t.Fatal(err)
		}
		for range rapid.IntRange(0, 3).Draw(t, "runs") {
			every, from := rapid.IntRange(1, 3).Draw(t, "every"), rapid.IntRange(0, n-1).Draw(t, "from")
			for k := range rapid.IntRange(1, min(n, 12)).Draw(t, "run") {
				p.Pins = append(p.Pins, wheel.Pin{Channel: m.Channels[0].ID, Step: (from + k*every) % n})
			}
		}
		p.Pins = distinct(p.Pins)
		turn, err := w.Turn(p)
		if err != nil {
			t.Fatal(err)
		}
		strikes := turn.AsPlayed(tempo, nil)
		if len(strikes) != len(p.Pins) {
			t.Fatalf("%d strikes of %d pins", len(strikes), len(p.Pins))
		}
		for i := range m.Channels {
			c := &m.Channels[i]
			var steps []int
			for _, pin := range p.Pins {
				if pin.Channel == c.ID {
					steps = append(steps, pin.Step)
				}
			}
			turns, crowded, ok := simulate(m, c, steps, period)
			if !ok {
				seen["undecided"]++
				continue
			}
			sounds := poorest(turns)
			if slices.ContainsFunc(turns, func(turn map[int]bool) bool { return len(turn) != len(sounds) }) {
				seen["turns that differ"]++
			}
			for _, s := range strikes {
				if s.Channel != i {
					continue
				}
				want := "sounds"
				switch {
				case c.Service == wheel.Resting:
					want = "silent"
				case crowded[s.Step]:
					want = "crowded"
				case !sounds[s.Step]:
					want = "unready"
				}
				got := "sounds"
				if s.Missed {
					got = s.Why.String()
				}
				if got != want {
					t.Fatalf("%s step %d: %s, on the turned wheel: %s", c.ID, s.Step, got, want)
				}
				seen[want]++
			}
		}
		if len(turn.Findings(tempo, nil)) == 0 {
			seen["no findings"]++
			for _, s := range strikes {
				if s.Missed {
					t.Fatalf("no findings, and %+v", s)
				}
			}
		}
	})
	for _, what := range []string{"sounds", "silent", "crowded", "unready", "turns that differ", "no findings"} {
		if seen[what] < floor(30) {
			t.Errorf("%s: only %d times", what, seen[what])
		}
	}
	t.Log(seen)
	if seen["undecided"] > seen["sounds"]/50 {
		t.Errorf("%d channels met a bound too nearly to tell, %d strikes sounded", seen["undecided"], seen["sounds"])
	}
}

// The errors of ErrorsByChannel count from the pinning's middle, so they and
// the differences of written and played strikes differ by one number for all.
func TestStrikesArePlayedAsLateAsTheirChannelsErrors(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w, p := anyMachine(t)
		m := w.Machine
		turn := float64(m.Wheel.Steps)
		p.Advance = map[string]int{}
		for i := range m.Channels {
			p.Advance[m.Channels[i].ID] = rapid.IntRange(-2, 2).Draw(t, "advance")
		}
		for i := range p.Pins {
			if rapid.Bool().Draw(t, "aimed") {
				stray := rapid.Float64Range(-1, 1).Draw(t, "stray") + turn*float64(rapid.IntRange(-2, 2).Draw(t, "turns"))
				p.Pins[i].Aim = wheel.AimAt(p.AimOf(p.Pins[i]) + stray)
			}
		}
		on, err := w.Turn(p)
		if err != nil {
			t.Fatal(err)
		}
		tempo := rapid.Float64Range(m.Limits.TempoMinBPM, m.Limits.TempoMaxBPM).Draw(t, "tempo")
		period := 60 / (tempo * float64(m.Wheel.StepsPerBeat))
		ref := plain{m, p}
		kept := Strike{Channel: 99}
		written, played := on.AsWritten(tempo, []Strike{kept}), on.AsPlayed(tempo, []Strike{kept})
		for _, list := range [][]Strike{written, played} {
			if list[0] != kept || !slices.IsSortedFunc(list[1:], func(a, b Strike) int {
				if a.AtS != b.AtS {
					return int(math.Copysign(1, a.AtS-b.AtS))
				}
				return a.Channel - b.Channel
			}) {
				t.Fatalf("not appended in order: %+v", list)
			}
		}
		early := make([]float64, len(m.Channels))
		late, count := slices.Clone(early), make([]int, len(m.Channels))
		for i := range early {
			early[i], late[i] = math.Inf(1), math.Inf(-1)
		}
		for _, s := range written[1:] {
			pin := p.Pins[slices.IndexFunc(p.Pins, func(pin wheel.Pin) bool {
				return pin.Channel == m.Channels[s.Channel].ID && pin.Step == s.Step
			})]
			if s.AtS < 0 || s.AtS >= period*turn || s.Missed {
				t.Fatalf("written %+v in a turn of %v s", s, period*turn)
			}
			if off := math.Abs(math.Remainder(s.AtS/period-p.AimOf(pin), turn)); off > 1e-6 {
				t.Fatalf("%+v is %v steps off its aim", s, off)
			}
			i := slices.IndexFunc(played, func(o Strike) bool { return o.Channel == s.Channel && o.Step == s.Step })
			c := &m.Channels[s.Channel]
			if off := math.Abs(math.Remainder(played[i].AtS-period*(float64(s.Step)+ref.reach(c))-ref.way(c).strike, period*turn)); off > 1e-6 {
				t.Fatalf("%+v is %v s off the machine's strike", played[i], off)
			}
			e := played[i].AtS - s.AtS
			early[s.Channel], late[s.Channel] = min(early[s.Channel], e), max(late[s.Channel], e)
			count[s.Channel]++
		}
		middle := math.NaN()
		for _, e := range on.ErrorsByChannel(tempo) {
			if math.IsNaN(middle) {
				middle = early[e.Channel] - e.EarliestS
			}
			if e.Pins != count[e.Channel] || math.Abs(early[e.Channel]-e.EarliestS-middle) > 1e-6 || math.Abs(late[e.Channel]-e.LatestS-middle) > 1e-6 {
				t.Fatalf("channel %d: early %v, late %v s; its errors %+v from %v s", e.Channel, early[e.Channel], late[e.Channel], e, middle)
			}
		}
	})
}

// oneLever is a machine of one channel, with 16 steps of 10 mm and one step to
// the beat, so that at 60 BPM a step takes 1 s.
func oneLever(t testing.TB, holdMM, returnMS, reloadMS float64, steps ...int) *Turn {
	t.Helper()
	m := &wheel.Machine{
		Format: wheel.MachineFormat, Name: "One lever",
		Marble: wheel.Marble{DiameterMM: 12, ClearanceMM: 2},
		Wheel:  wheel.Wheel{RadiusMM: 160 / (2 * math.Pi), Steps: 16, StepsPerBeat: 1, BeatsPerBar: 4},
		Channels: []wheel.Channel{{
			ID: "bar", Name: "Bar", Kind: "bar", Service: wheel.Playing,
			Trip: wheel.Trip{ReachMM: wheel.Known(5), HoldMM: wheel.Known(holdMM), ReturnMS: wheel.Known(returnMS), LatchMS: wheel.Known(20)},
			Gate: wheel.Gate{ReloadMS: wheel.Known(reloadMS)},
		}},
		Limits: wheel.Limits{TempoMinBPM: 30, TempoMaxBPM: 180, FlamMS: 20},
	}
	w, err := Compile(m)
	if err != nil {
		t.Fatal(err)
	}
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "By hand", TempoBPM: 60, Advance: map[string]int{"bar": 1}}
	for _, s := range steps {
		p.Pins = append(p.Pins, wheel.Pin{Channel: "bar", Step: s})
	}
	turn, err := w.Turn(p)
	if err != nil {
		t.Fatal(err)
	}
	return turn
}

// listed writes strikes as "3 4 unready", in order of time.
func listed(strikes []Strike) string {
	var words []string
	for _, s := range strikes {
		word := fmt.Sprint(s.Step)
		if s.Missed {
			word += " " + s.Why.String()
		}
		words = append(words, word)
	}
	return strings.Join(words, ", ")
}

// Worked by hand, at 1 s a step.
func TestWhichDropsFail(t *testing.T) {
	for _, c := range []struct {
		what                       string
		holdMM, returnMS, reloadMS float64
		steps                      []int
		want                       string
	}{
		{"a gate of 1.4 s skips every other pin", 0, 0, 1400, []int{0, 1, 2, 3}, "0, 1 unready, 2, 3 unready"},
		{"a gate of 1 s is just ready", 0, 0, 1000, []int{0, 1, 2, 3}, "0, 1, 2, 3"},
		{"a gate within a nanosecond of 2 s is just ready", 0, 0, 2000 + 0.5e-6, []int{0, 1, 2}, "0, 1 unready, 2"},
		{"one 2 ns slower is not", 0, 0, 2000 + 2e-6, []int{0, 1, 2}, "0, 1 unready, 2 unready"},
		{"a lever back after 1 s is just back", 4, 600, 0, []int{0, 1}, "0, 1"},
		{"the crowded pin takes no marble, so the gate is ready for the third",
			4, 700, 1900, []int{0, 1, 3}, "0, 1 crowded, 3"},
		{"a pin that meets the lever held holds it on: the third is a step from the second, and too near",
			10, 0, 0, []int{0, 1, 2}, "0, 1 crowded, 2 crowded"},
		{"and the fourth, two steps on, is free of it",
			10, 0, 0, []int{0, 1, 3}, "0, 1 crowded, 3"},
		{"the seam is no gap: 15 is a step before 0", 4, 700, 0, []int{0, 15}, "15, 0 crowded"},
		{"a gate slower than the turn of 16 s sounds a lone pin every second turn", 0, 0, 17000, []int{5}, "5 unready"},
		{"a gate as slow as the turn is just ready", 0, 0, 16000, []int{5}, "5"},
		// 1, 8, 15 − then 6 of the next turn is not there: 8 of it is 9 s on;
		// 15, and again. So 1 sounds on no turn but the first.
		{"what repeats counts, not the start", 0, 0, 7000, []int{1, 8, 15}, "15, 1 unready, 8"},
		// Drops 6 steps apart or more: 0, 6, 12 | 3, 9 | 0 …: the second turn
		// misses three of five.
		{"of two turns the poorer counts", 0, 0, 6000, []int{0, 3, 6, 9, 12}, "0 unready, 3, 6 unready, 9, 12 unready"},
	} {
		if got := listed(oneLever(t, c.holdMM, c.returnMS, c.reloadMS, c.steps...).AsPlayed(60, nil)); got != c.want {
			t.Errorf("%s: %s, want %s", c.what, got, c.want)
		}
	}
}

// The lever is pushed half a step after its pin touches it and lets go 20 ms
// later; the pin stands one step early. So a strike is 0.5 − 1 steps and 20 ms
// off its note: at 60 BPM 480 ms early (worked by hand).
func TestANoteAtTheSeamSoundsAtTheStart(t *testing.T) {
	turn := oneLever(t, 0, 0, 0, 15, 3)
	for i, want := range []float64{0, 4} {
		written, played := turn.AsWritten(60, nil)[i], turn.AsPlayed(60, nil)[i]
		if written.AtS != want || math.Abs(played.AtS-want+0.48) > 1e-12 {
			t.Errorf("step %d is written at %v and played at %v s", written.Step, written.AtS, played.AtS)
		}
	}
}

func TestNothingSoundsAtATempoNoWheelTurnsAt(t *testing.T) {
	turn := oneLever(t, 0, 0, 100, 0, 1)
	for _, tempo := range []float64{0, -1, 0.5, 1001, math.NaN(), math.Inf(1), math.Inf(-1)} {
		if got := len(turn.AsPlayed(tempo, nil)) + len(turn.AsWritten(tempo, nil)); got > 0 {
			t.Errorf("%d strikes at %v BPM", got, tempo)
		}
	}
	if got := turn.works.NewTurn().AsPlayed(60, nil); len(got) > 0 {
		t.Errorf("a wheel without a pinning strikes %v", got)
	}
}
