package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// NIOSH 98-126, table 1-1: 88 dB(A) for 4 h, 100 dB(A) for 15 min. 90 dB(A) for 4
// h are 86.99 over 8 (worked by hand), above the upper action value.
func TestNoisePageTellsTheTimeAndTheActionValues(t *testing.T) {
	a := newApp(t)
	for _, c := range []struct {
		level, hours string
		says         []string
	}{
		{"88", "8", []string{">4 h 00 min</span>", "8 hours at 88 dB(A) are longer", "upper action value"}},
		{"100", "0,25", []string{">15 min 00 s</span>", "84.9 dB(A) over 8 hours is at or above the lower action value"}},
		{"90", "4", []string{"87 dB(A) over 8 hours is at or above the upper action value"}},
		{"82", "", []string{">16 h 00 min</span>", "82 dB(A) over 8 hours is at or above the lower action value"}},
		{"70", "8", []string{">a whole day</span>", "That is no clearance."}},
	} {
		status, body := a.get(t, "/noise?"+url.Values{"level": {c.level}, "hours": {c.hours}}.Encode())
		if status != http.StatusOK {
			t.Errorf("%s: %d", c.level, status)
		}
		for _, want := range append(c.says, "never a clearance", "local rules", "qualified") {
			if !strings.Contains(body, want) {
				t.Errorf("%s dB(A) for %s h: no %q", c.level, c.hours, want)
			}
		}
	}
	for _, c := range [][2]string{{"loud", "8"}, {"-1", "8"}, {"500", "8"}, {"NaN", "8"}, {"85", "0"}, {"85", "25"}, {"85", "NaN"}} {
		if status, body := a.get(t, "/noise?"+url.Values{"level": {c[0]}, "hours": {c[1]}}.Encode()); status != http.StatusOK || !strings.Contains(body, "it should be") {
			t.Errorf("%q: %d", c, status)
		}
	}
}
