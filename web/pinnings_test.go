package web

import (
	"context"
	"fmt"
	"io/fs"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"pinwright/static"
	"pinwright/timing"
	"pinwright/wheel"
)

// A title and a file in place of a pinning are edits: pages that have it open
// read it anew, and undo takes them back.
func TestPinningIsRenamedAndReplacedAndUndone(t *testing.T) {
	a := newDemo(t)
	id := a.knocks(t)
	path := fmt.Sprintf("/pinnings/%d", id)
	open := a.talk(t, id)
	open.say(`{"do": "open", "after": 0}`)
	open.until("state")
	if status, to := a.post(t, path+"/title", url.Values{"title": {" Nine Knocks, slow "}}); status != http.StatusSeeOther {
		t.Fatalf("%d: %s", status, to)
	}
	open.until("anew")
	p, err := a.store.Pinning(context.Background(), id)
	if err != nil || p.Title != "Nine Knocks, slow" {
		t.Fatalf("%+v, %v", p, err)
	}
	was := len(p.File.Pins)
	for _, title := range []string{"", strings.Repeat("x", wheel.MaxName+1), "a\nb"} {
		status, page := a.post(t, path+"/title", url.Values{"title": {title}})
		if status != http.StatusUnprocessableEntity || !strings.Contains(said(page), "title") {
			t.Errorf("the title %.20q: %d %s", title, status, said(page))
		}
	}

	file := `{"format": "pinwright-pinning/1", "title": "Two", "machine": "Hailstone", "tempo_bpm": 60, "pins": [{"step": 4, "channel": %q}, {"step": 9, "channel": "bar-c5"}]}`
	status, page := a.bring(t, path+"/file", "two.json", fmt.Appendf(nil, file, "bar-x9"))
	expect(t, status, page, 422, "two.json", `pins[0].channel is "bar-x9"`)
	status, page = a.bring(t, path+"/file", "two.mid", []byte("MThd"))
	expect(t, status, page, 422, "two.mid is a MIDI file")
	status, page = a.bring(t, "/pinnings/99/file", "two.json", fmt.Appendf(nil, file, "bar-c5"))
	expect(t, status, page, 404, "pinning")
	if p, err := a.store.Pinning(context.Background(), id); err != nil || len(p.File.Pins) != was || p.Seq != 1 {
		t.Errorf("after what was refused: %d pins, edit %d, %v", len(p.File.Pins), p.Seq, err)
	}
	if status, to := a.bring(t, path+"/file", "two.json", fmt.Appendf(nil, file, "bar-c5")); status != http.StatusSeeOther {
		t.Fatalf("%d: %s", status, to)
	}
	open.until("anew")
	open.say(`{"do": "open", "after": 2}`)
	if h := open.until("state"); h.Undo == nil || h.Undo.Words != "bring in another file" {
		t.Errorf("undo would take back %+v", h.Undo)
	}
	open.say(`{"do": "undo", "id": "u1"}`)
	open.until("edit")
	if p, err := a.store.Pinning(context.Background(), id); err != nil || len(p.File.Pins) != was || p.Title != "Nine Knocks, slow" {
		t.Errorf("undone: %d pins of %q, %v", len(p.File.Pins), p.Title, err)
	}
}

// The page tells the keys that the face listens to. Twice named in the script
// are keys that a keyboard may send in another way.
func TestEveryKeyOfTheFaceIsTold(t *testing.T) {
	text, err := fs.ReadFile(static.Files, "js/desk/hands.js")
	if err != nil {
		t.Fatal(err)
	}
	_, after, _ := strings.Cut(string(text), "static keys = {")
	list, _, ok := strings.Cut(after, "};")
	if !ok {
		t.Fatal("js/desk/hands.js has no list of keys")
	}
	told := map[string]bool{}
	for _, row := range faceKeys {
		for _, key := range row.Keys {
			told[strings.ToLower(key)] = true
		}
	}
	again := map[string]bool{"backspace": true, "shift +": true, "shift =": true}
	n := 0
	for _, key := range regexp.MustCompile(`(?m)^\s*"?([^\s":]+)"?: "`).FindAllStringSubmatch(list, -1) {
		name := strings.ToLower(strings.Replace(key[1], "Shift+", "Shift ", 1))
		name = strings.Replace(name, "-", "−", 1)
		if n++; !told[name] && !again[name] {
			t.Errorf("the face listens to %q, which the page does not tell: %v", name, told)
		}
	}
	if n < 15 {
		t.Errorf("%d keys were read from js/desk/hands.js", n)
	}
}

// The face draws marks in the shapes that the page has of the rules.
func TestTheWheelsPageHasAShapeForEveryRule(t *testing.T) {
	a := newDemo(t)
	_, page := a.get(t, a.keepPinning(t, "Nine Knocks", nil))
	shapes := map[string]string{}
	for _, option := range regexp.MustCompile(`<option value="([^"]*)" data-mark="([^"]*)"`).FindAllStringSubmatch(page, -1) {
		shapes[option[1]] = option[2]
	}
	words := []string{"missed"}
	for _, k := range timing.Kinds() {
		words = append(words, k.String())
	}
	seen := map[string]string{}
	for _, word := range words {
		shape := shapes[word]
		if shape == "" || seen[shape] != "" {
			t.Errorf("%s has the shape %q, which %q has too", word, shape, seen[shape])
		}
		seen[shape] = word
	}
	if len(shapes) != len(words) {
		t.Errorf("the page has %d shapes, want %d: %v", len(shapes), len(words), shapes)
	}
}
