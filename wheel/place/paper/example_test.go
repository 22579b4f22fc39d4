package paper_test

import (
	"bytes"
	"fmt"

	"pinwright/wheel/place/paper"
)

// One drawing is written as PDF and as SVG.
func ExampleDocument() {
	size, _ := paper.A6.Size()
	d := &paper.Document{Heading: paper.Heading{Kind: "Note", Title: "Mill Race", On: "Hailstone"}}
	d.Add(paper.Page{Size: size, Draw: func(c paper.Canvas) {
		c.Line(10, 50, 95, 50, paper.Pen{Width: 0.5, Grey: paper.Black})
		paper.Write(c, 10, 48, "Mind the seam.", paper.Regular(10), paper.Left)
	}})
	var pdf, svg bytes.Buffer
	if err := d.WritePDF(&pdf); err != nil {
		fmt.Println(err)
	}
	if err := d.WriteSVG(&svg, 1); err != nil {
		fmt.Println(err)
	}
	fmt.Println(paper.Ours(pdf.Bytes()), paper.Ours(svg.Bytes()), bytes.Contains(svg.Bytes(), []byte("Mind the seam.")))
	// Output: true true true
}
