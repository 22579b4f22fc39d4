package web

import (
	"net/url"
	"strings"
	"testing"

	"pinwright/web/webtest"
	"pinwright/wheel/song"
)

// Hailstone turns at 30 to 180 BPM; nothing limits eight knocks a bar apart
// below that. At 200 BPM no rule is broken, and still nothing is safe.
func TestNoPageCallsATempoSafeThatTheMachineDoesNotTurnAt(t *testing.T) {
	a := webtest.StartDemo(t, New)
	var notes []song.Note
	for bar := range int64(8) {
		notes = append(notes, webtest.Note(1, bar*4, 72))
	}
	path := strings.TrimPrefix(a.AddSong(t, "Slow Sluice", 8*4*96, notes...), a.URL)
	const safe = `<span class="safe">`
	for tempo, want := range map[string]string{"200": "faster than the machine turns", "20": "slower than the machine turns"} {
		for _, ease := range []string{"", "&ease=on"} {
			_, body := a.Get(t, path+"?from_bar=1&transpose=0&tempo="+tempo+ease)
			if strings.Contains(body, safe) || !strings.Contains(body, want) {
				t.Errorf("the song at %s BPM%s: safe %t, %q %t", tempo, ease, strings.Contains(body, safe), want, strings.Contains(body, want))
			}
		}
		status, pinning := a.Post(t, path+"/pinnings", url.Values{"from_bar": {"1"}, "transpose": {"0"}, "tempo": {tempo}})
		if status != 303 {
			t.Fatalf("%d: %s", status, pinning)
		}
		for _, page := range []string{pinning, pinning + "/verdict?tempo=" + tempo, pinning + "/timing", "/pinnings", "/"} {
			if _, body := a.Get(t, page); strings.Contains(body, safe) || !strings.Contains(body, want) {
				t.Errorf("%s at %s BPM: safe %t, %q %t", page, tempo, strings.Contains(body, safe), want, strings.Contains(body, want))
			}
		}
		if _, body := a.Get(t, pinning+"?tempo=100"); !strings.Contains(body, safe) {
			t.Error("at 100 BPM it is not said to be safe")
		}
	}
}
