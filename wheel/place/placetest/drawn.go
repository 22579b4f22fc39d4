package placetest

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"
	"unicode"

	"pinwright/wheel/place/paper"
)

// Day is a day for sheets to bear.
var Day = time.Date(2026, 11, 25, 9, 30, 0, 0, time.UTC)

// Drawn is what a page shows, read back from SVG, in mm.
type Drawn struct {
	Width, Height float64
	Dots          []Dot
	Lines         []Line
	Texts         []Text
	Boxes, Fills  []Box
}

type Dot struct {
	paper.Point
	Diameter float64
	Grey     string
}

type Line struct {
	X1, Y1, X2, Y2, Width float64
	Dashed                bool
}

type Text struct {
	paper.Point
	MM   float64
	Bold bool
	Text string
}

type Box struct{ X, Y, W, H float64 }

// ReadPage writes one page as SVG and reads it with encoding/xml.
func ReadPage(t testing.TB, s *paper.Document, page int) Drawn {
	t.Helper()
	var b bytes.Buffer
	if err := s.WriteSVG(&b, page); err != nil {
		t.Fatal(err)
	}
	return ReadSVG(t, b.Bytes())
}

func ReadSVG(t testing.TB, file []byte) Drawn {
	t.Helper()
	var d Drawn
	dec := xml.NewDecoder(bytes.NewReader(file))
	for {
		token, err := dec.Token()
		if errors.Is(err, io.EOF) {
			return d
		}
		if err != nil {
			t.Fatalf("it is no XML: %v", err)
		}
		e, is := token.(xml.StartElement)
		if !is {
			continue
		}
		attr := func(name string) string {
			for _, a := range e.Attr {
				if a.Name.Local == name {
					return a.Value
				}
			}
			return ""
		}
		mm := func(name string) float64 {
			v, err := strconv.ParseFloat(strings.TrimSuffix(attr(name), "mm"), 64)
			if err != nil {
				t.Fatalf("%s of %s: %v", name, e.Name.Local, err)
			}
			return v
		}
		switch e.Name.Local {
		case "svg":
			d.Width, d.Height = mm("width"), mm("height")
			if box := attr("viewBox"); box != "0 0 "+strings.TrimSuffix(attr("width"), "mm")+" "+strings.TrimSuffix(attr("height"), "mm") {
				t.Errorf("a unit is no millimetre: viewBox %q, width %q, height %q", box, attr("width"), attr("height"))
			}
		case "path":
			v := Numbers(t, attr("d"))
			if attr("stroke-linecap") == "round" {
				for ; len(v) > 0; v = v[3:] {
					d.Dots = append(d.Dots, Dot{paper.Point{X: v[0], Y: v[1]}, mm("stroke-width"), attr("stroke")})
				}
			} else {
				d.Lines = append(d.Lines, Line{v[0], v[1], v[2], v[3], mm("stroke-width"), attr("stroke-dasharray") != ""})
			}
		case "rect":
			box := Box{mm("x"), mm("y"), mm("width"), mm("height")}
			if attr("fill") == "none" {
				d.Boxes = append(d.Boxes, box)
			} else {
				d.Fills = append(d.Fills, box)
			}
		case "text":
			var text string
			if err := dec.DecodeElement(&text, &e); err != nil {
				t.Fatal(err)
			}
			d.Texts = append(d.Texts, Text{paper.Point{X: mm("x"), Y: mm("y")}, mm("font-size"), attr("font-weight") == "bold", text})
		}
	}
}

func Numbers(t testing.TB, path string) []float64 {
	var all []float64
	for _, word := range strings.FieldsFunc(path, func(r rune) bool { return unicode.IsLetter(r) || unicode.IsSpace(r) || r == ',' }) {
		v, err := strconv.ParseFloat(word, 64)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, v)
	}
	return all
}

func (d Drawn) Says(text string) bool {
	return slices.ContainsFunc(d.Texts, func(t Text) bool { return strings.Contains(t.Text, text) })
}

// Line is the one line of such a width, dashed or not.
func (d Drawn) Line(t testing.TB, width float64, is func(Line) bool) Line {
	t.Helper()
	var found []Line
	for _, l := range d.Lines {
		if l.Width == width && is(l) {
			found = append(found, l)
		}
	}
	if len(found) != 1 {
		t.Fatalf("there are %d such lines of %g mm, want 1", len(found), width)
	}
	return found[0]
}

// Discs are the black discs of a diameter.
func (d Drawn) Discs(diameter float64) []paper.Point {
	var at []paper.Point
	for _, dot := range d.Dots {
		if dot.Grey == "#000000" && dot.Diameter == diameter {
			at = append(at, dot.Point)
		}
	}
	return at
}

// Tool runs a program of Debian's poppler-utils, a PDF reader that is not ours,
// on sheets. Without it the test is skipped, unless PINWRIGHT_POPPLER is
// "required".
func Tool(t *testing.T, s *paper.Document, name string, args ...string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		if os.Getenv("PINWRIGHT_POPPLER") == "required" {
			t.Fatalf("PINWRIGHT_POPPLER is \"required\", but there is no %s", name)
		}
		t.Skipf("there is no %s; it is in Debian's poppler-utils", name)
	}
	file := filepath.Join(t.TempDir(), "sheets.pdf")
	if err := os.WriteFile(file, PDF(t, s), 0o600); err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(path, append(slices.Clone(args), file)...)
	if name == "pdftotext" || name == "pdftocairo" {
		cmd.Args = append(cmd.Args, "-")
	}
	var complaints bytes.Buffer
	cmd.Stderr = &complaints
	out, err := cmd.Output()
	if err != nil || complaints.Len() > 0 {
		t.Fatalf("%s: %v, %s", name, err, complaints.String())
	}
	return string(out)
}

func PDF(t testing.TB, s *paper.Document) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := s.WritePDF(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
