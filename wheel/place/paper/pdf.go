package paper

import (
	"bytes"
	"io"
	"strconv"
	"time"

	"codeberg.org/go-pdf/fpdf"
)

// pdf is a Canvas that writes Portable Document Format, its fonts embedded.
type pdf struct {
	*fpdf.Fpdf
	height float64
	lacks  bool // a character on this page could not be set
}

// WritePDF writes all pages as Portable Document Format.
func (d *Document) WritePDF(w io.Writer) error {
	first := d.pages[0].Size
	f := fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "mm", Size: fpdf.SizeType{Wd: first.W, Ht: first.H}})
	f.AddUTF8FontFromBytes("Sheet", "", bytes.Clone(regular().file))
	f.AddUTF8FontFromBytes("Sheet", "B", bytes.Clone(bold().file))
	f.SetAutoPageBreak(false, 0)
	f.SetTitle(d.Kind+": "+d.Title, true)
	f.SetCreator(madeBy, false)
	f.SetProducer(madeBy, false)
	f.SetLang("en")
	made := d.Date
	if made.IsZero() {
		made = time.Unix(0, 0).UTC()
	}
	f.SetCreationDate(made)
	f.SetModificationDate(made)
	f.SetCatalogSort(true)
	c := &pdf{Fpdf: f}
	for i, p := range d.pages {
		c.height, c.lacks = p.H, false
		f.AddPageFormat("P", fpdf.SizeType{Wd: p.W, Ht: p.H})
		p.Draw(c)
		d.frame(c, p, i+1)
		if c.lacks {
			Write(c, Margin, p.H-3.5, "Letters that this sheet's font lacks are shown as □.", Regular(7), Left)
		}
	}
	return f.Output(w)
}

// madeBy is how a file says what made it.
const madeBy = "Pinwright"

// Ours is true for a PDF or SVG file that this package wrote.
func Ours(file []byte) bool {
	head := file[:min(len(file), 1<<12)] // a title of 200 characters comes first
	return bytes.HasPrefix(file, []byte("%PDF-")) && bytes.Contains(file, []byte("/Creator ("+madeBy+")")) ||
		bytes.Contains(head, []byte("<metadata>"+madeBy+"</metadata>"))
}

func (c *pdf) take(p Pen) {
	c.SetLineWidth(p.Width)
	c.SetDrawColor(p.Grey, p.Grey, p.Grey)
	if p.Dashed {
		c.SetDashPattern([]float64{2, 1.5}, 0)
	} else {
		c.SetDashPattern(nil, 0)
	}
}

func (c *pdf) Line(x1, y1, x2, y2 float64, p Pen) {
	c.take(p)
	c.Fpdf.Line(x1, y1, x2, y2)
}

func (c *pdf) Box(x, y, w, h float64, p Pen) {
	c.take(p)
	c.Rect(x, y, w, h, "D")
}

func (c *pdf) Fill(x, y, w, h float64, grey int) {
	c.SetFillColor(grey, grey, grey)
	c.Rect(x, y, w, h, "F")
}

// dots are strokes with round ends, all in one path: one takes some thirty bytes,
// a circle two hundred. They are as good as of no length, which alone would be
// a disc too (ISO 32000-1, 8.5.3.2), but not everywhere.
func (c *pdf) Dots(at []Point, diameter float64, grey int) {
	if len(at) == 0 {
		return
	}
	const half = 0.002 // points
	b := make([]byte, 0, 40*len(at)+60)
	number := func(v float64, op string) {
		b = strconv.AppendFloat(b, v, 'f', 3, 64)
		b = append(b, op...)
	}
	b = append(b, "q 1 J [] 0 d "...)
	number(diameter/MMPerPoint, " w ")
	number(float64(grey)/255, " G\n")
	for _, p := range at {
		x, y := p.X/MMPerPoint, (c.height-p.Y)/MMPerPoint
		number(x-half, " ")
		number(y, " m ")
		number(x+half, " ")
		number(y, " l\n")
	}
	c.RawWriteStr(string(append(b, "S Q"...)))
}

func (c *pdf) Text(x, y float64, s string, f Font, grey int) {
	s, lacks := f.face().settable(s)
	c.lacks = c.lacks || lacks
	style := ""
	if f.Bold {
		style = "B"
	}
	c.SetFont("Sheet", style, f.Pt)
	c.SetTextColor(grey, grey, grey)
	c.Fpdf.Text(x, y, s)
}

func (c *pdf) Clip(x, y, w, h float64, draw func()) {
	c.ClipRect(x, y, w, h, false)
	draw()
	c.ClipEnd()
}
