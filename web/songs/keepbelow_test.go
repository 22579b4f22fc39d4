package songs_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"pinwright/web"
	"pinwright/web/webtest"
	"pinwright/wheel"
	"pinwright/wheel/demo"
)

// Mill Race on Hailstone breaks no rule up to 113.2 BPM, and can be trusted to
// less: at 110 BPM it is close, at 84 it is trusted, at 120 not safe.
func TestASongsPageLeadsWithTheTempoToKeepBelow(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	song := fmt.Sprintf("/songs/%d?from_bar=1&transpose=0&advance=on", a.SongID(t, "Mill Race"))
	for tempo, want := range map[string][]string{
		"84":  {"keep below", "trusted"},
		"110": {"keep below", "110 BPM is close: about ", "Set "},
		"120": {"keep below", "Not safe at 120 BPM", "Set "},
	} {
		_, part := a.Part(t, song+"&tempo="+tempo)
		text := webtest.Said(part)
		for _, says := range want {
			if !strings.Contains(text, says) {
				t.Errorf("at %s BPM it does not say %q: %s", tempo, says, text)
			}
		}
		if strings.Contains(text, "afe to") || strings.Contains(text, "ighest safe") {
			t.Errorf("at %s BPM it leads with the bare limit: %s", tempo, text)
		}
	}
	_, part := a.Part(t, song+"&tempo=110&ease=on")
	if text := webtest.Said(part); !strings.Contains(text, "Keep below, before") || !strings.Contains(text, "bare limit 1") {
		t.Errorf("eased it says %s", text)
	}
}

// While a figure is unknown nothing is called safe: the page says what to measure
// first and leads to the machine, the setting is there, and easing is refused.
func TestASongsPageSaysWhatToMeasureFirst(t *testing.T) {
	a := webtest.Start(t, web.New)
	machine := webtest.MachineFile(t, func(m *wheel.Machine) {
		for i := range m.Channels {
			m.Channels[i].Gate = wheel.Gate{}
		}
	})
	if status, body := a.Bring(t, "/machines", "hailstone.json", machine); status != http.StatusSeeOther {
		t.Fatal(status, body)
	}
	if status, body := a.Bring(t, "/songs", demo.Songs()[0].FileName, demo.Songs()[0].Bytes); status != http.StatusSeeOther {
		t.Fatal(status, body)
	}
	_, part := a.Part(t, fmt.Sprintf("/songs/%d?from_bar=1&transpose=0&tempo=84&ease=on", a.SongID(t, "Mill Race")))
	webtest.Expect(t, http.StatusOK, part, http.StatusOK, "how fast is unknown", "Measure first: ", "notes get a pin", "nothing was eased")
	if !strings.Contains(part, `href="/machines/1"`) {
		t.Error("it does not lead to the machine")
	}
	for _, safe := range []string{"trusted at", "safe to", "keep below 1"} {
		if strings.Contains(webtest.Said(part), safe) {
			t.Errorf("it says %q: %s", safe, webtest.Said(part))
		}
	}
}
