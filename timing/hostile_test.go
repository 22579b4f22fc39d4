package timing

import (
	"fmt"
	"strings"
	"testing"

	"pinwright/wheel"
)

// A machine may be as large as the file format lets it; what it asks to be
// worked out may not be without end.
func TestLanesThatCannotBeWorkedOutAreRefused(t *testing.T) {
	w, _ := busy(t, 64, 1024, 10)
	m := w.Machine.Clone()
	m.Lanes[0].LengthMM, m.Lanes[0].SlopeDeg = wheel.Known(1e6), wheel.Known(0.5) // a kilometre
	m.Limits.TempoMaxBPM, m.Wheel.StepsPerBeat = wheel.MaxTempoBPM, 96
	_, err := Compile(m)
	if err == nil || !strings.Contains(err.Error(), "lane") {
		t.Errorf("said %v", err)
	}
}

func TestFindingsEndAtTheirMost(t *testing.T) {
	w, p := busy(t, 64, 1024, 64*1024)
	found := must(w.Turn(p)).Findings(180, nil)
	if len(found) != MaxFindings {
		t.Errorf("%d findings, want %d", len(found), MaxFindings)
	}
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(fmt.Sprint(err))
	}
	return v
}
