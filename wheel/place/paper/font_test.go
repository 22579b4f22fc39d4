package paper

import (
	"math"
	"strings"
	"testing"

	"codeberg.org/go-pdf/fpdf"
	"pgregory.net/rapid"
)

// The widths that the PDF library reads from the same files.
func TestWidthsAreThoseOfTheFont(t *testing.T) {
	f := fpdf.New("P", "mm", "A4", "")
	f.AddUTF8FontFromBytes("Sheet", "", regular().file)
	f.AddUTF8FontFromBytes("Sheet", "B", bold().file)
	f.AddPage()
	for _, text := range []string{"Mill Race", "0123456789", "Frère ♯♭ Привет Ωραία", "iiiiWWWW…·•→½", "□"} {
		for style, fo := range map[string]Font{"": Regular(12), "B": Bold(12)} {
			f.SetFont("Sheet", style, 12)
			// The library rounds each width to 1/1000 of the size.
			if got, want := fo.Width(text), f.GetStringWidth(text); math.Abs(got-want) > 0.001*12*MMPerPoint*float64(len(text)) {
				t.Errorf("%q %s is %g mm wide, by the library %g mm", text, style, got, want)
			}
		}
	}
}

// The sheets' own words can all be set.
func TestSheetsOwnSignsAreInBothFonts(t *testing.T) {
	for _, f := range []*face{regular(), bold()} {
		if set, lacks := f.settable("abcxyz ABCXYZ 0123456789 .,:;+/()%&<>'\"’“” ·•…→−–□½♯♭äöüßéèçñøåłžşğ αβγΩ абвЖ"); lacks {
			t.Errorf("it lacks some of %q", set)
		}
	}
	if set, lacks := regular().settable("a\u00adb\u200dc\ufe0f"); set != "abc" || lacks {
		t.Errorf("what cannot be seen is %q, %t", set, lacks)
	}
}

func TestWrappedAndCutTextFitsAndLosesNothingUnseen(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringOf(rapid.SampledFrom([]rune("abW i日… "))).Draw(t, "text")
		wide := rapid.Float64Range(4, 60).Draw(t, "wide")
		f := Font{rapid.Bool().Draw(t, "bold"), 10}
		joined := ""
		for _, line := range f.Wrap(text, wide) {
			if f.Width(line) > wide {
				t.Fatalf("%q is %g mm of %g", line, f.Width(line), wide)
			}
			joined += line
		}
		if bare := strings.ReplaceAll(text, " ", ""); strings.ReplaceAll(joined, " ", "") != bare {
			t.Fatalf("%q became %q", text, joined)
		}
		switch short := f.Cut(text, wide); {
		case f.Width(short) > wide:
			t.Fatalf("%q is %g mm of %g", short, f.Width(short), wide)
		case short != text && !strings.HasSuffix(short, "…"):
			t.Fatalf("%q was cut to %q unseen", text, short)
		}
	})
}
