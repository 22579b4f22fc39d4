package wheel

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// CheckLine refuses a text that is not one line of at most so many characters.
// what names it in the sentence.
func CheckLine(what, text string, most int) error {
	if n := utf8.RuneCountInString(text); n > most {
		return Refuse(ErrInvalid, "%s has %d characters; %d at most", what, n, most)
	}
	if !utf8.ValidString(text) || strings.ContainsFunc(text, unicode.IsControl) {
		return Refuse(ErrInvalid, "%s has characters that are not text; write it in one line", what)
	}
	return nil
}

// ChangedMeanwhile refuses a change that started from an earlier state of what
// has a name.
func ChangedMeanwhile(name string) error {
	return Refuse(ErrConflict, "%s was changed by someone else meanwhile, and nothing was overwritten; look at it anew and make your change again", name)
}
