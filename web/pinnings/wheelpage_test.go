package pinnings_test

import (
	"encoding/json"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"pinwright/timing"
	"pinwright/web"
	"pinwright/web/page"
	"pinwright/web/webtest"
)

// Worked by hand: step 40 is the 11th beat of four steps: beat 2 of the fourth bar
// of three beats, where in bars of four it is beat 3 of the third.
func TestAPinningIsCountedInItsOwnBars(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	id := knocks(t, a)
	path := page.PinningURL(id)
	status, answer := a.Post(t, path+"/bars", url.Values{"beats": {"3"}})
	webtest.Expect(t, status, answer, http.StatusSeeOther, path)
	var face struct {
		Beat int `json:"steps_per_beat"`
		Bar  int `json:"beats_per_bar"`
	}
	if _, text := a.Get(t, path+"/wheel.json"); json.Unmarshal([]byte(text), &face) != nil || face.Beat != 4 || face.Bar != 3 {
		t.Errorf("the face is ruled in %+v, want 3 beats of 4 steps", face)
	}
	one := a.Connect(t, id)
	one.Send(t, `{"do": "open", "after": 1}`)
	one.Until(t, "state")
	one.Send(t, `{"do": "edit", "id": "e1", "base": 1, "kind": "drive", "words": "drive", "changes": [{"channel": "tube-d3", "step": 40, "now": {}}, {"channel": "tube-d3", "step": 41, "now": {}}]}`)
	if v := one.Until(t, "verdict"); !strings.Contains(v.Made, "Tube D3, bar 4 beat 2") {
		t.Errorf("the verdict says %q, want it at bar 4 beat 2", v.Made)
	}
	if _, text := a.Get(t, path+"/timing"); !strings.Contains(webtest.Said(text), "bar 4 beat 2") {
		t.Error("the page of its limits does not name bar 4 beat 2")
	}
	for _, beats := range []string{"0", "65", "three", ""} {
		if status, _ := a.Post(t, path+"/bars", url.Values{"beats": {beats}}); status < 400 {
			t.Errorf("bars of %q beats are answered with %d", beats, status)
		}
	}
}

// The face draws marks in the shapes that the page has of the rules.
func TestTheWheelsPageHasAShapeForEveryRule(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	_, text := a.Get(t, a.SetSong(t, "Nine Knocks", nil))
	shapes := map[string]string{}
	for _, option := range regexp.MustCompile(`<option value="([^"]*)" data-mark="([^"]*)"`).FindAllStringSubmatch(text, -1) {
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
