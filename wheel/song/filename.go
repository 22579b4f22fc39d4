package song

import (
	"strings"
	"unicode"
)

// MaxFileName is how long the name of a file is kept, in characters.
const MaxFileName = 200

// FileName makes a file's name from outside fit to keep and show: no folder, no
// control characters, of ordinary length.
func FileName(name string) string {
	name = name[strings.LastIndexAny(name, `/\`)+1:]
	name = strings.Map(func(r rune) rune {
		if !unicode.IsGraphic(r) || r == unicode.ReplacementChar {
			return -1
		}
		return r
	}, name)
	if runes := []rune(name); len(runes) > MaxFileName {
		name = string(runes[:MaxFileName])
	}
	if name = strings.TrimSpace(name); name == "" {
		return "song.mid"
	}
	return name
}
