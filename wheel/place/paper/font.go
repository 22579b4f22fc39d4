package paper

import (
	"embed"
	"encoding/binary"
	"strings"
	"sync"
	"unicode"
)

//go:embed fonts/*.ttf
var fontFiles embed.FS

// face is a TrueType font: which characters it has and how wide they are.
type face struct {
	file    []byte
	glyph   map[rune]int
	advance []uint16 // by glyph, in units of the em
	em      float64
}

var regular, bold = lazyFace("DejaVuSans.ttf"), lazyFace("DejaVuSans-Bold.ttf")

func lazyFace(name string) func() *face {
	return sync.OnceValue(func() *face {
		file, err := fontFiles.ReadFile("fonts/" + name)
		if err != nil {
			panic(err) // it is part of the program
		}
		return readFace(file)
	})
}

// readFace reads the tables head, hhea, hmtx and cmap (subtables of format 4,
// the basic plane) of one of our own fonts (ISO/IEC 14496-22).
func readFace(file []byte) *face {
	u16 := func(b []byte, at int) int { return int(binary.BigEndian.Uint16(b[at:])) }
	u32 := func(b []byte, at int) int { return int(binary.BigEndian.Uint32(b[at:])) }
	tables := map[string][]byte{}
	for i := range u16(file, 4) {
		entry := file[12+16*i:]
		tables[string(entry[:4])] = file[u32(entry, 8) : u32(entry, 8)+u32(entry, 12)]
	}
	f := &face{file: file, glyph: map[rune]int{}, em: float64(u16(tables["head"], 18))}
	for i := range u16(tables["hhea"], 34) {
		f.advance = append(f.advance, uint16(u16(tables["hmtx"], 4*i)))
	}
	cmap := tables["cmap"]
	for i := range u16(cmap, 2) {
		sub := cmap[u32(cmap, 4+8*i+4):]
		if u16(sub, 0) != 4 {
			continue
		}
		segments := u16(sub, 6) / 2
		ends, starts := sub[14:], sub[16+2*segments:]
		deltas, offsets := starts[2*segments:], starts[4*segments:]
		for s := range segments {
			for r := u16(starts, 2*s); r <= u16(ends, 2*s) && r < 0xffff; r++ {
				glyph := r
				if offset := u16(offsets, 2*s); offset != 0 {
					glyph = u16(offsets, 2*s+offset+2*(r-u16(starts, 2*s)))
				}
				if glyph = (glyph + u16(deltas, 2*s)) & 0xffff; glyph != 0 {
					f.glyph[rune(r)] = glyph
				}
			}
		}
	}
	return f
}

// widthMM is how wide text is set, in mm, at a size in points.
func (f *face) widthMM(text string, pt float64) float64 {
	units := 0
	for _, r := range text {
		if set, _ := f.set(r); set >= 0 {
			units += int(f.advance[min(f.glyph[set], len(f.advance)-1)])
		}
	}
	return float64(units) / f.em * pt * MMPerPoint
}

// MMPerPoint is a point, 1/72 inch, in mm.
const MMPerPoint = 25.4 / 72

// lacking stands for a character that cannot be set.
const lacking = '□'

// unshaped are scripts whose letters run from right to left, join or reorder,
// which takes more than setting one glyph after another.
var unshaped = []*unicode.RangeTable{
	unicode.Arabic, unicode.Hebrew, unicode.Syriac, unicode.Thaana, unicode.Nko, unicode.Samaritan, unicode.Mandaic,
	unicode.Lao, unicode.Thai, unicode.Khmer, unicode.Myanmar, unicode.Tibetan, unicode.Mongolian, unicode.Devanagari,
	unicode.Bengali, unicode.Gurmukhi, unicode.Gujarati, unicode.Oriya, unicode.Tamil, unicode.Telugu, unicode.Kannada,
	unicode.Malayalam, unicode.Sinhala,
}

// set is the character that is set for r: itself, □ where it lacks, or −1, none,
// for what cannot be seen, such as a joiner.
func (f *face) set(r rune) (set rune, has bool) {
	const softHyphen = '\u00ad'
	_, has = f.glyph[r]
	switch {
	case has && r < 0x500 && r != softHyphen: // Latin, Greek, Cyrillic
		return r, true
	case unicode.In(r, unicode.Cf, unicode.Variation_Selector):
		return -1, true
	case has && !unicode.In(r, unshaped...):
		return r, true
	}
	return lacking, false
}

// settable is text with a □ for each character that cannot be set, and whether
// there are any.
func (f *face) settable(text string) (set string, lacks bool) {
	set = strings.Map(func(r rune) rune {
		to, has := f.set(r)
		lacks = lacks || !has
		return to
	}, text)
	return set, lacks
}

// Font is a face at a size in points.
type Font struct {
	Bold bool
	Pt   float64
}

// Regular and Bold are the two faces at a size in points.
func Regular(pt float64) Font { return Font{Pt: pt} }
func Bold(pt float64) Font    { return Font{Bold: true, Pt: pt} }

func (f Font) face() *face {
	if f.Bold {
		return bold()
	}
	return regular()
}

// Width is how wide text is set, in mm.
func (f Font) Width(text string) float64 { return f.face().widthMM(text, f.Pt) }

// Cut shortens text to a width in mm, with … for what is left out.
func (f Font) Cut(text string, wide float64) string {
	if f.Width(text) <= wide {
		return text
	}
	runes := []rune(text)
	for n := len(runes) - 1; n > 0; n-- {
		if short := strings.TrimRight(string(runes[:n]), " ") + "…"; f.Width(short) <= wide {
			return short
		}
	}
	return "…"
}

// Wrap breaks text into lines of at most a width in mm, between words where
// that can be.
func (f Font) Wrap(text string, wide float64) []string {
	var lines []string
	line := ""
	for word := range strings.FieldsSeq(text) {
		joined := strings.TrimPrefix(line+" "+word, " ")
		if f.Width(joined) <= wide {
			line = joined
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for f.Width(word) > wide {
			runes := []rune(word)
			n := len(runes) - 1
			for n > 1 && f.Width(string(runes[:n])) > wide {
				n--
			}
			if n < 1 {
				break
			}
			lines, word = append(lines, string(runes[:n])), string(runes[n:])
		}
		line = word
	}
	return append(lines, line)
}
