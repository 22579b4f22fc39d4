package arrange

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pinwright/wheel"
	"pinwright/wheel/song"
)

func TestTempoIsTheSongsAtTheSectionUnlessAsked(t *testing.T) {
	m := machine(16, 4, row{id: "a", keys: []int{60}})
	s := tune(2, note(0, 60), note(1920, 60))
	s.Tempos = append(s.Tempos, song.Tempo{Tick: 1920, MicrosPerQuarter: 750_000})
	for _, c := range []struct {
		r    Request
		want float64
	}{
		{Request{Bars: 1}, 120},
		{Request{FromBar: 2}, 80},
		{Request{FromBar: 2, TempoBPM: 61.5}, 61.5},
	} {
		if p, r := set(t, m, s, c.r); p.TempoBPM != c.want || r.TempoBPM != c.want {
			t.Errorf("%+v gives %g and %g BPM, want %g", c.r, p.TempoBPM, r.TempoBPM, c.want)
		}
	}
}

// Worked by hand: two pins 4 steps apart on a channel that reloads in 500 ms
// need p ≥ 125 ms, 60/(0.125 × 4) = 120 BPM. A reload of 3 s needs 20 BPM,
// which is below the machine's lowest, 30 BPM.
func TestReportHasTheHighestSafeTempo(t *testing.T) {
	s := tune(1, note(0, 60), note(480, 60))
	_, r := set(t, machine(64, 4, row{id: "a", keys: []int{60}, reloadMS: 500}), s, Request{})
	if r.MaxSafeBPM == nil || math.Abs(*r.MaxSafeBPM-120) > 1e-6 {
		t.Errorf("highest safe tempo %v, want 120", r.MaxSafeBPM)
	}
	if _, r = set(t, machine(64, 4, row{id: "a", keys: []int{60}, reloadMS: 3000}), s, Request{}); r.MaxSafeBPM != nil {
		t.Errorf("highest safe tempo %g, want none", *r.MaxSafeBPM)
	}
}

func TestWhatCannotBeSetIsSaidInASentence(t *testing.T) {
	a := row{id: "a", keys: []int{60}}
	drum := row{id: "d", keys: []int{38}, drum: true}
	fast := tune(2, note(0, 60))
	fast.Tempos[0].MicrosPerQuarter = 1
	odd := tune(2, note(0, 60))
	odd.TicksPerQuarter = math.NaN()
	many := tune(1)
	for i := range 40 {
		many.Notes = append(many.Notes, note(int64(i), 60))
	}
	short := tune(1, many.Notes...)
	short.Bars[0] = song.Bar{Ticks: 1}
	short.Notes = short.Notes[:1]
	full := tune(4096) // 16384 quarter notes, 65536 steps at 4 a quarter, of 5 keys each
	for step := range int64(65536) {
		for k := range uint8(5) {
			full.Notes = append(full.Notes, note(120*step, 60+k))
		}
	}
	five := []row{a, {id: "b", keys: []int{61}}, {id: "c", keys: []int{62}}, {id: "e", keys: []int{63}}, {id: "f", keys: []int{64}}}
	for _, c := range []struct {
		name string
		m    *wheel.Machine
		s    *song.Song
		r    Request
		want string
	}{
		{"no notes at all", machine(16, 4, a), tune(2), Request{}, "the song has no notes; a pinning needs some"},
		{"none yet", machine(16, 4, a), tune(4, note(4000, 60)), Request{Bars: 1}, "there are no notes in bar 1; the song's first is in bar 3"},
		{"none any more", machine(64, 4, a), tune(4, note(2000, 60)), Request{FromBar: 3}, "there are no notes in bars 3 to 4; the song's last is in bar 2"},
		{"before the song", machine(16, 4, a), tune(2, note(0, 60)), Request{FromBar: -1}, "the section's first bar is −1; bars count from 1"},
		{"past the song", machine(16, 4, a), tune(2, note(0, 60)), Request{FromBar: 3}, "the section starts at bar 3, past the song's end; the last bar is bar 2"},
		{"runs past the song", machine(64, 4, a), tune(3, note(0, 60)), Request{FromBar: 2, Bars: 3}, "the section of 3 bars from bar 2 runs past the end of the song, which has 3 bars; from bar 2 there are 2"},
		{"too many bars to count", machine(64, 4, a), tune(3, note(0, 60)), Request{FromBar: 2, Bars: math.MaxInt}, "the section of 9223372036854775807 bars from bar 2 runs past the end of the song, which has 3 bars; from bar 2 there are 2"},
		{"fewer than no bars", machine(64, 4, a), tune(2, note(0, 60)), Request{Bars: -2}, "the section has −2 bars; it has 1 or more"},
		{"longer than the wheel", machine(64, 4, a), tune(8, note(0, 60)), Request{Bars: 5}, "the section of 5 bars from bar 1 is longer than the wheel's 64 steps; from bar 1, 4 bars fit"},
		{"longer than the wheel of a bar", machine(16, 4, a), tune(8, note(0, 60)), Request{Bars: 2}, "the section of 2 bars from bar 1 is longer than the wheel's 16 steps; from bar 1, 1 bar fits"},
		{"no bar fits", machine(12, 4, a), tune(8, note(0, 60)), Request{}, "bar 1 takes 16 steps and the wheel has 12; no section can start there"},
		{"tempo below", machine(16, 4, a), tune(1, note(0, 60)), Request{TempoBPM: -5}, "the tempo is −5 BPM; it should be 1 to 1000 BPM"},
		{"tempo of a snail", machine(16, 4, a), tune(1, note(0, 60)), Request{TempoBPM: 0.5}, "the tempo is 0.5 BPM; it should be 1 to 1000 BPM"},
		{"no tempo", machine(16, 4, a), tune(1, note(0, 60)), Request{TempoBPM: math.NaN()}, "the tempo is NaN BPM; it should be 1 to 1000 BPM"},
		{"tempo above", machine(16, 4, a), tune(1, note(0, 60)), Request{TempoBPM: math.Inf(1)}, "the tempo is +Inf BPM; it should be 1 to 1000 BPM"},
		{"song's tempo above", machine(32, 4, a), fast, Request{}, "the song's tempo at bar 1 is 60000000 BPM; give one of 1 to 1000 BPM"},
		{"transposition below", machine(16, 4, a), tune(1, note(0, 60)), Request{Transpose: Transpose{Semitones: -128}}, "the transposition is −128 semitones; it goes from −127 to 127"},
		{"transposition above", machine(16, 4, a), tune(1, note(0, 60)), Request{Transpose: Transpose{Semitones: 128}}, "the transposition is 128 semitones; it goes from −127 to 127"},
		{"percussion without drums", machine(16, 4, a), tune(1, percussion(0, 38)), Request{}, "the notes in bar 1 are all percussion and Hailstone has no drum channels; take a section with melodic notes"},
		{"melody with drums only", machine(16, 4, drum), tune(1, note(0, 60)), Request{}, "the notes in bar 1 are all melodic and Hailstone has drum channels only; take a section with percussion"},
		{"no keys", machine(16, 4, row{id: "a"}), tune(1, note(0, 60)), Request{}, "Hailstone has no channel with a key; a machine needs such channels to play a song"},
		{"no keys for both", machine(16, 4, row{id: "a"}), tune(1, note(0, 60), percussion(0, 38)), Request{}, "Hailstone has no channel with a key; a machine needs such channels to play a song"},
		{"no time", machine(16, 4, a), odd, Request{}, "the song has NaN ticks per quarter note and 2 bars; it needs some of both"},
		{"advance round and round", machine(16, 96, a, row{id: "b", keys: []int{61}, latchMS: 600_000}), tune(1, note(0, 60), note(0, 61)), Request{TempoBPM: 1000, Advance: true},
			"bar 1 takes 384 steps and the wheel has 16; no section can start there"},
		{"advance beyond measure", machine(384, 96, a, row{id: "b", keys: []int{61}, latchMS: 600_000}), tune(1, note(0, 60), note(0, 61)), Request{TempoBPM: 1000, Advance: true},
			"at 1000 BPM, Bar b would be advanced by 960000 steps; 65536 is the most, so choose a slower tempo"},
		{"more pins than a pinning has", machine(65536, 4, five...), full, Request{}, "bars 1 to 4096 would take 327680 pins; a pinning has 262144 at most, so take a shorter section"},
		{"repeated beyond measure", machine(65536, 1, a), short, Request{Repeat: true},
			"bar 1 with 1 note would be repeated 31457280 times; that makes more notes than the 262144 pins a pinning may have, so take a longer section"},
	} {
		t.Run(c.name, func(t *testing.T) {
			p, r, err := Set(t.Context(), compile(t, c.m), c.s, c.r)
			if err == nil || err.Error() != c.want || p != nil || r != nil {
				t.Errorf("got  %v\nwant %s", err, c.want)
			}
			length := strings.HasPrefix(c.want, "the section of ") || strings.HasPrefix(c.want, "the section has ")
			if blamed := new(*LengthError); errors.As(err, blamed) != length {
				t.Errorf("the section's length is blamed: %v, want %v", !length, length)
			}
		})
	}
}

func TestTranspositionsAreReadAsTheyAreWritten(t *testing.T) {
	for text, want := range map[string]Transpose{"auto": {Auto: true}, "0": {}, "3": {Semitones: 3}, "+3": {Semitones: 3}, "-12": {Semitones: -12}, "−12": {Semitones: -12}} {
		got, err := ParseTranspose(text)
		if err != nil || got != want {
			t.Errorf("%q is read as %+v, %v", text, got, err)
		}
		if again, err := ParseTranspose(got.String()); err != nil || again != want {
			t.Errorf("%q is written as %q, read as %+v, %v", text, got, again, err)
		}
	}
	for _, text := range []string{"", "up", "1.5", "200", "99999999999999999999", strings.Repeat("9", 1000)} {
		if _, err := ParseTranspose(text); err == nil || len(err.Error()) > 200 {
			t.Errorf("%.20q is read: %v", text, err)
		}
	}
}
