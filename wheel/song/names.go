package song

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// maxNameRunes bounds a title or track name; a page has no room for more.
const maxNameRunes = 200

// cleanName makes text from a file fit to show: UTF-8 if it is valid, else ISO
// 8859-1, which old files mostly are; without controls, spaces around it, and
// anything past maxNameRunes.
func cleanName(text string) string {
	valid := utf8.ValidString(text)
	var b strings.Builder
	for i, n := 0, 0; i < len(text) && n < maxNameRunes; {
		r, size := rune(text[i]), 1
		if valid {
			r, size = utf8.DecodeRuneInString(text[i:])
		}
		i += size
		if unicode.IsSpace(r) {
			r = ' '
		}
		if !unicode.IsGraphic(r) || r == ' ' && n == 0 {
			continue
		}
		b.WriteRune(r)
		n++
	}
	return strings.TrimRight(b.String(), " ")
}

// titleOf makes a title of a file name: without folder and MIDI extension.
func titleOf(name string) string {
	name = name[strings.LastIndexAny(name, `/\`)+1:]
	for _, ext := range []string{".mid", ".midi", ".smf", ".rmi"} {
		if cut := len(name) - len(ext); cut >= 0 && strings.EqualFold(name[cut:], ext) {
			name = name[:cut]
			break
		}
	}
	if title := cleanName(name); title != "" {
		return title
	}
	return untitled
}
