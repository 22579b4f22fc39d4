package visitors_test

import (
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"testing"

	"pinwright/web"
	"pinwright/web/webtest"
)

// NIOSH 98-126, table 1-1: 88 dB(A) for 4 h, 100 dB(A) for 15 min. By 10 lg(T/8
// h), half the time is 3.0103 dB less: 90 dB(A) for 4 h are 86.9897 over 8, 88 for
// 4 h and 91 for 2 h (6.0206 dB less) are 84.9897 and 84.9794 (worked by hand). 80
// dB(A) would have 25.4 h, 8 × 2^(5/3). The action values are those of Directive
// 2003/10/EC, article 3: 80 and 85 dB(A), each reached by a level as high.
func TestNoisePageTellsTheTimeAndTheActionValues(t *testing.T) {
	a := webtest.Start(t, web.New)
	const (
		both  = " dB(A) over 8 hours is at or above both action values of Directive 2003/10/EC, the lower of 80 dB(A) and the upper of 85."
		lower = " dB(A) over 8 hours is at or above the lower action value of Directive 2003/10/EC, 80 dB(A), and below the upper one, 85 dB(A)."
		below = " dB(A) over 8 hours is below the lower action value of Directive 2003/10/EC, 80 dB(A). That clears nobody to stay there."
		quiet = " dB(A)</span> does not use up a day’s recommended noise within 24 hours"
	)
	for _, c := range []struct {
		level, hours string
		says         []string
	}{
		{"88", "8", []string{">4 h 00 min</span> at 88 dB(A) uses up", "8 hours at 88 dB(A) is longer", ">88" + both}},
		{"100", "0,25", []string{">15 min 00 s</span>", ">84.9" + lower}},
		{"90", "4", []string{">87" + both}},
		{"82", "", []string{">16 h 00 min</span>", ">82" + lower}},
		{"70", "8", []string{">70" + quiet, ">70" + below}},
		{"80", "8", []string{">80" + quiet, ">80" + lower}},
		{"60", "8", []string{">60" + quiet, ">60" + below}},
		{"0", "8", []string{">0" + quiet, ">0" + below}},
		{"80.3", "8", []string{">23 h ", "at 80.3 dB(A) uses up"}},
		{"84.96", "8", []string{">84.96" + lower}},
		{"88", "4", []string{">84.99" + lower}},
		{"91", "2", []string{">84.98" + lower}},
		{"84.99999", "8", []string{">84.99999" + lower, " at 84.99999 dB(A) uses up"}},
		{"85", "8", []string{">8 h 00 min</span>", ">85" + both}},
		{"85.04", "8", []string{">85.04" + both}},
		{"95", "0.8", []string{">85" + both}}, // a tenth of 8 h is 10 dB less
		{"79.97", "8", []string{">79.97" + below}},
		{"80.001", "8", []string{">80.001" + lower}},
		{"1e-320", "0.017", []string{">0" + quiet}},
	} {
		status, body := a.Get(t, "/noise?"+url.Values{"level": {c.level}, "hours": {c.hours}}.Encode())
		if status != http.StatusOK {
			t.Errorf("%s: %d", c.level, status)
		}
		for _, want := range append(c.says, "never a clearance", "local rules", "qualified") {
			if !strings.Contains(body, want) {
				t.Errorf("%s dB(A) for %s h: no %q", c.level, c.hours, want)
			}
		}
	}
	for _, c := range [][2]string{{"loud", "8"}, {"-1", "8"}, {"500", "8"}, {"NaN", "8"}, {"85", "0"}, {"85", "25"}, {"85", "NaN"}, {"85", "1e-300"}, {"85", "0.016"}} {
		if status, body := a.Get(t, "/noise?"+url.Values{"level": {c[0]}, "hours": {c[1]}}.Encode()); status != http.StatusOK || !strings.Contains(body, "it should be") || strings.Contains(body, "Inf") {
			t.Errorf("%q: %d", c, status)
		}
	}
	if _, body := a.Get(t, "/noise?level=85&hours=0.0167"); !strings.Contains(body, ">8 h 00 min</span>") {
		t.Error("a minute is refused")
	}
}

// NIOSH 98-126, table 1-1; 80 dB(A) has 25 h 24 min there, longer than a day.
func TestNoisePageHasTheTableOfDurations(t *testing.T) {
	_, body := webtest.Start(t, web.New).Get(t, "/noise")
	var rows []string
	for _, found := range regexp.MustCompile(`<th scope="row">([^<]+)</th><td class="num">([^<]+)</td>`).FindAllStringSubmatch(body, -1) {
		rows = append(rows, found[1]+": "+found[2])
	}
	want := []string{
		"80: more than a day", "82: 16 h 00 min", "85: 8 h 00 min", "88: 4 h 00 min", "91: 2 h 00 min", "94: 1 h 00 min",
		"97: 30 min 00 s", "100: 15 min 00 s", "103: 7 min 30 s", "106: 3 min 45 s",
	}
	if !slices.Equal(rows, want) {
		t.Errorf("the page's table is\n%s\nwant\n%s", strings.Join(rows, "\n"), strings.Join(want, "\n"))
	}
}

func TestNoisePageNamesEveryWrongField(t *testing.T) {
	a := webtest.Start(t, web.New)
	_, body := a.Get(t, "/noise?level=loud&hours=long")
	for _, want := range []string{"The level is &#34;loud&#34;; it should be a number of dB(A), 0 to 140.", "The time is &#34;long&#34;; it should be from 0.017 (a minute) to 24 hours."} {
		if !strings.Contains(body, want) {
			t.Errorf("%q is not said", want)
		}
	}
}
