package sheets

import (
	"strings"

	"pinwright/wheel"
	"pinwright/wheel/place/paper"
)

// ParsePaper reads the name of the paper of a template or list, large or small
// letters alike.
func ParsePaper(s string) (paper.Paper, error) {
	for _, p := range []paper.Paper{paper.A4, paper.A3, paper.Roll} {
		if strings.EqualFold(s, string(p)) {
			return p, nil
		}
	}
	return "", wheel.Refuse(wheel.ErrInvalid, "the paper is %q; it should be A4, A3 or roll", s)
}

// ListPaper is what lists are printed on beside a template on some paper.
func ListPaper(template paper.Paper) paper.Paper {
	if template == paper.Roll {
		return paper.A4
	}
	return template
}

// upright is the size of a sheet of A4 or A3, its short side across.
func upright(p paper.Paper) (paper.Size, error) {
	if p == paper.A4 || p == paper.A3 {
		size, _ := p.Size()
		return size, nil
	}
	return paper.Size{}, wheel.Refuse(wheel.ErrInvalid, "the paper is %q; it should be A4, A3 or roll", string(p))
}

// Bounds of a roll's width, in mm: room for a heading, and what one page of a
// PDF can be.
const (
	minRollMM = 100
	maxRollMM = 5000
)

// CheckRollWidth says what is wrong with a roll's width, in mm.
func CheckRollWidth(mm float64) error {
	if !(mm >= minRollMM && mm <= maxRollMM) {
		return wheel.Refuse(wheel.ErrInvalid, "the roll's width is %s mm; it should be %d to %d mm", wheel.Number(mm), minRollMM, maxRollMM)
	}
	return nil
}

// How many pages one file may have; those of a roll may be metres long.
const (
	maxPages     = 2000
	maxRollPages = 100
)
