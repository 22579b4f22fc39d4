package noise

import (
	"strings"
	"testing"
	"time"
)

// By 10 lg(T/8 h), half the time is 3.0103 dB less: 88 dB(A) for 4 h are 84.9897
// over 8 h; a tenth of the time is 10 dB less (worked by hand). The action values
// are those of Directive 2003/10/EC, article 3, each reached by a level as high.
func TestStayIsJudgedByTheActionValues(t *testing.T) {
	for _, c := range []struct {
		level, hours float64
		daily        string
		says         []string
	}{
		{88, 8, "88", []string{"8 hours at 88 dB(A) is longer than the time that uses up a day’s recommended noise, 4 h 00 min.", "at or above both"}},
		{88, 4, "84.99", []string{"at or above the lower"}},
		{85, 8, "85", []string{"at or above both"}},
		{95, 0.8, "85", []string{"longer than", "at or above both"}},
		{80, 8, "80", []string{"at or above the lower"}},
		{79.97, 8, "79.97", []string{"below the lower"}},
		{84.99999, 8, "84.99999", []string{"at or above the lower"}},
	} {
		says := StayAt(c.level, time.Duration(c.hours*float64(time.Hour))).Sentences()
		if len(says) != len(c.says) {
			t.Errorf("%g dB(A) for %g h: %q", c.level, c.hours, says)
			continue
		}
		for i, want := range c.says {
			if !strings.Contains(says[i], want) {
				t.Errorf("%g dB(A) for %g h: %q, want %q", c.level, c.hours, says[i], want)
			}
		}
		if last := says[len(says)-1]; !strings.HasPrefix(last, c.daily+" dB(A) over 8 hours is ") {
			t.Errorf("%g dB(A) for %g h: %q, want %s", c.level, c.hours, last, c.daily)
		}
	}
}

func TestTimesOfExposureAreNeverToldLonger(t *testing.T) {
	for d, want := range map[time.Duration]string{
		25 * time.Hour: "more than a day", 24*time.Hour - time.Nanosecond: "23 h 59 min", time.Hour: "1 h 00 min",
		time.Hour - time.Nanosecond: "59 min 59 s", 2*time.Second - 1: "1 s", time.Second - 1: "under a second",
	} {
		if got := TimeText(d); got != want {
			t.Errorf("%v is %q, want %q", d, got, want)
		}
	}
}
