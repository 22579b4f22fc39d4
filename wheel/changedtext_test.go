package wheel_test

import (
	"errors"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pinwright/wheel"
)

// Everything of a file that is no figure and that differs is told, once.
func TestAChangeTellsWhatElseDiffers(t *testing.T) {
	m := withASecond(t)
	const reload = "channels.bar-c5.gate.reload_ms"
	m.Measured = []wheel.Measured{{Figure: "wheel.radius_mm", N: 3, U: wheel.Known(0.5), On: "2026-11-20", By: "Ada"}}
	if got := m.ChangedTexts(m.Clone()); got != nil {
		t.Errorf("against itself differs %v", got)
	}
	after := m.Clone()
	bar := &after.Channels[after.Channel("bar-c5")]
	bar.Name, bar.Note, bar.Plate, bar.Row, bar.Exit = "Bar C", "new felt", "plate-1", 40, []string{"chute-1", "drain"}
	after.Limits.HouseWhy = "the floor"
	after.Measured = []wheel.Measured{{Figure: reload, N: 10, SD: wheel.Known(8.1), How: "recording"}}
	after.Channels = after.Channels[:1]
	after.Lanes = append(after.Lanes, wheel.Lane{ID: "spare", Kind: wheel.Ramp, Note: "on the shelf"})
	after.Hoppers = []wheel.Hopper{{ID: "pit"}}
	after.Lift = wheel.Lift{}
	was := m.Channels[m.Channel("bar-c5")]
	want := []wheel.ChangedText{
		{Path: "channels.bar-c5.exit", From: strings.Join(was.Exit, ", "), To: "chute-1, drain"},
		{Path: "channels.bar-c5.name", From: "Bar C5", To: "Bar C"},
		{Path: "channels.bar-c5.note", From: was.Note, To: "new felt"},
		{Path: "channels.bar-c5.plate", To: "plate-1"},
		{Path: "channels.bar-c5.row", From: strconv.Itoa(was.Row), To: "40"},
		{Path: "channels.second", From: "Second"},
		{Path: "hoppers.pit", To: "pit"},
		{Path: "lanes.spare", To: "spare"},
		{Path: "lift.drive", From: m.Lift.Drive},
		{Path: "lift.share", From: m.Lift.Share},
		{Path: "limits.house_why", To: "the floor"},
		{Path: "measured." + reload, To: "n 10, spread 8.1 ms, recording"},
		{Path: "measured.wheel.radius_mm", From: "n 3, doubt 0.5 mm, 2026-11-20, Ada"},
	}
	got := m.ChangedTexts(after)
	slices.SortFunc(got, func(a, b wheel.ChangedText) int { return strings.Compare(a.Path, b.Path) })
	if !slices.Equal(got, want) {
		t.Errorf("differs\n%v\nwant\n%v", got, want)
	}
}

// Ids may have dots, so that one path can mean two things: it is told once.
func TestAPathIsToldOnce(t *testing.T) {
	m := withASecond(t)
	after := m.Clone()
	after.Channels[1].ID = after.Channels[0].ID + ".note"
	after.Channels[0].Note = "lined"
	seen := map[string]bool{}
	for _, c := range m.ChangedTexts(after) {
		if seen[c.Path] {
			t.Errorf("%s is listed twice", c.Path)
		}
		seen[c.Path] = true
	}
	if len(seen) == 0 {
		t.Error("nothing differs")
	}
}

func TestTheHouseLimitIsSetChangedAndTakenAway(t *testing.T) {
	m := hailstone(t) // 30 to 180 BPM, no house limit
	limited, err := m.WithHouse(wheel.Known(96), "  the frame shakes ")
	if err != nil || limited.Limits.HouseBPM != wheel.Known(96) || limited.Limits.HouseWhy != "the frame shakes" {
		t.Fatalf("%+v, %v", limited, err)
	}
	if m.Limits.HouseBPM.IsKnown() {
		t.Error("the machine itself was changed")
	}
	limited.Measured = []wheel.Measured{{Figure: "limits.house_bpm", U: wheel.Known(1)}, {Figure: "wheel.radius_mm", U: wheel.Known(1)}}
	again, err := limited.WithHouse(wheel.Known(96), "the floor") // the number is as it was
	if err != nil || again.Limits.HouseWhy != "the floor" || len(again.Measured) != 2 {
		t.Errorf("%+v, %v", again, err)
	}
	free, err := limited.WithHouse(wheel.Maybe{}, "not kept")
	if err != nil || free.Limits.HouseBPM.IsKnown() || free.Limits.HouseWhy != "" {
		t.Fatalf("%+v, %v", free, err)
	}
	if len(free.Measured) != 1 || free.Measured[0].Figure != "wheel.radius_mm" {
		t.Errorf("measured is %v", free.Measured)
	}
	for _, c := range []struct {
		bpm  wheel.Maybe
		why  string
		says string
	}{
		{wheel.Known(29), "slow", "limits.house_bpm is 29; it cannot be below tempo_min_bpm, 30: no tempo would be left"},
		{wheel.Known(-1), "slow", "limits.house_bpm is −1"},
		{wheel.Known(96), " ", "no reason"},
		{wheel.Maybe{}, "", "as they were"},
		{wheel.Known(96), strings.Repeat("e", 100_000), "limits.house_why"},
	} {
		if _, err := m.WithHouse(c.bpm, c.why); !errors.Is(err, wheel.ErrInvalid) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%v %.20q: %v, want a refusal that says %q", c.bpm, c.why, err, c.says)
		}
	}
}

// withASecond is the machine of hailstone with one channel more.
func withASecond(t *testing.T) *wheel.Machine {
	m := hailstone(t)
	second := m.Clone().Channels[0]
	second.ID, second.Name, second.Row = "second", "Second", 99
	m.Channels = append(m.Channels, second)
	return m
}
