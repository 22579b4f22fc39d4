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
	return Refuse(ErrConflict, "%s was changed by someone else meanwhile, and nothing was overwritten; look at it again, then repeat your change", name)
}

// CheckRevision refuses a change that started from another revision than the one
// that is kept of what has a name ([ErrConflict]).
func CheckRevision(name string, kept, from int) error {
	if kept != from {
		return ChangedMeanwhile(name)
	}
	return nil
}

// CheckName refuses a name for the machine with an id, 0 for a new one, where
// another has it; owner is the machine that has it, 0 for none ([ErrConflict]).
func CheckName(name string, id, owner int64) error {
	if owner != 0 && owner != id {
		return Refuse(ErrConflict, "there is a machine called %s already; pinning files name their machine, so every machine needs a name of its own", name)
	}
	return nil
}

// CheckUnused refuses to remove a machine that has pinnings ([ErrConflict]).
func CheckUnused(name string, pinnings int) error {
	switch {
	case pinnings == 1:
		return Refuse(ErrConflict, "%s has a pinning, which would go with it; remove that first", name)
	case pinnings > 1:
		return Refuse(ErrConflict, "%s has %d pinnings, which would go with it; remove them first", name, pinnings)
	}
	return nil
}
