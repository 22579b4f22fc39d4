package song

import (
	"path/filepath"
	"slices"
	"strings"
)

// Endings are those of the names that Standard MIDI Files go by: .mid and .midi
// (IANA, audio/midi; common practice), .smf, .kar with lyrics, .rmi in RIFF.
var Endings = []string{".mid", ".midi", ".smf", ".kar", ".rmi"}

// NamedSo reports whether a file is a MIDI file by its name, in capitals or not.
func NamedSo(name string) bool {
	return slices.Contains(Endings, strings.ToLower(filepath.Ext(name)))
}
