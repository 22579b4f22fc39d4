package wheel

import (
	"strings"
	"unicode"
)

// MaxSentID is how long an id that a sender gives may be, in bytes.
const MaxSentID = 64

// CheckSent refuses what was sent without an id by which it is known when it
// is sent again, or under a sender's name that is not one line. what names it
// in the sentence: "edit", "tap".
func CheckSent(what, id, by string) error {
	odd := func(r rune) bool { return unicode.IsControl(r) || unicode.IsSpace(r) || r == unicode.ReplacementChar }
	switch {
	case id == "":
		return Refuse(ErrInvalid, "the %[1]s has no id; without one it could not be told from the same %[1]s sent twice", what)
	case len(id) > MaxSentID:
		return Refuse(ErrInvalid, "the %s's id has %d bytes; %d at most", what, len(id), MaxSentID)
	case strings.ContainsFunc(id, odd):
		return Refuse(ErrInvalid, "the %s's id is %q; an id has no spaces and nothing but text", what, id)
	}
	return CheckLine("the name of who made the edit", by, MaxName)
}
