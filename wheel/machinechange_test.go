package wheel_test

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"pinwright/wheel"
)

func TestAChangeListsTheFiguresThatDiffer(t *testing.T) {
	m := hailstone(t) // its bar C5 reloads in 140 ms, its marbles keep 2 mm apart
	const reload, clearance = "channels.bar-c5.gate.reload_ms", "marble.clearance_mm"
	after, changed, err := m.Change(
		wheel.Set{Path: reload, Value: 150}, wheel.Set{Path: "wheel.radius_mm", Value: 600}, // as it is
		wheel.Set{Path: clearance, Value: 3}, wheel.Set{Path: reload, Value: 160}) // the later one counts
	want := []wheel.ChangedFigure{{Path: clearance, From: wheel.Known(2), To: wheel.Known(3)}, {Path: reload, From: wheel.Known(140), To: wheel.Known(160)}}
	if err != nil || !slices.Equal(changed, want) {
		t.Fatalf("changed are %v, %v; want %v", changed, err, want)
	}
	if now, _ := after.Figure(reload); now.Value != 160 {
		t.Errorf("after it the reload is %g ms, want 160", now.Value)
	}
	if was, _ := m.Figure(reload); was.Value != 140 {
		t.Errorf("the machine itself was changed: its reload is %g ms", was.Value)
	}
}

// Only what both machines have can differ: a channel that went is no figure of a
// change.
func TestAChangeLeavesOutWhatOneMachineLacks(t *testing.T) {
	m := hailstone(t)
	after := m.Clone()
	after.Channels[0].ID = "other"
	after.Channels[0].Gate.ReloadMS = wheel.Known(1)
	after.Wheel.RadiusMM = 601
	want := []wheel.ChangedFigure{{Path: "wheel.radius_mm", From: wheel.Known(600), To: wheel.Known(601)}}
	if got := m.ChangedFigures(after); !slices.Equal(got, want) {
		t.Errorf("changed are %v, want %v", got, want)
	}
	if got := m.ChangedFigures(m); got != nil {
		t.Errorf("against itself changed are %v", got)
	}
}

func TestAChangeThatChangesNothingOrCannotBeIsRefused(t *testing.T) {
	m := hailstone(t)
	for _, c := range []struct {
		says string
		sets []wheel.Set
	}{
		{"leaves every figure as it is", nil},
		{"leaves every figure as it is", []wheel.Set{{Path: "wheel.radius_mm", Value: 600}}},
		{"cannot be kept: wheel.radius_mm", []wheel.Set{{Path: "wheel.radius_mm", Value: -1}}},
		{"cannot be kept: wheel.spokes is no figure", []wheel.Set{{Path: "wheel.spokes", Value: 1}}},
	} {
		if _, _, err := m.Change(c.sets...); !errors.Is(err, wheel.ErrInvalid) || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%v: %v, want a refusal that says %q", c.sets, err, c.says)
		}
	}
}

func TestAReasonIsOneLineOfWords(t *testing.T) {
	longest := strings.Repeat("é", wheel.MaxReason)
	for given, want := range map[string]string{"  New spring \n": "New spring", longest: longest} {
		if got, err := wheel.ChangeReason(given); err != nil || got != want {
			t.Errorf("%.20q: %.20q, %v; want %.20q", given, got, err, want)
		}
	}
	for _, bad := range []string{"", " \t ", "a\nb", longest + "e", "\xff"} {
		if _, err := wheel.ChangeReason(bad); !errors.Is(err, wheel.ErrInvalid) {
			t.Errorf("%.20q: %v, want a refusal", bad, err)
		}
	}
}
