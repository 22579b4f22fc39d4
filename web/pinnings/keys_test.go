package pinnings

import (
	"io/fs"
	"regexp"
	"strings"
	"testing"

	"pinwright/static"
)

// The page lists the keys that the face listens to. The script has a second name
// for a key that a keyboard may send in another way.
func TestThePageListsEveryKeyOfTheFace(t *testing.T) {
	text, err := fs.ReadFile(static.Files, "js/desk/hands.js")
	if err != nil {
		t.Fatal(err)
	}
	_, after, _ := strings.Cut(string(text), "static keys = {")
	list, _, ok := strings.Cut(after, "};")
	if !ok {
		t.Fatal("js/desk/hands.js has no list of keys")
	}
	listed := map[string]bool{}
	for _, row := range faceKeys {
		for _, key := range row.Keys {
			listed[strings.ToLower(key)] = true
		}
	}
	again := map[string]bool{"backspace": true, "shift +": true, "shift =": true}
	n := 0
	for _, key := range regexp.MustCompile(`(?m)^\s*"?([^\s":]+)"?: "`).FindAllStringSubmatch(list, -1) {
		name := strings.ToLower(strings.Replace(key[1], "Shift+", "Shift ", 1))
		name = strings.Replace(name, "-", "−", 1)
		if n++; !listed[name] && !again[name] {
			t.Errorf("the face listens to %q, which the page does not list: %v", name, listed)
		}
	}
	if n < 15 {
		t.Errorf("%d keys were read from js/desk/hands.js", n)
	}
}
