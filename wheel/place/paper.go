package place

import (
	"fmt"
	"strings"

	"pinwright/wheel"
)

// Paper is what sheets are printed on.
type Paper string

const (
	A4   Paper = "A4" // ISO 216: 210 mm × 297 mm
	A3   Paper = "A3" // ISO 216: 297 mm × 420 mm
	Roll Paper = "roll"
)

// ParsePaper reads the name of a paper, large or small letters alike.
func ParsePaper(s string) (Paper, error) {
	for _, p := range []Paper{A4, A3, Roll} {
		if strings.EqualFold(s, string(p)) {
			return p, nil
		}
	}
	return "", fmt.Errorf("the paper is %q; it should be A4, A3 or roll", s)
}

// size is that of a page, in mm.
type size struct{ w, h float64 }

func (s size) turned() size { return size{s.h, s.w} }

// upright is the size of a sheet that is no roll, its short side across.
func (p Paper) upright() (size, error) {
	switch p {
	case A4:
		return size{210, 297}, nil
	case A3:
		return size{297, 420}, nil
	}
	return size{}, fmt.Errorf("the paper is %q; it should be A4, A3 or roll", string(p))
}

// Bounds of a roll's width, in mm: room for a heading, and what one page of a
// PDF can be.
const (
	minRollMM = 100
	maxRollMM = 5000
)

// maxPageMM is how long a page can be: a PDF's page has at most 14 400 units of
// 1/72 inch, 5080 mm, a side (ISO 32000-1, Annex C).
const maxPageMM = 5080

// CheckRollWidth says what is wrong with a roll's width, in mm.
func CheckRollWidth(mm float64) error {
	if !(mm >= minRollMM && mm <= maxRollMM) {
		return fmt.Errorf("the roll's width is %s mm; it should be %d to %d mm", wheel.Number(mm), minRollMM, maxRollMM)
	}
	return nil
}

// How many pages one file may have; those of a roll may be metres long.
const (
	maxPages     = 2000
	maxRollPages = 100
)
