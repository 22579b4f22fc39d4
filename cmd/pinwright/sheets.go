package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"pinwright/wheel"
	"pinwright/wheel/place/paper"
	"pinwright/wheel/place/sheets"
	"pinwright/wheel/say"
)

var sheetsUsage = usage{
	name: "pinwright sheets",
	before: `Usage: pinwright sheets -machine FILE -pinning FILE -out FOLDER [flags]

Writes what a crew pins a wheel from, into a folder that is made if need be:
  template.pdf  the wheel's face at 1:1, in pages to join, or as one strip
  pins.pdf      every pin step by step, to tick off by hand
  pins.csv      the same with bar, beat, row, angle, arc and distance from the edge
Paper wrapped round pin tips is longer than on the wheel's surface: the template
says on every page which radius it is made for.

Sheets that were written before are replaced, each whole or not at all. Any other
file of these names is left alone unless -force is given.`,
	after: `Example:
  pinwright sheets -machine hailstone.json -pinning mill-race.json -out mill-race-sheets -paper A3

Exit status: 0 the sheets are written; 2 bad usage or input, and none is.`,
}

// sheetsArgs is what sheets is asked to do.
type sheetsArgs struct {
	machine, pinning, out string
	paper                 paper.Paper
	rollWidthMM           *float64
	radius                sheets.Radius
	edgeBelow, pinnedOnly bool
	svg, force, json      bool
}

func (a *sheetsArgs) flags() *flag.FlagSet {
	fs := newFlags(sheetsUsage)
	fs.StringVar(&a.machine, "machine", "", "the machine `FILE`")
	fs.StringVar(&a.pinning, "pinning", "", "the pinning `FILE`")
	fs.StringVar(&a.out, "out", "", "the `FOLDER` to write the sheets in")
	a.paper = paper.A4
	paperFlag(fs, &a.paper, "the template's `PAPER`: A4, A3 or roll; A4 if left out")
	a.rollWidthMM = lengthFlag(fs, "roll-width", "the roll's width in `MM`, 100 to 5000")
	fs.Func("radius", "the `RADIUS` the template is made for: surface, the wheel's own, or tips, that of the\npin tips; surface if left out", func(s string) error {
		a.radius = sheets.Radius(s)
		_, err := a.radius.MM(wheel.Wheel{})
		if err != nil || s == "" {
			return errors.New("it should be surface or tips")
		}
		return nil
	})
	fs.Func("edge", "where the wheel's edge lies on the template, top or bottom, as `SIDE`, so that steps\nfollow to the right as they pass the levers; top if left out", func(s string) error {
		a.edgeBelow = s == "bottom"
		if s != "top" && s != "bottom" {
			return errors.New("it should be top or bottom")
		}
		return nil
	})
	fs.BoolVar(&a.pinnedOnly, "pinned-only", false, "print only strips of the template that carry pins, where that takes fewer")
	fs.BoolVar(&a.svg, "svg", false, "write the template's pages and the list's as SVG too")
	fs.BoolVar(&a.force, "force", false, "replace files of these names that are not sheets")
	fs.BoolVar(&a.json, "json", false, "answer with one JSON object")
	return fs
}

// sheetsReport says what is written.
type sheetsReport struct {
	machine     string
	pinning     string
	pins        int
	paper       paper.Paper
	rollWidthMM *float64 // nil where it is no roll
	radius      sheets.Radius
	radiusMM    float64
	roundMM     float64 // the way once round on that radius
	pages       int     // of all PDF files
	files       []sheetFile
	missing     []missingSheet
}

type sheetFile struct {
	name     string
	pages    *int     // nil where there are none
	widthMM  *float64 // of the first page
	heightMM *float64 // of the first page
	target   target
	write    func(io.Writer) error
}

type missingSheet struct {
	name string
	why  string
}

func sheetsCommand(_ context.Context, args []string, stdout, stderr io.Writer) int {
	var a sheetsArgs
	flags := a.flags()
	if status, ok := sheetsUsage.parse(flags, args, stdout, stderr); !ok {
		return status
	}
	if !sheetsUsage.needs(flags, stderr, "machine", "pinning", "out") {
		return refused
	}
	switch {
	case a.paper == paper.Roll && *a.rollWidthMM == 0:
		return sheetsUsage.misused(stderr, "-roll-width is missing; a roll needs it")
	case a.paper != paper.Roll && *a.rollWidthMM != 0:
		return sheetsUsage.misused(stderr, "-roll-width is only for a roll; %s has its own size", a.paper)
	}
	if a.paper == paper.Roll {
		if err := sheets.CheckRollWidth(*a.rollWidthMM); err != nil {
			return sheetsUsage.misused(stderr, "%s", err)
		}
	}
	in := inputs{stderr: stderr}
	w := input(&in, a.machine, readMachine)
	p := input(&in, a.pinning, readPinning)
	if in.failed {
		return refused
	}
	m := w.Machine
	if err := p.CheckOn(m).Err(); err != nil {
		return complain(stderr, a.pinning, err)
	}
	report, err := a.draw(m, p, time.Now())
	if err != nil {
		return complain(stderr, a.machine, err)
	}
	made, err := makeFolder(a.out)
	if err != nil {
		return complain(stderr, a.out, err)
	}
	if err := writeSheets(report.files, a.out, a.force, a.machine, a.pinning); err != nil {
		if made {
			_ = os.Remove(a.out) // where nothing is in it
		}
		fmt.Fprintln(stderr, err)
		return refused
	}
	remarkOnMachine(stderr, m, p, a.machine, a.pinning)
	for _, missing := range report.missing {
		remark(stderr, "there is no %s: %s", missing.name, missing.why)
	}
	remarkOnPagesOfBefore(stderr, a.out, report.files)
	if a.json {
		return answerJSON(stdout, stderr, newSheetsJSON(report), done)
	}
	return answer(stdout, stderr, report.words(a.out), done)
}

// draw works out all sheets, none of which is written yet.
func (a *sheetsArgs) draw(m *wheel.Machine, p *wheel.Pinning, now time.Time) (*sheetsReport, error) {
	m = m.CountedFor(p)
	radiusMM, err := a.radius.MM(m.Wheel)
	if err != nil {
		return nil, err
	}
	r := &sheetsReport{
		machine: m.Name, pinning: p.Title, pins: len(p.Pins), paper: a.paper, radius: sheets.Surface,
		radiusMM: radiusMM, roundMM: sheets.RoundMM(radiusMM),
	}
	if a.radius == sheets.Tips || m.Wheel.SurfaceRadiusMM == 0 {
		r.radius = sheets.Tips
	}
	if a.paper == paper.Roll {
		r.rollWidthMM = a.rollWidthMM
	}
	template, err := sheets.Template(m, p, sheets.TemplateOptions{
		Paper: a.paper, RollWidthMM: *a.rollWidthMM, Radius: a.radius, EdgeBelow: a.edgeBelow, PinnedOnly: a.pinnedOnly, Date: now,
	})
	switch {
	case errors.Is(err, sheets.ErrNoRowPitch):
		r.missing = append(r.missing, missingSheet{"template.pdf", err.Error()})
	case err != nil:
		return nil, err
	default:
		r.add("template", template, a.svg)
	}
	list, err := sheets.PinList(m, p, sheets.ListOptions{Paper: sheets.ListPaper(a.paper), Radius: a.radius, Date: now})
	switch {
	case errors.Is(err, sheets.ErrTooLong):
		r.missing = append(r.missing, missingSheet{"pins.pdf", err.Error()})
	case err != nil:
		return nil, err
	default:
		r.add("pins", list, a.svg)
	}
	r.files = append(r.files, sheetFile{name: "pins.csv", write: func(out io.Writer) error {
		return sheets.PinListCSV(out, m, p, a.radius)
	}})
	return r, nil
}

func (r *sheetsReport) add(name string, s *paper.Document, svg bool) {
	file := func(name string, pages, first int, write func(io.Writer) error) {
		w, h := s.PageMM(first)
		r.files = append(r.files, sheetFile{name: name, pages: &pages, widthMM: &w, heightMM: &h, write: write})
	}
	file(name+".pdf", s.Pages(), 1, s.WritePDF)
	r.pages += s.Pages()
	if !svg {
		return
	}
	digits := len(strconv.Itoa(s.Pages()))
	for page := 1; page <= s.Pages(); page++ {
		numbered := name + ".svg"
		if s.Pages() > 1 {
			numbered = fmt.Sprintf("%s-%0*d.svg", name, digits, page)
		}
		file(numbered, 1, page, func(out io.Writer) error { return s.WriteSVG(out, page) })
	}
}

// makeFolder makes a folder where there is none, within one that is there.
func makeFolder(path string) (made bool, err error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if err := os.Mkdir(path, 0o777); err != nil {
			return false, fmt.Errorf("the folder could not be made: %w", bare(err))
		}
		return true, nil
	case err != nil:
		return false, bare(err)
	case !info.IsDir():
		return false, errors.New("it is a file; name a folder")
	}
	return false, nil
}

// writeSheets looks at every place before it writes the first file. Its error
// names the file.
func writeSheets(files []sheetFile, folder string, force bool, read ...string) error {
	for i := range files {
		path := filepath.Join(folder, files[i].name)
		to, err := sheetTarget(path, force, read...)
		if err != nil {
			return fmt.Errorf("%s: %w", path, err)
		}
		files[i].target = to
	}
	for _, f := range files {
		if err := fillSheet(f.target, f.write); err != nil {
			return fmt.Errorf("%s: it could not be written: %w", filepath.Join(folder, f.name), err)
		}
	}
	return nil
}

// remarkOnPagesOfBefore names pages in the folder that are not of these sheets,
// so that nobody takes them for theirs.
func remarkOnPagesOfBefore(stderr io.Writer, folder string, files []sheetFile) {
	var old []string
	for _, kind := range []string{"template", "pins"} {
		for _, pattern := range []string{kind + ".*", kind + "-*.svg"} {
			found, _ := filepath.Glob(filepath.Join(folder, pattern)) // the pattern is right
			for _, path := range found {
				name := filepath.Base(path)
				if !slices.ContainsFunc(files, func(f sheetFile) bool { return f.name == name }) {
					old = append(old, name)
				}
			}
		}
	}
	if len(old) > 0 {
		remark(stderr, "%s has %s left from before, which do not belong to these sheets: %s", folder, say.Count(len(old), "file", "files"), strings.Join(old[:min(len(old), 3)], ", "))
	}
}

func (r *sheetsReport) words(folder string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s on %s, %s, written to %s\n\n", r.pinning, r.machine, say.Count(r.pins, "pin", "pins"), folder)
	for _, f := range r.files {
		switch {
		case f.pages == nil:
			fmt.Fprintf(&b, "  %s\n", f.name)
		case strings.HasSuffix(f.name, ".svg"):
		default:
			fmt.Fprintf(&b, "  %-13s %s of %s × %s mm\n", f.name, say.Count(*f.pages, "page", "pages"), say.Rounded(*f.widthMM, 1), say.Rounded(*f.heightMM, 1))
		}
	}
	svgs := 0
	for _, f := range r.files {
		if strings.HasSuffix(f.name, ".svg") {
			svgs++
		}
	}
	if svgs > 0 {
		fmt.Fprintf(&b, "  and %s of SVG\n", say.Count(svgs, "page", "pages"))
	}
	of := "wheel's surface"
	if r.radius == sheets.Tips {
		of = "pin tips"
	}
	fmt.Fprintf(&b, "\nMade for the %s, radius %s mm, %s mm round. Print at 100 %% and measure the\n100 mm bar on every page before anything is cut.\n", of, say.Rounded(r.radiusMM, 1), say.Rounded(r.roundMM, 1))
	return b.String()
}
