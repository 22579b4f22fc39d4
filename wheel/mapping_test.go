package wheel

import (
	"fmt"
	"slices"
	"strings"
	"testing"
)

// bench is a machine of channels given as id:key, "r" behind it for a resting
// one, "d" for a drum.
func bench(name string, steps int, channels ...string) *Machine {
	m := &Machine{Format: MachineFormat, Name: name, Wheel: Wheel{Steps: steps, StepsPerBeat: 4, BeatsPerBar: 4}}
	for i, text := range channels {
		id, rest, _ := strings.Cut(text, ":")
		c := Channel{ID: id, Name: "Channel " + id, Row: i, Kind: "bar", Service: Playing}
		if strings.HasSuffix(rest, "r") {
			c.Service = Resting
		}
		c.Drum = strings.HasSuffix(rest, "d")
		var key int
		if _, err := fmt.Sscan(strings.TrimRight(rest, "rd"), &key); err == nil {
			c.Keys = []int{key}
		}
		m.Channels = append(m.Channels, c)
	}
	return m
}

func TestPinningIsMappedByIDAndKey(t *testing.T) {
	from := bench("Old", 32, "a:60", "b:62", "c:64", "d:36d", "e:67", "f:69")
	to := bench("New", 16, "a:60", "x:62r", "y:62", "b:65", "z:36", "e:70", "g:69", "h:69")
	p := &Pinning{
		Title: "Tune", Machine: "Old", TempoBPM: 90,
		Advance: map[string]int{"a": 2, "b": 1},
		Pins: []Pin{
			{Channel: "a", Step: 3, Aim: AimAt(5)}, {Channel: "a", Step: 20}, // beyond the last
			{Channel: "b", Step: 4}, // by key, past the resting one: y
			{Channel: "c", Step: 5}, // no key 64
			{Channel: "d", Step: 6}, // percussion 36, where z is a pitch
			{Channel: "e", Step: 7}, // e has another key there
			{Channel: "f", Step: 8}, // the first of two
		},
	}
	m := Map(p, from, to)
	if err := m.Pinning.CheckOn(to).Err(); err != nil {
		t.Fatal(err)
	}
	var holes []string
	for _, pin := range m.Pinning.Pins {
		holes = append(holes, fmt.Sprintf("%s@%d", pin.Channel, pin.Step))
	}
	if want := []string{"a@3", "y@4", "g@8"}; !slices.Equal(holes, want) {
		t.Errorf("pins %v, want %v", holes, want)
	}
	if m.Pinning.Pins[0].Aim != AimAt(5) || m.Pinning.Advance["a"] != 2 || m.Pinning.Advance["y"] != 1 || m.Pinning.Machine != "New" || m.Pinning.TempoBPM != 90 {
		t.Errorf("mapped to %+v", m.Pinning)
	}
	if m.Pinning.BeatsPerBar != 0 {
		t.Errorf("mapped to bars of %d beats, and both machines have 4", m.Pinning.BeatsPerBar)
	}
	to.Wheel.BeatsPerBar = 3
	if got := Map(p, from, to).Pinning.BeatsPerBar; got != 4 {
		t.Errorf("on a machine of 3 beats to a bar the music has %d, want 4 as before", got)
	}
	p.BeatsPerBar = 6
	if got := Map(p, from, to).Pinning.BeatsPerBar; got != 6 {
		t.Errorf("bars of 6 beats become %d", got)
	}
	if m.Lost != 4 {
		t.Errorf("%d pins are lost, want 4", m.Lost)
	}
	why := map[string]string{}
	for _, c := range m.Channels {
		why[c.From] = c.Why
	}
	for id, want := range map[string]string{
		"a": "1 pin of it lies beyond step 15, the last of New", "b": "",
		"c": "New has no free channel with the key, 64, of it", "d": "New has no free channel with the key, 36, of it",
		"e": "New has no free channel with the key, 67, of it", "f": "",
	} {
		if why[id] != want {
			t.Errorf("%s: %q, want %q", id, why[id], want)
		}
	}
	if len(m.Remarks) != 1 || !strings.Contains(m.Remarks[0], "32 steps and that of New 16") {
		t.Errorf("remarks %q", m.Remarks)
	}
}

func TestPinningOfAMachineThatNobodyKnowsIsMappedByIDAlone(t *testing.T) {
	to := bench("New", 16, "a:60", "b:62")
	m := Map(&Pinning{Title: "Tune", Machine: "Far", Pins: []Pin{{Channel: "a", Step: 1}, {Channel: "q", Step: 2}, {Channel: "q", Step: 3}}}, nil, to)
	if len(m.Pinning.Pins) != 1 || m.Lost != 2 || m.Channels[1].Why != "New has no channel q, and what key it has is not known" {
		t.Errorf("mapped to %+v, %+v", m.Pinning.Pins, m.Channels)
	}
}

func TestPinningIsMappedOntoItsOwnMachineAsItIs(t *testing.T) {
	m := bench("Same", 16, "a:60", "b:60", "c:62r")
	p := &Pinning{Title: "Tune", Machine: "Same", Advance: map[string]int{"b": 1}, Pins: []Pin{{Channel: "a", Step: 1}, {Channel: "b", Step: 1}, {Channel: "c", Step: 9}}}
	got := Map(p, m, m)
	if got.Lost != 0 || len(Differences(p, got.Pinning)) != 0 || got.Pinning.Advance["b"] != 1 {
		t.Errorf("mapped to %+v", got.Pinning)
	}
}
