package say_test

import (
	"errors"
	"testing"

	"pinwright/wheel/say"
)

func TestSentenceBeginsWithALargeLetterOfAnyScript(t *testing.T) {
	for text, want := range map[string]string{
		"étoile has no key": "Étoile has no key.",
		"the lane is long.": "The lane is long.",
		"鐘 has no key":      "鐘 has no key.",
		"\xff is no letter": "\xff is no letter.",
		"":                  "",
	} {
		if got := say.Sentence(errors.New(text)); got != want {
			t.Errorf("%q becomes %q, want %q", text, got, want)
		}
	}
}
