package sheets

import (
	"math"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel/place/paper"
	"pinwright/wheel/place/placetest"
)

// Worked by hand: rows lie 40 mm + r × 18 mm from the edge, strips end 6 mm past
// their rows. Rows 0 and 1 lie at 40 and 58 mm, rows 12 and 13 at 256 and 274 mm:
// strips from the edge to 64 mm and from 250 to 280 mm. The whole face of 20 rows
// ends at 40 + 19 × 18 + 9 = 391 mm, which takes three strips of A4 across.
func TestOnlyStripsThatCarryPinsArePrinted(t *testing.T) {
	m := machine(64, make([]int, 20)...)
	steps := make([][]int, 20)
	steps[0], steps[1], steps[12], steps[13] = []int{0, 17}, []int{5}, []int{0}, []int{63}
	p := pinning("Mill Race", steps...)
	for _, below := range []bool{false, true} {
		o := TemplateOptions{Paper: paper.A4, EdgeBelow: below, PinnedOnly: true, Date: placetest.Day}
		l, err := newFace(m, p, 590, o).layOut(paper.Size{W: 297, H: 210}, o)
		if err != nil {
			t.Fatal(err)
		}
		if want := []bandMM{{0, 64}, {250, 280}}; !slices.Equal(l.bands, want) {
			t.Fatalf("the strips are %v, want %v", l.bands, want)
		}
		whole := mustTemplate(t, m, p, TemplateOptions{Paper: paper.A4, EdgeBelow: below, Date: placetest.Day})
		s := mustTemplate(t, m, p, o)
		if want := 1 + 2*len(l.columns); s.Pages() != want || s.Pages() >= whole.Pages() {
			t.Errorf("%d pages, want %d, fewer than the whole face's %d", s.Pages(), want, whole.Pages())
		}
		if d := placetest.ReadPage(t, s, 1); !d.Says("Rows 0 to 1: at the wheel's edge.") || !d.Says("Rows 12 to 13: 250 mm from the wheel's edge.") {
			t.Error("the first page does not say where the strips lie")
		}
		d := placetest.ReadPage(t, s, l.pageOf(0, 1)) // of step 0
		if !d.Says("250 mm from the wheel's edge") || !d.Says("rows 12 to 13") || d.Says("below: page") || d.Says("above: page") {
			t.Errorf("a page of the second strip says %v", d.Texts)
		}
		cuts := d.Lines
		cuts = slices.DeleteFunc(cuts, func(c placetest.Line) bool {
			return c.Width != 0.25 || c.Dashed || c.Y1 != c.Y2 || c.X2-c.X1 < 100
		})
		if len(cuts) != 2 {
			t.Fatalf("the second strip is cut along %v, want two lines", cuts)
		}
		near, far := min(cuts[0].Y1, cuts[1].Y1), max(cuts[0].Y1, cuts[1].Y1) // to the wheel's edge
		if below {
			near, far = far, near
		}
		if math.Abs(math.Abs(far-near)-30) > 0.01 {
			t.Errorf("it is %g mm high, want 30", math.Abs(far-near))
		}
		pins := d.Discs(4)
		if !slices.ContainsFunc(pins, func(at paper.Point) bool { return math.Abs(math.Abs(at.Y-near)-6) < 0.01 }) {
			t.Errorf("no pin 6 mm from the cut at %g: %v", near, pins)
		}
	}
}

// Where the strips with pins are as many as all strips, and where there are no
// pins, the whole face is printed, joined as ever.
func TestWholeFaceIsPrintedWhereNoStripCanBeLeftOut(t *testing.T) {
	m := machine(64, make([]int, 20)...)
	all := make([][]int, 20)
	for i := range all {
		all[i] = []int{i}
	}
	for _, steps := range [][][]int{all, make([][]int, 20)} {
		p := pinning("Mill Race", steps...)
		o := TemplateOptions{Paper: paper.A4, Date: placetest.Day}
		want := placetest.PDF(t, mustTemplate(t, m, p, o))
		o.PinnedOnly = true
		if got := placetest.PDF(t, mustTemplate(t, m, p, o)); !slices.Equal(got, want) {
			t.Errorf("%d pins: the template is not that of the whole face", len(p.Pins))
		}
	}
}

// Every row with pins lies on one strip, clear of its cuts; strips fit the paper
// and are fewer than those of the whole face.
func TestStripsThatCarryPinsShowEveryPin(t *testing.T) {
	left := 0
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 40).Draw(t, "channels")
		m := machine(16, make([]int, n)...)
		m.Wheel.SurfaceRadiusMM = 100
		m.Wheel.RowPitchMM = rapid.Float64Range(0.5, 60).Draw(t, "pitch")
		m.Wheel.FirstRowMM = rapid.Float64Range(0, 400).Draw(t, "first")
		steps := make([][]int, n)
		for i := range steps {
			if rapid.IntRange(0, 3).Draw(t, "pinned") == 0 {
				steps[i] = []int{i % 16}
			}
		}
		o := TemplateOptions{Paper: paper.A4, PinnedOnly: true}
		size := paper.Size{W: 297, H: 210}
		l, err := newFace(m, pinning("A", steps...), 100, o).layOut(size, o)
		if err != nil {
			if !strings.Contains(err.Error(), "is too small: it leaves") {
				t.Fatal(err)
			}
			return
		}
		o.PinnedOnly = false
		if whole, err := newFace(m, pinning("A", steps...), 100, o).layOut(size, o); err == nil && (len(l.bands) > len(whole.bands) || l.apart == (len(l.bands) == len(whole.bands))) {
			t.Fatalf("%d strips, apart %t; the whole face has %d", len(l.bands), l.apart, len(whole.bands))
		}
		if l.apart {
			left++
		}
		clear := min(6, m.Wheel.RowPitchMM/2)
		for i, b := range l.bands {
			if l.high(i) > l.window.h+1e-6 || i > 0 && b.from < l.bands[i-1].to-1e-9 {
				t.Fatalf("strips are %v, high %g mm of %g", l.bands, l.high(i), l.window.h)
			}
		}
		for c, at := range steps {
			if len(at) == 0 {
				continue
			}
			mm, shown := m.Wheel.FirstRowMM+float64(c)*m.Wheel.RowPitchMM, 0
			for _, b := range l.bands {
				if (mm >= b.from+clear-1e-9 || b.from == 0) && mm <= b.to-clear+1e-9 {
					shown++
				}
			}
			if shown != 1 {
				t.Fatalf("row %d at %g mm is on %d of the strips %v", c, mm, shown, l.bands)
			}
		}
	})
	if left == 0 {
		t.Error("no strip was ever left out")
	}
}
