package atwheel

import (
	"cmp"
	"fmt"
	"io"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"

	"pinwright/store"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/place/paper"
	"pinwright/wheel/place/sheets"
	"pinwright/wheel/say"
)

// sheetsPage is the page from which the sheets of a pinning are downloaded.
type sheetsPage struct {
	page.Frame
	Pinning *store.Pinning
	Choice  sheetChoice
	Pages   int      // of the template
	Whole   int      // pages that the whole face takes
	Pinned  int      // pages that only strips with pins take
	A4, A3  int      // pages on that paper
	Problem []string // why there is no template
	RoundMM float64  // the way once round on the radius used
	Radius  string   // that radius in words
	Surface bool     // the machine's file has the radius of the surface
}

// sheetChoice is what sheets are asked for, as the address has it.
type sheetChoice struct {
	Paper, Roll, Radius, Edge, Strips string

	paper  paper.Paper
	roll   float64 // mm
	radius sheets.Radius
}

func readSheetChoice(v url.Values) (sheetChoice, error) {
	c := sheetChoice{
		Paper:  cmp.Or(v.Get("paper"), "A4"),
		Roll:   cmp.Or(strings.TrimSpace(v.Get("roll")), "610"),
		Radius: cmp.Or(v.Get("radius"), "surface"),
		Edge:   cmp.Or(v.Get("edge"), "top"),
		Strips: cmp.Or(v.Get("strips"), "all"),
	}
	c.radius = sheets.Radius(c.Radius)
	var err error
	if c.paper, err = sheets.ParsePaper(c.Paper); err != nil {
		return c, wheel.Refuse(wheel.ErrInvalid, "The paper is %q; it should be A4, A3 or roll.", say.Short(c.Paper))
	}
	if _, err := c.radius.MM(wheel.Wheel{}); err != nil {
		return c, wheel.Refuse(wheel.ErrInvalid, "The radius is %q; it should be surface or tips.", say.Short(c.Radius))
	}
	if c.Edge != "top" && c.Edge != "bottom" {
		return c, wheel.Refuse(wheel.ErrInvalid, "The wheel's edge lies at %q; it should be top or bottom.", say.Short(c.Edge))
	}
	if c.Strips != "all" && c.Strips != "pinned" {
		return c, wheel.Refuse(wheel.ErrInvalid, "The strips are %q; they should be all or pinned.", say.Short(c.Strips))
	}
	if c.paper == paper.Roll {
		if c.roll, err = page.ReadNumber(c.Roll); err != nil || math.IsNaN(c.roll) || math.IsInf(c.roll, 0) {
			return c, wheel.Refuse(wheel.ErrInvalid, "The roll's width is %q; it should be a number of mm, 100 to 5000.", say.Short(c.Roll))
		}
	}
	return c, nil
}

// query writes the choice as the address has it.
func (c sheetChoice) query() string {
	return url.Values{"paper": {c.Paper}, "roll": {c.Roll}, "radius": {c.Radius}, "edge": {c.Edge}, "strips": {c.Strips}}.Encode()
}

func sheetURL(p sheetsPage, file string, number int) templ.SafeURL {
	to := page.PinningURL(p.Pinning.ID, "sheets", file+"?"+p.Choice.query())
	if number > 0 {
		to += fmt.Sprintf("&page=%d", number)
	}
	return templ.SafeURL(to)
}

func (s *area) template(p *store.Pinning, m page.Compiled, c sheetChoice) (*paper.Document, error) {
	return sheets.Template(m.File, p.File, sheets.TemplateOptions{
		Paper: c.paper, RollWidthMM: c.roll, Radius: c.radius, EdgeBelow: c.Edge == "bottom", PinnedOnly: c.Strips == "pinned", Date: s.Now(),
	})
}

func (s *area) sheets(w http.ResponseWriter, r *http.Request) error {
	p, m, err := s.PinningAt(r)
	if err != nil {
		return err
	}
	view := sheetsPage{Frame: s.Frame(r, "Sheets").Under(page.Link{Text: "Pinnings", URL: "/pinnings"}, page.Link{Text: p.Title, URL: page.PinningURL(p.ID)}), Pinning: p}
	view.Frame.Machine, view.Frame.At = m.File.Name, m.ID
	view.Surface = m.File.Wheel.SurfaceRadiusMM > 0
	if view.Choice, err = readSheetChoice(r.URL.Query()); err != nil {
		view.Problem = []string{say.Sentence(err)}
		s.Show(w, r, http.StatusUnprocessableEntity, sheetsView(view))
		return nil
	}
	radius, err := view.Choice.radius.MM(m.File.Wheel)
	if err != nil {
		return err
	}
	view.RoundMM, view.Radius = sheets.RoundMM(radius), view.Choice.radius.Words(m.File.Wheel, radius)
	template, err := s.template(p, m, view.Choice)
	if err != nil {
		view.Problem = []string{say.Sentence(err)}
	} else {
		view.Pages = template.Pages()
		with := func(change func(c *sheetChoice)) int {
			c := view.Choice
			change(&c)
			return s.pagesOf(p, m, c)
		}
		view.Whole = with(func(c *sheetChoice) { c.Strips = "all" })
		view.Pinned = with(func(c *sheetChoice) { c.Strips = "pinned" })
		view.A4 = with(func(c *sheetChoice) { c.paper = paper.A4 })
		view.A3 = with(func(c *sheetChoice) { c.paper = paper.A3 })
	}
	s.Show(w, r, http.StatusOK, sheetsView(view))
	return nil
}

// pagesOf is how many pages a template takes; 0 where it cannot be drawn so.
func (s *area) pagesOf(p *store.Pinning, m page.Compiled, c sheetChoice) int {
	template, err := s.template(p, m, c)
	if err != nil {
		return 0
	}
	return template.Pages()
}

// withPages names a choice with the pages that it takes.
func withPages(words string, pages int) string {
	if pages == 0 {
		return words
	}
	return words + ", " + say.Count(pages, "page", "pages")
}

func (s *area) sheetFile(w http.ResponseWriter, r *http.Request) error {
	p, m, err := s.PinningAt(r)
	if err != nil {
		return err
	}
	c, err := readSheetChoice(r.URL.Query())
	if err != nil {
		return err
	}
	switch chi.URLParam(r, "file") {
	case "template.pdf":
		template, err := s.template(p, m, c)
		if err != nil {
			return page.CannotDraw(err)
		}
		return page.DownloadSheet(w, page.FileName(p.Title, ".template.pdf"), "application/pdf", template.WritePDF)
	case "template.svg":
		template, err := s.template(p, m, c)
		if err != nil {
			return page.CannotDraw(err)
		}
		number, err := strconv.Atoi(r.URL.Query().Get("page"))
		if err != nil || number < 1 || number > template.Pages() {
			return wheel.Refuse(wheel.ErrNotFound, "The template has the pages 1 to %d.", template.Pages())
		}
		return page.DownloadSheet(w, page.FileName(p.Title, fmt.Sprintf(".template-%d.svg", number)), "image/svg+xml", func(out io.Writer) error { return template.WriteSVG(out, number) })
	case "pins.pdf":
		list, err := sheets.PinList(m.File, p.File, sheets.ListOptions{Paper: sheets.ListPaper(c.paper), Radius: c.radius, Date: s.Now()})
		if err != nil {
			return page.CannotDraw(err)
		}
		return page.DownloadSheet(w, page.FileName(p.Title, ".pins.pdf"), "application/pdf", list.WritePDF)
	case "pins.csv":
		return page.DownloadSheet(w, page.FileName(p.Title, ".pins.csv"), "text/csv; charset=utf-8", func(out io.Writer) error {
			return sheets.PinListCSV(out, m.File, p.File, c.radius)
		})
	}
	return page.ErrNoPage
}

// costWords says how much paper the template takes.
func costWords(p sheetsPage) string {
	on := map[paper.Paper]string{paper.A4: "A4", paper.A3: "A3", paper.Roll: "a roll " + say.Number(p.Choice.roll) + " mm wide"}[p.Choice.paper]
	words := "The template takes " + say.Count(p.Pages, "page", "pages") + " of " + on + "."
	switch {
	case p.Choice.Strips == "pinned" && p.Pages < p.Whole:
		words += " " + say.Capital(say.Count(p.Whole-p.Pages, "page is", "pages are")) + " saved, as only strips that carry pins are printed."
	case p.Choice.Strips == "pinned":
		words += " Every strip carries pins, so none is left out."
	case p.Pinned > 0 && p.Pinned < p.Pages:
		words += " Only the strips that carry pins would take " + say.Count(p.Pinned, "page", "pages") + "."
	}
	return words
}
