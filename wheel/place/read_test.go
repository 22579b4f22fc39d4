package place

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
)

var day = time.Date(2026, 11, 25, 9, 30, 0, 0, time.UTC)

// drawn is what a page shows, read back from SVG, in mm.
type drawn struct {
	width, height float64
	dots          []drawnDot
	lines         []drawnLine
	texts         []drawnText
	boxes         []drawnBox
}

type drawnDot struct {
	point
	diameter float64
	grey     string
}

type drawnLine struct {
	x1, y1, x2, y2, width float64
	dashed                bool
}

type drawnText struct {
	point
	mm   float64
	bold bool
	text string
}

type drawnBox struct{ x, y, w, h float64 }

// readPage writes one page as SVG and reads it with encoding/xml.
func readPage(t testing.TB, s *Sheets, page int) drawn {
	t.Helper()
	var b bytes.Buffer
	if err := s.WriteSVG(&b, page); err != nil {
		t.Fatal(err)
	}
	return readSVG(t, b.Bytes())
}

func readSVG(t testing.TB, file []byte) drawn {
	t.Helper()
	var d drawn
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
			d.width, d.height = mm("width"), mm("height")
			if box := attr("viewBox"); box != "0 0 "+strings.TrimSuffix(attr("width"), "mm")+" "+strings.TrimSuffix(attr("height"), "mm") {
				t.Errorf("a unit is no millimetre: viewBox %q, width %q, height %q", box, attr("width"), attr("height"))
			}
		case "path":
			v := numbers(t, attr("d"))
			if attr("stroke-linecap") == "round" {
				for ; len(v) > 0; v = v[3:] {
					d.dots = append(d.dots, drawnDot{point{v[0], v[1]}, mm("stroke-width"), attr("stroke")})
				}
			} else {
				d.lines = append(d.lines, drawnLine{v[0], v[1], v[2], v[3], mm("stroke-width"), attr("stroke-dasharray") != ""})
			}
		case "rect":
			if attr("fill") == "none" {
				d.boxes = append(d.boxes, drawnBox{mm("x"), mm("y"), mm("width"), mm("height")})
			}
		case "text":
			var text string
			if err := dec.DecodeElement(&text, &e); err != nil {
				t.Fatal(err)
			}
			d.texts = append(d.texts, drawnText{point{mm("x"), mm("y")}, mm("font-size"), attr("font-weight") == "bold", text})
		}
	}
}

func numbers(t testing.TB, path string) []float64 {
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

func (d drawn) says(text string) bool {
	return slices.ContainsFunc(d.texts, func(t drawnText) bool { return strings.Contains(t.text, text) })
}

// line is the one line of such a width, dashed or not.
func (d drawn) line(t testing.TB, width float64, is func(drawnLine) bool) drawnLine {
	t.Helper()
	var found []drawnLine
	for _, l := range d.lines {
		if l.width == width && is(l) {
			found = append(found, l)
		}
	}
	if len(found) != 1 {
		t.Fatalf("there are %d such lines of %g mm, want 1", len(found), width)
	}
	return found[0]
}

// discs are the black discs of a diameter.
func (d drawn) discs(diameter float64) []point {
	var at []point
	for _, dot := range d.dots {
		if dot.grey == "#000000" && dot.diameter == diameter {
			at = append(at, dot.point)
		}
	}
	return at
}

// tool runs a program of Debian's poppler-utils, a PDF reader that is not ours,
// on sheets. Without it the test is skipped, unless PINWRIGHT_POPPLER is
// "required".
func tool(t *testing.T, s *Sheets, name string, args ...string) string {
	t.Helper()
	path, err := exec.LookPath(name)
	if err != nil {
		if os.Getenv("PINWRIGHT_POPPLER") == "required" {
			t.Fatalf("PINWRIGHT_POPPLER is \"required\", but there is no %s", name)
		}
		t.Skipf("there is no %s; it is in Debian's poppler-utils", name)
	}
	file := filepath.Join(t.TempDir(), "sheets.pdf")
	if err := os.WriteFile(file, pdfOf(t, s), 0o600); err != nil {
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

func pdfOf(t testing.TB, s *Sheets) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := s.WritePDF(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}
