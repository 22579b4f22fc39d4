package draw

import (
	"strings"
	"unicode"
)

// Widths of characters as fractions of the type size. They are estimates on
// the wide side, of the pages' typeface and of those that stand in for it.
const (
	thinWide  = 0.34 // i, l, comma
	wideWide  = 0.95 // m, w, and their like
	digitWide = 0.62
	lowerWide = 0.60
	upperWide = 0.74
	otherWide = 0.72 // other alphabets
	ideoWide  = 1.05 // East Asian characters
	pictoWide = 1.45 // pictures
)

func runeWidth(r rune) float64 {
	switch {
	case r < ' ' || unicode.Is(unicode.Mn, r) || unicode.Is(unicode.Cf, r):
		return 0
	case strings.ContainsRune("iljtfr.,;:'!|()[] \u00a0°", r):
		return thinWide + 0.04
	case strings.ContainsRune("mwMW@%—…", r):
		return wideWide
	case r >= '0' && r <= '9':
		return digitWide
	case r >= 'a' && r <= 'z' || r == '-':
		return lowerWide
	case r < 0x250:
		return upperWide
	case r >= 0x1f000:
		return pictoWide
	case r >= 0x1100:
		return ideoWide
	}
	return otherWide
}

// textWidth estimates how wide a text is, in pixels, and never too little for
// the typefaces that it is shown in.
func textWidth(text string, sizePX float64) float64 {
	sum := 0.0
	for _, r := range text {
		sum += runeWidth(r)
	}
	return sum * sizePX
}

// cut is as much of a text as a width has room for.
func cut(text string, sizePX, wide float64) string {
	if textWidth(text, sizePX) <= wide {
		return text
	}
	left := wide - textWidth("…", sizePX)
	for i, r := range text {
		if left -= runeWidth(r) * sizePX; left < 0 {
			return strings.TrimRight(text[:i], " ,") + "…"
		}
	}
	return text
}

// nbsp keeps a number and its unit on one line.
const nbsp = "\u00a0"

// wrap breaks a text at its spaces into lines no wider than a width; a word
// that is wider alone is cut.
func wrap(text string, sizePX, wide float64) []string {
	var lines []string
	line := ""
	for _, word := range strings.Split(text, " ") {
		switch {
		case line == "":
			line = word
		case textWidth(line+" "+word, sizePX) <= wide:
			line += " " + word
		default:
			lines = append(lines, cut(line, sizePX, wide))
			line = word
		}
	}
	if line != "" {
		lines = append(lines, cut(line, sizePX, wide))
	}
	return lines
}
