package draw

import (
	"bytes"
	"encoding/xml"
	"io"
	"math"
	"strconv"
)

// ink is how a picture that stands alone is drawn, without a page's style
// sheet: in one ink, so that it prints.
const ink = `svg{color:#111;background:#fff;font-family:"Atkinson Hyperlegible Next","DejaVu Sans",sans-serif;` +
	`fill:none;stroke:currentColor;stroke-width:1.2;stroke-linecap:round;stroke-linejoin:round}` +
	`text{fill:currentColor;stroke:none}.heading,.letter{font-weight:700}.steps{stroke-linecap:butt}` +
	`.rim{stroke-width:1.8}.lane,.gate,.lever{stroke-width:2}.fall{stroke-width:1.5}.ramp{stroke-width:2.8}.icon{stroke-width:1.8}` +
	`.fine,.spoke{stroke-width:.8}.placing{stroke-width:1;stroke-dasharray:1 4}` +
	`.plate{stroke-width:1.6;fill:#ddd}.solid,.pointer{fill:currentColor}.marble,.ring,circle.lift{fill:#fff}` +
	`.lit{stroke-width:4}text.lit{font-weight:700}` +
	`.row,.bar{stroke:#999;stroke-width:.6}.seam{stroke-width:1.8}.start{stroke-dasharray:4 3}` +
	`.pull{fill:#fff}.drive{fill:#111}`

// WriteSVG writes the picture as a file of its own.
func (p Picture) WriteSVG(w io.Writer) error {
	var b svg
	b.WriteString(`<?xml version="1.0" encoding="UTF-8"?>` + "\n")
	b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg"`)
	b.number("width", p.WidthPX)
	b.number("height", p.HeightPX)
	b.viewBox(p)
	b.WriteString("><title>")
	b.escaped(p.Title)
	b.WriteString("</title><desc>")
	b.escaped(p.Description)
	b.WriteString("</desc><style>" + ink + "</style>\n")
	b.groups(p)
	b.WriteString("</svg>\n")
	_, err := w.Write(b.Bytes())
	return err
}

// WriteInline writes the picture as a part of a page. Its colours come from
// the page's style sheet.
func (p Picture) WriteInline(w io.Writer) error {
	var b svg
	b.WriteString(`<svg role="img"`)
	b.text("aria-label", p.Title+". "+p.Description)
	b.viewBox(p)
	b.WriteString(">\n")
	b.groups(p)
	b.WriteString("</svg>\n")
	_, err := w.Write(b.Bytes())
	return err
}

// svg is text in the making.
type svg struct{ bytes.Buffer }

func (b *svg) escaped(text string) { _ = xml.EscapeText(&b.Buffer, []byte(text)) }

func (b *svg) text(name, value string) {
	b.WriteString(` ` + name + `="`)
	b.escaped(value)
	b.WriteString(`"`)
}

func (b *svg) number(name string, v float64) { b.WriteString(` ` + name + `="` + pixels(v) + `"`) }

// pixels writes a measure to a hundredth of a pixel.
func pixels(v float64) string {
	return strconv.FormatFloat(math.Round(v*100)/100+0, 'f', -1, 64)
}

func (b *svg) viewBox(p Picture) {
	b.text("viewBox", "0 0 "+pixels(p.WidthPX)+" "+pixels(p.HeightPX))
}

func (b *svg) groups(p Picture) {
	for _, g := range p.Groups {
		b.WriteString("<g")
		b.text("class", g.Class)
		b.WriteString("><title>")
		b.escaped(g.Name)
		b.WriteString("</title>\n")
		for _, s := range g.Shapes {
			b.shape(s)
		}
		b.WriteString("</g>\n")
	}
}

func (b *svg) shape(s Shape) {
	name := map[ShapeKind]string{Line: "polyline", Area: "polygon", Disc: "circle", Text: "text", Ups: "path", Downs: "path", Dots: "path"}[s.Kind]
	b.WriteString("<" + name)
	b.text("class", s.Class)
	switch s.Kind {
	case Line, Area:
		var points []byte
		for i, p := range s.At {
			if i > 0 {
				points = append(points, ' ')
			}
			points = append(points, pixels(p.X)+","+pixels(p.Y)...)
		}
		b.text("points", string(points))
	case Disc:
		b.number("cx", s.At[0].X)
		b.number("cy", s.At[0].Y)
		b.number("r", s.R)
	case Ups, Downs, Dots:
		b.text("d", marks(s))
		if s.Kind == Dots {
			s.Stroke = 2 * s.R
		}
	case Text:
		b.number("x", s.At[0].X)
		b.number("y", s.At[0].Y)
		b.number("font-size", s.SizePX)
		if s.Middle {
			b.text("text-anchor", "middle")
		}
	}
	if s.Stroke > 0 {
		b.number("stroke-width", s.Stroke)
	}
	if len(s.Dash) > 0 {
		text := ""
		for _, v := range s.Dash {
			text += " " + strconv.FormatFloat(v, 'f', 4, 64)
		}
		b.text("stroke-dasharray", text[1:])
	}
	if s.Part != (Part{}) {
		b.text("data-part", string(s.Part.Kind)+" "+s.Part.ID)
	}
	if s.Kind != Text {
		b.WriteString("/>\n")
		return
	}
	b.WriteString(">")
	b.escaped(s.Text)
	b.WriteString("</text>\n")
}

// marks is many marks as one path, as a face has thousands. A disc is a line
// without length: its round ends are its shape.
func marks(s Shape) string {
	form := "h0"
	switch r := s.R; s.Kind {
	case Ups:
		form = "m0 " + pixels(-r) + "l" + pixels(r) + " " + pixels(1.8*r) + "h" + pixels(-2*r) + "z"
	case Downs:
		form = "m0 " + pixels(r) + "l" + pixels(r) + " " + pixels(-1.8*r) + "h" + pixels(-2*r) + "z"
	}
	var d []byte
	for _, at := range s.At {
		d = append(d, "M"+pixels(at.X)+" "+pixels(at.Y)+form...)
	}
	return string(d)
}
