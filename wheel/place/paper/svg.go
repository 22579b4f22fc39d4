package paper

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strconv"
)

// svg is a Canvas that writes Scalable Vector Graphics, one page a file, in
// millimetres. It names its font and embeds none: what shows it has fonts for
// more scripts than ours has.
type svg struct {
	bytes.Buffer
	clips int
}

// WriteSVG writes one page, counted from 1, as Scalable Vector Graphics.
func (d *Document) WriteSVG(w io.Writer, page int) error {
	if page < 1 || page > len(d.pages) {
		return fmt.Errorf("there is no page %d; pages are 1 to %d", page, len(d.pages))
	}
	p := d.pages[page-1]
	c := &svg{}
	c.WriteString(`<?xml version="1.0" encoding="UTF-8"?>` + "\n")
	c.element(`<svg xmlns="http://www.w3.org/2000/svg" width="%smm" height="%smm" viewBox="0 0 %s %s" font-family="'DejaVu Sans', sans-serif">`, p.W, p.H, p.W, p.H)
	c.WriteString("<title>")
	c.escaped(fmt.Sprintf("%s: %s, %s", d.Kind, d.Title, d.pageText(page)))
	c.WriteString("</title>\n<metadata>" + madeBy + "</metadata>\n")
	c.Fill(0, 0, p.W, p.H, White)
	p.Draw(c)
	d.frame(c, p, page)
	c.WriteString("</svg>\n")
	_, err := w.Write(c.Bytes())
	return err
}

// element writes a line in which each %s is a length, to 0.0001 mm.
func (c *svg) element(format string, mm ...float64) {
	args := make([]any, len(mm))
	for i, v := range mm {
		args[i] = strconv.FormatFloat(round(v, 4), 'f', -1, 64)
	}
	fmt.Fprintf(c, format+"\n", args...)
}

func (c *svg) escaped(s string) { _ = xml.EscapeText(c, []byte(s)) } // a buffer takes all

func (p Pen) attributes() string {
	dash := ""
	if p.Dashed {
		dash = ` stroke-dasharray="2 1.5"`
	}
	return fmt.Sprintf(`stroke="%s" stroke-width="%g"%s`, hex(p.Grey), p.Width, dash)
}

func hex(grey int) string { return fmt.Sprintf("#%02x%02x%02x", grey, grey, grey) }

func (c *svg) Line(x1, y1, x2, y2 float64, p Pen) {
	c.element(`<path d="M%s %sL%s %s" fill="none" `+p.attributes()+`/>`, x1, y1, x2, y2)
}

func (c *svg) Box(x, y, w, h float64, p Pen) {
	c.element(`<rect x="%s" y="%s" width="%s" height="%s" fill="none" `+p.attributes()+`/>`, x, y, w, h)
}

func (c *svg) Fill(x, y, w, h float64, grey int) {
	c.element(`<rect x="%s" y="%s" width="%s" height="%s" fill="`+hex(grey)+`"/>`, x, y, w, h)
}

func (c *svg) Dots(at []Point, diameter float64, grey int) {
	if len(at) == 0 {
		return
	}
	c.WriteString(`<path d="`)
	for _, p := range at {
		c.element("M%s %sh0", p.X, p.Y)
	}
	c.element(`" fill="none" stroke="`+hex(grey)+`" stroke-width="%s" stroke-linecap="round"/>`, diameter)
}

func (c *svg) Text(x, y float64, s string, f Font, grey int) {
	weight := ""
	if f.Bold {
		weight = ` font-weight="bold"`
	}
	fmt.Fprintf(c, `<text x="%g" y="%g" font-size="%g" fill="%s"%s xml:space="preserve">`, round(x, 3), round(y, 3), round(f.Pt*MMPerPoint, 3), hex(grey), weight)
	c.escaped(s)
	c.WriteString("</text>\n")
}

func (c *svg) Clip(x, y, w, h float64, draw func()) {
	c.clips++
	c.element(fmt.Sprintf(`<clipPath id="window%d">`, c.clips)+`<rect x="%s" y="%s" width="%s" height="%s"/></clipPath>`, x, y, w, h)
	fmt.Fprintf(c, `<g clip-path="url(#window%d)">`+"\n", c.clips)
	draw()
	c.WriteString("</g>\n")
}

func round(v float64, decimals int) float64 {
	unit := math.Pow10(decimals)
	return math.Round(v*unit) / unit
}
