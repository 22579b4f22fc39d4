package arrange

import (
	"fmt"
	"math"
	"testing"

	"pinwright/wheel"
)

func TestExportRefusesWhatNoFileOrMachineHas(t *testing.T) {
	w := compile(t, band())
	for _, c := range []struct {
		tempo float64
		turns int
		turn  func(p *wheel.Pinning)
		want  string
	}{
		{tempo: 0, turns: 1, want: "the tempo is 0 BPM; it should be 3.58, the slowest that a MIDI file can say, to 1000 BPM"},
		{tempo: math.NaN(), turns: 1, want: "the tempo is NaN BPM; it should be 3.58, the slowest that a MIDI file can say, to 1000 BPM"},
		{tempo: math.Inf(1), turns: 1, want: "the tempo is +Inf BPM; it should be 3.58, the slowest that a MIDI file can say, to 1000 BPM"},
		{tempo: -60, turns: 1, want: "the tempo is −60 BPM; it should be 3.58, the slowest that a MIDI file can say, to 1000 BPM"},
		{tempo: 3.57, turns: 1, want: "the tempo is 3.57 BPM; it should be 3.58, the slowest that a MIDI file can say, to 1000 BPM"},
		{tempo: 1001, turns: 1, want: "the tempo is 1001 BPM; it should be 3.58, the slowest that a MIDI file can say, to 1000 BPM"},
		{tempo: 60, turns: 0, want: "the number of turns is 0; it should be 1 to 100"},
		{tempo: 60, turns: -1, want: "the number of turns is −1; it should be 1 to 100"},
		{tempo: 60, turns: 101, want: "the number of turns is 101; it should be 1 to 100"},
		{tempo: 60, turns: 1, turn: func(p *wheel.Pinning) { p.Pins[0].Channel = "gong" },
			want: `pins[0].channel is "gong", and Hailstone has no such channel`},
		{tempo: 60, turns: 1, turn: func(p *wheel.Pinning) { p.Pins[1].Step = 12 },
			want: "pins[1].step is 12; the wheel of Hailstone has steps 0 to 11"},
		{tempo: 60, turns: 1, turn: func(p *wheel.Pinning) { p.Pins[2].Aim = wheel.AimAt(math.NaN()) },
			want: "pins[2].aim is NaN; it should be a step of the wheel"},
	} {
		p := bandPinning()
		if c.turn != nil {
			c.turn(p)
		}
		for _, asPlayed := range []bool{false, true} {
			if _, err := Export(w, p, c.tempo, asPlayed, c.turns); err == nil || err.Error() != c.want {
				t.Errorf("error %v, want %s", err, c.want)
			}
		}
	}
}

// 100 turns of 256 bars of four beats, 1,024 steps, are 25,600 bars; and of
// 16,384 pins 1,638,400 notes, where a file has room for 8 MiB / 8 bytes =
// 1,048,576, those of 64 turns.
func TestExportOfMoreThanAFileHoldsIsRefused(t *testing.T) {
	m := machine(1024, 1)
	for i := range 16 {
		one := machine(1024, 1, row{id: fmt.Sprint("bar-", i), keys: []int{60 + i}}).Channels[0]
		one.Row = i
		m.Channels = append(m.Channels, one)
	}
	w := compile(t, m)
	p := &wheel.Pinning{Format: wheel.PinningFormat, Title: "Long"}
	want := "the song would have 25600 bars, 100 turns of the wheel; a MIDI file may have 20000 at most"
	if _, err := Export(w, p, 60, false, MaxTurns); err == nil || err.Error() != want {
		t.Errorf("error %v, want %s", err, want)
	}
	for i := range 16 * 1024 {
		p.Pins = append(p.Pins, wheel.Pin{Channel: m.Channels[i%16].ID, Step: i / 16})
	}
	want = "100 turns of 16384 strikes are more than a MIDI file has room for; take up to 64 turns"
	if _, err := Export(w, p, 60, false, MaxTurns); err == nil || err.Error() != want {
		t.Errorf("error %v, want %s", err, want)
	}
}
