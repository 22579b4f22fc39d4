package arrange

import (
	"bytes"
	"cmp"
	"fmt"
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/song"
)

// heard is a note of a file: when it sounds, in seconds from its start, and on
// what.
type heard struct {
	channel, key int
	atS          float64
}

func byHearing(a, b heard) int {
	return cmp.Or(a.channel-b.channel, a.key-b.key, cmp.Compare(a.atS, b.atS))
}

// wanted is what turns of the wheel should sound, in seconds from the start of
// the first, and the earliest of it. It asks the turn, and the machine for keys
// and kinds.
func wanted(w *timing.Works, p *wheel.Pinning, tempo float64, asPlayed bool, turns int) (want []heard, firstS float64) {
	m := w.Machine
	t, _ := w.Turn(p)
	strikes := t.AsWritten(tempo, nil)
	if asPlayed {
		strikes = t.AsPlayed(tempo, nil)
	}
	turnS := 60 / tempo / float64(m.Wheel.StepsPerBeat) * float64(m.Wheel.Steps)
	for _, s := range strikes {
		if s.Missed {
			continue
		}
		c := m.Channels[s.Channel]
		h := heard{10, 37, s.AtS}
		if len(c.Keys) > 0 {
			h.key = c.Keys[0]
			if !c.Drum {
				h.channel = 1 + slices.Index([]string{"bar", "tube", "bell", "block", "drum", "string", "other"}, string(c.Kind))
			}
		}
		firstS = min(firstS, h.atS)
		for range turns {
			want = append(want, h)
			h.atS += turnS
		}
	}
	slices.SortFunc(want, byHearing)
	return want, firstS
}

// compareHeard fails the test unless the notes are those wanted, each within
// some seconds of its time, after whole bars of rest: none where the first
// strike is not before the turn, else as few as hold it.
func compareHeard(t rapid.TB, got, want []heard, firstS, barS, within float64) {
	t.Helper()
	slices.SortFunc(got, byHearing)
	if len(got) != len(want) {
		t.Fatalf("%d notes, want %d", len(got), len(want))
	}
	if len(got) == 0 {
		return
	}
	rest := math.Round((got[0].atS - want[0].atS) / barS)
	if rest != 0 && (firstS >= 0 || firstS+(rest-1)*barS > within) || firstS+rest*barS < -within {
		t.Fatalf("%v bars of rest of %v s before a strike at %v s", rest, barS, firstS)
	}
	for i, n := range want {
		if g := got[i]; g.channel != n.channel || g.key != n.key || math.Abs(g.atS-n.atS-rest*barS) > within {
			t.Fatalf("note %d is %+v, want %+v after %v bars of rest of %v s", i, g, n, rest, barS)
		}
	}
}

func written(t rapid.TB, s *song.Song) []byte {
	t.Helper()
	var file bytes.Buffer
	if err := song.Write(&file, s); err != nil {
		t.Fatal(err)
	}
	return file.Bytes()
}

func TestExportReadsBackAsTheStrikes(t *testing.T) {
	rests := 0
	rapid.Check(t, func(t *rapid.T) {
		number := func(lo, hi float64, what string) float64 { return rapid.Float64Range(lo, hi).Draw(t, what) }
		n, q := rapid.IntRange(4, 130).Draw(t, "steps"), rapid.IntRange(1, 96).Draw(t, "q")
		rows := make([]row, rapid.IntRange(1, 8).Draw(t, "rows"))
		for i := range rows {
			rows[i] = row{
				id: fmt.Sprint("r", i), drum: rapid.Bool().Draw(t, "drum"), resting: rapid.IntRange(0, 9).Draw(t, "resting") == 0,
				keys:    rapid.SliceOfNDistinct(rapid.IntRange(0, 127), 0, 2, rapid.ID).Draw(t, "keys"),
				reachMM: number(0, 3, "reach"), latchMS: number(0, 900, "latch"), reloadMS: number(0, 400, "reload"),
			}
		}
		m := machine(n, q, rows...)
		m.Wheel.BeatsPerBar = rapid.IntRange(1, 12).Draw(t, "beats")
		p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Hail", TempoBPM: 60, Advance: map[string]int{}}
		for i := range rows {
			m.Channels[i].Kind = rapid.SampledFrom(wheel.ChannelKinds).Draw(t, "kind")
			p.Advance[rows[i].id] = rapid.IntRange(-3, 20).Draw(t, "advance")
		}
		whole := rapid.Bool().Draw(t, "whole steps")
		for _, hole := range rapid.SliceOfNDistinct(rapid.IntRange(0, n*len(rows)-1), 0, 60, rapid.ID).Draw(t, "holes") {
			pin := wheel.Pin{Channel: rows[hole/n].id, Step: hole % n}
			if !whole && rapid.Bool().Draw(t, "aimed") {
				pin.Aim = wheel.AimAt(p.AimOf(pin) + number(-0.5, 0.5, "stray"))
			}
			p.Pins = append(p.Pins, pin)
		}
		w, err := timing.Compile(m)
		if err != nil {
			t.Fatal(err)
		}
		tempo, asPlayed, turns := number(10, 1000, "tempo"), rapid.Bool().Draw(t, "as played"), rapid.IntRange(1, 3).Draw(t, "turns")
		s, err := Export(w, p, tempo, asPlayed, turns)
		if err != nil {
			t.Fatal(err)
		}
		read, err := song.Parse(written(t, s), "")
		if err != nil {
			t.Fatal(err)
		}
		again := read[0]
		micros := math.Round(60e6 / tempo)
		if again.Title != "Hail" || len(again.Tempos) != 1 || float64(again.Tempos[0].MicrosPerQuarter) != micros ||
			again.Meters[0] != (song.Meter{Numerator: m.Wheel.BeatsPerBar, Denominator: 4}) || !slices.Equal(again.Notes, s.Notes) && len(s.Notes) > 0 {
			t.Fatalf("read %+v, written %+v", again, s)
		}
		// As written, the song's own beats are right; they are told in seconds of the tempo asked for.
		stretch, within := 1.0, 1e-4+1e-9
		if !asPlayed {
			stretch = 60e6 / tempo / micros
		}
		var got []heard
		for _, n := range again.Notes {
			got = append(got, heard{int(n.Channel), int(n.Key), again.SecondsAt(float64(n.Tick)) * stretch})
			if step := again.TicksPerQuarter / float64(q); !asPlayed && whole && math.Mod(float64(n.Tick), step) != 0 {
				t.Fatalf("a note on a whole step is at tick %d, with %v ticks to a step", n.Tick, step)
			}
		}
		want, firstS := wanted(w, p, tempo, asPlayed, turns)
		compareHeard(t, got, want, firstS, float64(m.Wheel.BeatsPerBar)*micros/1e6*stretch, within)
		if firstS < 0 {
			rests++
		}
	})
	if rests < 5 && !testing.Short() { // which draws a fifth as many
		t.Errorf("only %d songs began before their turn", rests)
	}
}

// band is a machine of 12 steps, two to the beat and three beats to the bar. Its
// levers let go when they are touched, but for the latch.
func band() *wheel.Machine {
	m := machine(12, 2,
		row{id: "drum", keys: []int{36, 41}, drum: true},
		row{id: "bell", keys: []int{84}, latchMS: 250, reloadMS: 1100},
		row{id: "bar", keys: []int{60}},
		row{id: "bar-2", keys: []int{60}},
		row{id: "block"},
	)
	m.Wheel.BeatsPerBar = 3
	for i, kind := range []wheel.ChannelKind{"drum", "bell", "bar", "bar", "block"} {
		m.Channels[i].Kind = kind
	}
	return m
}

func bandPinning() *wheel.Pinning {
	return &wheel.Pinning{
		Format: wheel.PinningFormat, Title: "Hail, twice", TempoBPM: 60, Advance: map[string]int{"bell": 1, "bar": 2},
		Pins: []wheel.Pin{
			{Channel: "drum", Step: 6}, {Channel: "block", Step: 11},
			{Channel: "bell", Step: 11, Aim: wheel.AimAt(0)}, {Channel: "bell", Step: 1},
			{Channel: "bar", Step: 2}, {Channel: "bar-2", Step: 5}, {Channel: "bar-2", Step: 4},
		},
	}
}

// Worked by hand, as above: the bar strikes 2 steps, 1 s, before its note; the
// bell 250 ms before hers, so that at step 0 a bar of rest, 15,048 ticks, has
// to hold it. Its gate takes 1,100 ms and the pins follow each other after 1 s
// and 5 s, so the second, at step 1, is missed.
func TestAsPlayedStartsWithRestAndLeavesOutWhatIsMissed(t *testing.T) {
	s, err := Export(compile(t, band()), bandPinning(), 60, true, 1)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, n := range s.Notes {
		got = append(got, fmt.Sprint(n.Channel, ":", n.Key, "@", n.Tick))
	}
	want := []string{
		"3:84@13794",  // 15,048 − 1,254
		"1:60@20064",  // 15,048 + 5,016
		"1:60@25080",  // 15,048 + 10,032
		"1:60@27588",  // 15,048 + 12,540
		"10:36@30096", // 15,048 + 15,048
		"10:37@42636", // 15,048 + 27,588
	}
	if !slices.Equal(got, want) {
		t.Errorf("notes %v, want %v", got, want)
	}
	if s.EndTick != 15_048+30_096 {
		t.Errorf("ends at tick %d", s.EndTick)
	}
}

// At 60 BPM a bar of the band is 3 s and a tick 1/5.016 ms. A note at step 0
// whose pin stands 6 steps before it, a bar exactly, has one bar of rest; one
// tick earlier, at −3.5 s + 499.8006 ms, it has two. A strike after the turn makes the song
// longer.
func TestRestIsAsManyBarsAsTheEarliestStrikeNeeds(t *testing.T) {
	for _, c := range []struct {
		advance   int
		latchMS   float64
		tick, end int64
	}{
		{0, 0, 0, 30_096},
		{6, 0, 0, 45_144},
		{7, 500 - 1/5.016, 15_047, 60_192},
		{-1, 0, 2_508, 30_096},
		{-11, 600, 30_598, 35_614}, // 5.5 s + 600 ms, and a beat long
	} {
		m := machine(12, 2, row{id: "bar", keys: []int{60}, latchMS: c.latchMS})
		m.Wheel.BeatsPerBar = 3
		p := &wheel.Pinning{
			Format: wheel.PinningFormat, Title: "Hail", Advance: map[string]int{"bar": c.advance},
			Pins: []wheel.Pin{{Channel: "bar", Step: m.Wheel.Wrap(-c.advance), Aim: wheel.AimAt(0)}},
		}
		s, err := Export(compile(t, m), p, 60, true, 1)
		if err != nil {
			t.Fatal(err)
		}
		if s.Notes[0].Tick != c.tick || s.EndTick != c.end {
			t.Errorf("%d steps early: sounds at tick %d of %d, want %d of %d", c.advance, s.Notes[0].Tick, s.EndTick, c.tick, c.end)
		}
		written(t, s)
	}
}

// The slowest tempo a file can say is 60,000,000 / 16,777,215 = 3.5763 BPM, and
// the most ticks 32,767: with 24 to a grain 32,760, so half a tick is 0.256 ms.
func TestTheSlowestTempoIsWritten(t *testing.T) {
	s, err := Export(compile(t, band()), bandPinning(), 3.5763, true, 1)
	if err != nil {
		t.Fatal(err)
	}
	if s.TicksPerQuarter != 32_760 || s.Tempos[0].MicrosPerQuarter != 16_777_116 {
		t.Errorf("%v ticks, tempo %+v", s.TicksPerQuarter, s.Tempos)
	}
	written(t, s)
}

func TestAPinningWithoutPinsIsATurnOfRest(t *testing.T) {
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Rest"}
	s, err := Export(compile(t, band()), p, 60, true, 2)
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Notes) != 0 || s.EndTick != 2*30_096 || len(s.Tracks) != 1 {
		t.Errorf("%+v", s)
	}
	written(t, s)
}
