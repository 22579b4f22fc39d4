package say

import "testing"

// From an hour on a second more is a minute more, as it is for work.
func TestSpansAreToldInWholeMinutesUpFromAnHour(t *testing.T) {
	for s, want := range map[float64]string{0: "0 s", 59.4: "59 s", 60: "1 min", 95.6: "1 min 36 s", 3599: "59 min 59 s", 3600: "1 h 00 min", 6525: "1 h 49 min", 6541: "1 h 50 min"} {
		if got := Span(s); got != want {
			t.Errorf("%g s are %q, want %q", s, got, want)
		}
	}
	for m, want := range map[float64]string{0: "0 minutes", 0.1: "1 minute", 1: "1 minute", 59.1: "1 h 00 min", 60: "1 h 00 min", 105.2: "1 h 46 min"} {
		if got := Minutes(m); got != want {
			t.Errorf("%g minutes are %q, want %q", m, got, want)
		}
	}
}
