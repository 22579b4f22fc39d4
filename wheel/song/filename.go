package song

import (
	"strings"
	"unicode"

	"pinwright/wheel"
)

// MaxFileName is how long the name of a file is kept, in characters.
const MaxFileName = 200

// FileName makes a file's name from outside fit to keep and show: no folder, no
// control characters, of ordinary length.
func FileName(name string) string {
	name = name[strings.LastIndexAny(name, `/\`)+1:]
	name = shown(name)
	if runes := []rune(name); len(runes) > MaxFileName {
		name = string(runes[:MaxFileName])
	}
	if name = strings.TrimSpace(name); name == "" {
		return "song.mid"
	}
	return name
}

// MaxTitle is how long the title of a song may be, in characters.
const MaxTitle = maxNameRunes

// Title makes a title that somebody typed fit to keep and show. It refuses an
// empty one, and one that is too long.
func Title(text string) (string, error) {
	title := strings.TrimSpace(shown(text))
	switch n := len([]rune(title)); {
	case title == "":
		return "", wheel.Refuse(wheel.ErrInvalid, "The title is empty; a song needs one.")
	case n > MaxTitle:
		return "", wheel.Refuse(wheel.ErrInvalid, "The title has %d characters; %d are the most.", n, MaxTitle)
	}
	return title, nil
}

// shown is text from outside without what cannot be shown.
func shown(text string) string {
	return strings.Map(func(r rune) rune {
		if !unicode.IsGraphic(r) || r == unicode.ReplacementChar {
			return -1
		}
		return r
	}, text)
}
