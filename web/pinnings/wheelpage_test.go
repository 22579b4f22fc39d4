package pinnings_test

import (
	"regexp"
	"testing"

	"pinwright/timing"
	"pinwright/web"
	"pinwright/web/webtest"
)

// The face draws marks in the shapes that the page has of the rules.
func TestTheWheelsPageHasAShapeForEveryRule(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	_, page := a.Get(t, a.SetSong(t, "Nine Knocks", nil))
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
