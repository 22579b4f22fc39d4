package pinnings_test

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"pinwright/web"
	"pinwright/web/webtest"
	"pinwright/wheel"
)

// A title and a file in place of a pinning are edits: pages that have it open
// read it again, and undo takes them back.
func TestPinningIsRenamedAndReplacedAndUndone(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	id := knocks(t, a)
	path := fmt.Sprintf("/pinnings/%d", id)
	open := a.Connect(t, id)
	open.Send(t, `{"do": "open", "after": 0}`)
	open.Until(t, "state")
	if status, to := a.Post(t, path+"/title", url.Values{"title": {" Nine Knocks, slow "}}); status != http.StatusSeeOther {
		t.Fatalf("%d: %s", status, to)
	}
	open.Until(t, "anew")
	p, err := a.Store.Pinning(context.Background(), id)
	if err != nil || p.Title != "Nine Knocks, slow" {
		t.Fatalf("%+v, %v", p, err)
	}
	was := len(p.File.Pins)
	for _, title := range []string{"", strings.Repeat("x", wheel.MaxName+1), "a\nb"} {
		status, page := a.Post(t, path+"/title", url.Values{"title": {title}})
		if status != http.StatusUnprocessableEntity || !strings.Contains(webtest.Said(page), "title") {
			t.Errorf("the title %.20q: %d %s", title, status, webtest.Said(page))
		}
	}

	file := `{"format": "pinwright-pinning/1", "title": "Two", "machine": "Hailstone", "tempo_bpm": 60, "pins": [{"step": 4, "channel": %q}, {"step": 9, "channel": "bar-c5"}]}`
	status, page := a.Bring(t, path+"/file", "two.json", fmt.Appendf(nil, file, "bar-x9"))
	webtest.Expect(t, status, page, 422, "two.json", `pins[0].channel is "bar-x9"`)
	status, page = a.Bring(t, path+"/file", "two.mid", []byte("MThd"))
	webtest.Expect(t, status, page, 422, "two.mid is a MIDI file")
	status, page = a.Bring(t, "/pinnings/99/file", "two.json", fmt.Appendf(nil, file, "bar-c5"))
	webtest.Expect(t, status, page, 404, "pinning")
	if p, err := a.Store.Pinning(context.Background(), id); err != nil || len(p.File.Pins) != was || p.Seq != 1 {
		t.Errorf("after what was refused: %d pins, edit %d, %v", len(p.File.Pins), p.Seq, err)
	}
	if status, to := a.Bring(t, path+"/file", "two.json", fmt.Appendf(nil, file, "bar-c5")); status != http.StatusSeeOther {
		t.Fatalf("%d: %s", status, to)
	}
	open.Until(t, "anew")
	open.Send(t, `{"do": "open", "after": 2}`)
	if h := open.Until(t, "state"); h.Undo == nil || h.Undo.Words != "bring in another file" {
		t.Errorf("undo would take back %+v", h.Undo)
	}
	open.Send(t, `{"do": "undo", "id": "u1"}`)
	open.Until(t, "edit")
	if p, err := a.Store.Pinning(context.Background(), id); err != nil || len(p.File.Pins) != was || p.Title != "Nine Knocks, slow" {
		t.Errorf("undone: %d pins of %q, %v", len(p.File.Pins), p.Title, err)
	}
}
