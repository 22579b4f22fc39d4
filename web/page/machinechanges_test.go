package page_test

import (
	"slices"
	"testing"

	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/demo"
)

func TestAChangeOfAMachineIsToldInWords(t *testing.T) {
	m := demo.Machine()
	c := wheel.MachineChange{
		Reason: "the frame shakes",
		Figures: []wheel.ChangedFigure{
			{Path: "channels.bar-c5.gate.reload_ms", From: wheel.Known(140), To: wheel.Known(150)},
			{Path: "limits.house_bpm", From: wheel.Known(96)},
			{Path: "lanes.gone.length_mm", To: wheel.Known(5)},
		},
		Texts: []wheel.ChangedText{
			{Path: "channels.bar-c5", To: "Bar C5"},
			{Path: "channels.bar-c5.plate", From: "a", To: "b"},
			{Path: "channels.old.note", To: "gone since"},
			{Path: "lanes.old", From: "old"},
			{Path: "limits.house_why", To: "the frame shakes"},
			{Path: "limits.house_why", From: "the floor"},
			{Path: "measured.channels.bar-c5.gate.reload_ms", To: "n 10"},
			{Path: "measured.wheel.radius_mm", From: "n 10", To: "n 12"},
			{Path: "measured.wheel.radius_mm", From: "n 10"},
			{Path: "name", From: "Hail\u202estone", To: "Hailstone"},
			{Path: "lift.drive", From: "wheel", To: "motor"},
		},
	}
	want := []string{
		"reload of Bar C5 from 140 to 150 ms",
		"house limit from 96 to not given",
		"lanes.gone.length_mm from not given to 5",
		"channel Bar C5 is new",
		"plate of Bar C5 from “a” to “b”",
		"note of channel old: “gone since”",
		"lane old was removed",
		"reason of the house limit removed: “the floor”",
		"the reload of Bar C5 was measured: n 10",
		"the radius of the wheel was measured again: n 12; before: n 10",
		"what was measured of the radius of the wheel no longer counts: n 10",
		"name of the machine from “Hailstone” to “Hailstone”",
		"drive of the lift from “wheel” to “motor”",
	}
	got := page.ChangeWords(m, c)
	for i := range max(len(got), len(want)) {
		if i >= len(got) || i >= len(want) || got[i] != want[i] {
			t.Fatalf("line %d of\n%q\nwant\n%q", i, got, want)
		}
	}
	if !slices.Equal(got, want) {
		t.Error("differs")
	}
}
