package paper

// Paper is what pages are printed on.
type Paper string

const (
	A3   Paper = "A3"
	A4   Paper = "A4"
	A5   Paper = "A5"
	A6   Paper = "A6"
	Roll Paper = "roll" // as long as a page needs, of a width of its own
)

// Size is that of a page, in mm.
type Size struct{ W, H float64 }

// Turned is the size with its sides exchanged.
func (s Size) Turned() Size { return Size{s.H, s.W} }

// Size is the size of a sheet of the paper by ISO 216, its short side across. ok
// is false for a roll and for a paper that is not listed here.
func (p Paper) Size() (s Size, ok bool) {
	switch p {
	case A3:
		return Size{297, 420}, true
	case A4:
		return Size{210, 297}, true
	case A5:
		return Size{148, 210}, true
	case A6:
		return Size{105, 148}, true
	}
	return Size{}, false
}

// MaxPageMM is how long a page can be: a PDF's page has at most 14 400 units of
// 1/72 inch, 5080 mm, a side (ISO 32000-1, Annex C).
const MaxPageMM = 5080
