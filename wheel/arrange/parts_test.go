package arrange

import (
	"strings"
	"testing"

	"pinwright/wheel/song"
)

func TestPartIsSentToAGroupAndShiftedByOctaves(t *testing.T) {
	m := machine(16, 4, row{id: "bar", keys: []int{60}}, row{id: "tube", keys: []int{60, 72}})
	m.Channels[1].Kind = "tube"
	s := tune(1, note(0, 60), note(480, 60))
	s.Notes[1].Channel = 2

	p, r := set(t, m, s, Request{Parts: []PartRule{{Part: song.Part{Channel: 2}, Group: "tube", Octaves: 1}}})
	if r.Placed != 2 {
		t.Fatalf("placed %d of 2", r.Placed)
	}
	if second := p.Pins[1]; second.Channel != "tube" {
		t.Errorf("the part sent to the tubes is on %s", second.Channel)
	}

	_, r = set(t, m, s, Request{Parts: []PartRule{{Part: song.Part{Channel: 2}, Off: true}}})
	if r.Notes != 1 {
		t.Errorf("a part that is off is counted: %d notes", r.Notes)
	}
}

func TestKeyThatIsLackingGoesWhereTheRuleSays(t *testing.T) {
	m := machine(16, 4, row{id: "bar", keys: []int{61}, resting: true}, row{id: "low", keys: []int{49}}, row{id: "tube", keys: []int{61}})
	m.Channels[2].Kind = "tube"
	s := tune(1, note(0, 61))
	part := s.Notes[0].Part()
	for _, test := range []struct {
		name        string
		rule        PartRule
		pins        []string
		substituted int
		dropped     int
	}{
		{"left out", PartRule{Part: part, Group: "bar"}, nil, 0, 1},
		{"the same pitch elsewhere", PartRule{Part: part, Group: "bar", SamePitch: true}, []string{"tube@0"}, 1, 0},
		{"the octave", PartRule{Part: part, Group: "bar", Octave: true}, []string{"low@0"}, 1, 0},
		{"the same pitch before the octave", PartRule{Part: part, Group: "bar", SamePitch: true, Octave: true}, []string{"tube@0"}, 1, 0},
		{"no rule is needed", PartRule{Part: part}, []string{"tube@0"}, 0, 0},
	} {
		t.Run(test.name, func(t *testing.T) {
			p, r := set(t, m, s, Request{Parts: []PartRule{test.rule}})
			wantHoles(t, p, test.pins...)
			if got := r.Parts[0]; got.Substituted != test.substituted || got.Dropped != test.dropped || r.Dropped != test.dropped {
				t.Errorf("report %+v of %+v", got, r)
			}
		})
	}
}

// Claves is key 75 and High Wood Block 76 of the percussion key map of General
// MIDI System Level 1.
func TestPercussionTableSendsAKeyToWhatTheMachineHas(t *testing.T) {
	m := machine(16, 4, row{id: "block", keys: []int{76}, drum: true})
	if to, ok := SuggestPercussion(m)[75]; !ok || to != 76 {
		t.Errorf("claves go to %d, %t; the nearest wood is the block on 76", to, ok)
	}
	if to, ok := SuggestPercussion(m)[76]; ok {
		t.Errorf("the block has a stand-in, %d, though it is there", to)
	}
	if to, ok := SuggestPercussion(m)[49]; ok {
		t.Errorf("a crash cymbal goes to %d; nothing of it is near a block", to)
	}
	s := tune(1, percussion(0, 75), percussion(480, 76))
	p, r := set(t, m, s, Request{Percussion: map[int]int{75: 76}})
	wantHoles(t, p, "block@0", "block@4")
	if r.Parts[0].Substituted != 1 || r.Parts[0].Played != 2 {
		t.Errorf("report %+v", r.Parts[0])
	}
	p, r = set(t, m, s, Request{Percussion: map[int]int{76: Silence}})
	if wantHoles(t, p); r.Dropped != 1 || r.OutOfRange != 1 {
		t.Errorf("report %+v", r)
	}
}

// Every key of the General MIDI percussion key map, 35 to 81, is in one family.
func TestEveryPercussionKeyHasAFamilyAndAName(t *testing.T) {
	families := familyOfKeys(t)
	for n := 35; n <= 81; n++ {
		if families[n] != 1 {
			t.Errorf("key %d is in %d families", n, families[n])
		}
		if PercussionNames[n] == "" {
			t.Errorf("key %d has no name", n)
		}
	}
	if len(families) != 81-35+1 || len(PercussionNames) != 81-35+1 {
		t.Errorf("%d keys in families and %d names; the map has 47", len(families), len(PercussionNames))
	}
}

func familyOfKeys(t *testing.T) map[int]int {
	t.Helper()
	n := map[int]int{}
	for _, f := range families {
		for _, k := range f.keys {
			n[k]++
		}
	}
	return n
}

func TestRulesThatMakeNoSenseAreRefusedInWords(t *testing.T) {
	m := machine(16, 4, row{id: "bar", keys: []int{60}})
	s := tune(1, note(0, 60))
	s.Tracks[0].Name = "Flute"
	part := s.Notes[0].Part()
	for _, test := range []struct {
		name string
		r    Request
		says string
	}{
		{"no such part", Request{Parts: []PartRule{{Part: song.Part{Track: 6, Channel: 3}}}}, "no part on MIDI channel 3 in track 7; it has 1 part"},
		{"twice", Request{Parts: []PartRule{{Part: part}, {Part: part}}}, "two rules for Flute"},
		{"octaves", Request{Parts: []PartRule{{Part: part, Octaves: 11}}}, "Flute is shifted by 11 octaves; it goes from −10 to 10"},
		{"channels that do not exist", Request{Parts: []PartRule{{Part: part, Group: "tube"}}}, `Flute is sent to the channels of kind "tube"; Hailstone has bar`},
		{"all off", Request{Parts: []PartRule{{Part: part, Off: true}}}, "switch one on"},
		{"percussion key", Request{Percussion: map[int]int{128: 36}}, "has key 128; MIDI has keys 0 to 127"},
		{"percussion to", Request{Percussion: map[int]int{36: -2}}, "sends key 36 to key −2; MIDI has keys 0 to 127"},
	} {
		t.Run(test.name, func(t *testing.T) {
			_, _, err := Set(t.Context(), compile(t, m), s, test.r)
			if err == nil || !strings.Contains(err.Error(), test.says) {
				t.Errorf("said %v; it should say %q", err, test.says)
			}
		})
	}
}

func TestComparisonHasARowForEverySemitoneOfTwoOctaves(t *testing.T) {
	m := machine(16, 4, row{id: "a", keys: []int{60}}, row{id: "b", keys: []int{64}, reloadMS: 900})
	s := tune(1, note(0, 57), note(480, 57))
	w := compile(t, m)
	rows, err := Compare(t.Context(), w, s, Request{})
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 25 || rows[0].Semitones != -12 || rows[24].Semitones != 12 {
		t.Fatalf("%d rows", len(rows))
	}
	// Up 3 and up 7 both place two notes; 7 lands on the channel whose gate
	// is too slow for 180 BPM, so auto takes 3.
	for _, row := range rows {
		want := 0
		if row.Semitones == 3 || row.Semitones == 7 {
			want = 2
		}
		if row.Placed != want || row.Lost != 2-want || row.Auto != (row.Semitones == 3) {
			t.Errorf("%+v", row)
		}
		_, report := set(t, m, s, Request{Transpose: Transpose{Semitones: row.Semitones}})
		if (report.MaxSafeBPM == nil) != (row.MaxSafeBPM == nil) || report.MaxSafeBPM != nil && *report.MaxSafeBPM != *row.MaxSafeBPM {
			t.Errorf("%d semitones: highest safe tempo %v, and %v when set", row.Semitones, row.MaxSafeBPM, report.MaxSafeBPM)
		}
	}
	far := tune(1, note(0, 60+36))
	if rows, err = Compare(t.Context(), w, far, Request{}); err != nil || len(rows) != 26 || !rows[0].Auto || rows[0].Semitones != -32 {
		t.Errorf("auto lies beyond an octave: %+v, %v; 96 − 32 is 64 and is nearer than 60", rows, err)
	}
}
