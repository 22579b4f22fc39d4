package song

import "testing"

func TestNameTellsAMIDIFile(t *testing.T) {
	for name, want := range map[string]bool{
		"race.mid": true, "tunes/RACE.MID": true, "a.b.Midi": true, "race.kar": true, "race.rmi": true, "race.smf": true,
		"": false, "mid": false, "race.mid.txt": false, "race": false, "race.mid/": false,
	} {
		if got := NamedSo(name); got != want {
			t.Errorf("NamedSo(%q) is %v", name, got)
		}
	}
}
