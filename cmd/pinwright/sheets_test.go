package main

import (
	"bytes"
	"encoding/csv"
	"encoding/xml"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pinwright/wheel/place/sheets"
)

// pitched is the machine with its rows 18 mm apart from 40 mm on and a surface
// of 590 mm radius, as a file.
func (f folder) pitched() string {
	f.t.Helper()
	return f.edited("machine.json", `"steps": 256,`, `"surface_radius_mm": 590, "first_row_mm": 40, "row_pitch_mm": 18, "steps": 256,`)
}

// Worked by hand: 2π × 590 mm = 3707.0793 mm. A page across takes a bar of 16
// steps, so that there are 16 pages and one to read first; the three rows end 40
// + 2 × 18 + 9 = 85 mm from the edge. Of the pins, steps 14, 15 and 40.
func TestSheetsWritesTemplateAndListAndSaysWhatTheyAre(t *testing.T) {
	f := newFolder(t)
	out := f.file("sheets")
	r := call("sheets", "-machine", f.pitched(), "-pinning", f.file("pinning.json"), "-out", out, "-json")
	if r.status != done || r.err != "" {
		t.Fatalf("status %d, errors %q", r.status, r.err)
	}
	report := object(t, r.out)
	wantKeys(t, "the report", report, "machine", "pinning", "pins", "paper", "roll_width_mm", "radius", "radius_mm", "round_mm", "pages", "files", "missing")
	for key, want := range map[string]any{
		"machine": "Hailstone", "pinning": "Mill Race", "pins": 3.0, "paper": "A4", "roll_width_mm": nil, "radius": "surface", "radius_mm": 590.0, "pages": 18.0,
	} {
		if report[key] != want {
			t.Errorf("%s is %v, want %v", key, report[key], want)
		}
	}
	near(t, "round_mm", report["round_mm"], 3707.0793315)
	var names []string
	for _, file := range report["files"].([]any) {
		wantKeys(t, "a file", file, "file", "pages", "width_mm", "height_mm")
		name := file.(map[string]any)["file"].(string)
		names = append(names, name)
		data, err := os.ReadFile(filepath.Join(out, name))
		if err != nil || !sheets.Ours(data) {
			t.Errorf("%s: %v, and ours: %t", name, err, sheets.Ours(data))
		}
	}
	if want := []string{"template.pdf", "pins.pdf", "pins.csv"}; !slices.Equal(names, want) {
		t.Errorf("files are %q, want %q", names, want)
	}
	pdf := f.read("sheets/template.pdf")
	for _, box := range regexp.MustCompile(`/MediaBox \[0 0 ([0-9.]+) ([0-9.]+)\]`).FindAllStringSubmatch(pdf, -1) {
		w, _ := strconv.ParseFloat(box[1], 64)
		if w = w * 25.4 / 72; w < 296.9 || w > 297.1 {
			t.Errorf("a page is %g mm wide", w)
		}
	}
	lines, err := csv.NewReader(strings.NewReader(f.read("sheets/pins.csv"))).ReadAll()
	if err != nil || len(lines) != 4 {
		t.Fatalf("the list is %v, %v", lines, err)
	}
	if want := []string{"40", "3", "3", "1", "bar-e5", "56.25", "579.231", "58", "590"}; !slices.Equal(lines[3], want) { // 40 × 2π × 590/256
		t.Errorf("the last pin is %q, want %q", lines[3], want)
	}
}

func TestSheetsDoesAsItsFlagsSay(t *testing.T) {
	f := newFolder(t)
	machine := f.pitched()
	on := func(flags ...string) map[string]any {
		t.Helper()
		r := call(append([]string{"sheets", "-machine", machine, "-pinning", f.file("pinning.json"), "-out", f.file("out"), "-json"}, flags...)...)
		if r.status != done {
			t.Fatalf("%q: status %d, errors %q", flags, r.status, r.err)
		}
		return object(t, r.out)
	}
	first := func(report map[string]any) map[string]any { return report["files"].([]any)[0].(map[string]any) }
	if r := on("-paper", "a3"); r["paper"] != "A3" || max(first(r)["width_mm"].(float64), first(r)["height_mm"].(float64)) != 420 {
		t.Errorf("A3: %v", r)
	}
	if r := on("-paper", "roll", "-roll-width", "610", "-radius", "tips"); r["roll_width_mm"] != 610.0 || first(r)["pages"] != 1.0 || first(r)["height_mm"] != 610.0 || r["radius"] != "tips" || r["radius_mm"] != 600.0 {
		t.Errorf("on a roll: %v", r)
	}
	r := on("-paper", "roll", "-roll-width", "610", "-svg", "-edge", "bottom")
	if files := r["files"].([]any); len(files) != 5 {
		t.Errorf("with SVG the files are %v", files)
	}
	for _, name := range []string{"out/template.svg", "out/pins.svg"} {
		dec := xml.NewDecoder(strings.NewReader(f.read(name)))
		for {
			if _, err := dec.Token(); err != nil {
				if err.Error() != "EOF" {
					t.Errorf("%s: %v", name, err)
				}
				break
			}
		}
	}
	// Pages from before are named, and left.
	on("-svg")
	if r := call("sheets", "-machine", machine, "-pinning", f.file("pinning.json"), "-out", f.file("out")); r.status != done ||
		!strings.Contains(r.err, "has 19 files left from before, which do not belong to these sheets") {
		t.Errorf("status %d, errors %q", r.status, r.err)
	}
}

// Rows 130 mm apart lie at 40, 170 and 300 mm, the last of them without pins. On
// A4 across, 16 pages go round; the whole face of 365 mm takes three strips of
// those, rows 0 and 1 with 6 mm on either side, 142 mm, one. One page is to be
// read first.
func TestSheetsLeavesStripsWithoutPinsOut(t *testing.T) {
	f := newFolder(t)
	machine := f.edited("machine.json", `"steps": 256,`, `"surface_radius_mm": 590, "first_row_mm": 40, "row_pitch_mm": 130, "steps": 256,`)
	for _, c := range []struct {
		flags []string
		want  float64
	}{{nil, 1 + 3*16}, {[]string{"-pinned-only"}, 1 + 16}} {
		r := call(append([]string{"sheets", "-machine", machine, "-pinning", f.file("pinning.json"), "-out", f.file("out"), "-json"}, c.flags...)...)
		if r.status != done {
			t.Fatalf("%q: status %d, errors %q", c.flags, r.status, r.err)
		}
		template := object(t, r.out)["files"].([]any)[0].(map[string]any)
		if template["file"] != "template.pdf" || template["pages"] != c.want {
			t.Errorf("%q: %v, want %g pages", c.flags, template, c.want)
		}
	}
}

func TestSheetsReportsToPeople(t *testing.T) {
	f := newFolder(t)
	out := f.file("sheets")
	r := call("sheets", "-machine", f.pitched(), "-pinning", f.file("pinning.json"), "-out", out)
	want := `Mill Race on Hailstone, 3 pins, written to ` + out + `

  template.pdf  17 pages of 297 × 210 mm
  pins.pdf      1 page of 210 × 297 mm
  pins.csv

Made for the wheel's surface, radius 590 mm, 3707.1 mm round. Print at 100 % and measure the
100 mm bar on every page before anything is cut.
`
	if r.status != done || r.err != "" || r.out != want {
		t.Errorf("status %d, errors %q, it says\n%s\nwant\n%s", r.status, r.err, r.out, want)
	}
}

// A machine whose file has no distance between rows has no template, and lists
// all the same.
func TestSheetsWithoutRowPitchHasListsAndSaysWhatIsMissing(t *testing.T) {
	f := newFolder(t)
	out := f.file("sheets")
	r := call("sheets", "-machine", f.file("machine.json"), "-pinning", f.file("pinning.json"), "-out", out, "-json")
	if want := "note: there is no template.pdf: wheel.row_pitch_mm is 0; a template needs the distance from row to row\n"; r.status != done || r.err != want {
		t.Errorf("status %d, errors %q", r.status, r.err)
	}
	report := object(t, r.out)
	missing := report["missing"].([]any)
	if len(missing) != 1 || len(report["files"].([]any)) != 2 {
		t.Fatalf("the report is %v", report)
	}
	wantKeys(t, "what is missing", missing[0], "file", "why")
	if _, err := os.Stat(filepath.Join(out, "pins.pdf")); err != nil {
		t.Error(err)
	}
}

func TestSheetsRefusesInWordsAndWritesNothing(t *testing.T) {
	f := newFolder(t)
	machine, pinning, out := f.pitched(), f.file("pinning.json"), f.file("sheets")
	const more = " (see pinwright sheets -h)"
	on := func(flags ...string) told {
		return call(append([]string{"sheets", "-machine", machine, "-pinning", pinning, "-out", out, "-json"}, flags...)...)
	}
	on("-paper", "letter").refuses(t, `pinwright sheets: -paper is "letter"; it should be A4, A3 or roll`+more)
	on("-radius", "middle").refuses(t, `pinwright sheets: -radius is "middle"; it should be surface or tips`+more)
	on("-edge", "left").refuses(t, `pinwright sheets: -edge is "left"; it should be top or bottom`+more)
	on("-paper", "roll").refuses(t, "pinwright sheets: -roll-width is missing; a roll needs it"+more)
	on("-roll-width", "610").refuses(t, "pinwright sheets: -roll-width is only for a roll; A4 has its own size"+more)
	for _, width := range []string{"NaN", "-610", "0", "wide", "inf"} {
		on("-paper", "roll", "-roll-width", width).refuses(t, `pinwright sheets: -roll-width is "`+width+`"; a length is a number of mm above 0`+more)
	}
	on("-paper", "roll", "-roll-width", "20").refuses(t, "pinwright sheets: the roll's width is 20 mm; it should be 100 to 5000 mm"+more)
	small := f.edited("machine.json", `"steps": 256,`, `"surface_radius_mm": 590000, "row_pitch_mm": 18, "steps": 256,`)
	call("sheets", "-machine", small, "-pinning", pinning, "-out", out).refuses(t,
		small+": A4 is too small: it leaves 243 mm along the turn, and one step takes 14480.78 mm of arc; take larger paper or a roll")
	other := f.edited("pinning.json", `"step": 40`, `"step": 256`)
	call("sheets", "-machine", f.pitched(), "-pinning", other, "-out", out).refuses(t, other+": pins[2].step is 256; the wheel of Hailstone has steps 0 to 255")
	call("sheets", "-machine", f.pitched(), "-pinning", pinning, "-out", pinning).refuses(t, pinning+": it is a file; name a folder")
	call("sheets", "-machine", f.pitched(), "-pinning", pinning, "-out", f.file("no/folder")).refuses(t, f.file("no/folder")+": the folder could not be made: no such file or directory")
	if _, err := os.Stat(out); err == nil {
		t.Error("a folder was made")
	}
}

func TestSheetsLeaveOthersFilesAlone(t *testing.T) {
	f := newFolder(t)
	machine, pinning := f.pitched(), f.file("pinning.json")
	f.write("pins.csv", "Ring the smith on Monday.")
	on := func(flags ...string) told {
		return call(append([]string{"sheets", "-machine", machine, "-pinning", pinning, "-out", f.path}, flags...)...)
	}
	on().refuses(t, f.file("pins.csv")+": it is there already and was not written by this command; name another file or folder, or replace it with -force")
	if f.read("pins.csv") != "Ring the smith on Monday." {
		t.Error("it was replaced")
	}
	if _, err := os.Stat(f.file("template.pdf")); err == nil {
		t.Error("a part of the sheets was written")
	}
	if r := on("-force"); r.status != done || r.err != "" {
		t.Errorf("status %d, errors %q", r.status, r.err)
	}
	before := f.read("pins.csv")
	if r := on(); r.status != done || !bytes.Equal([]byte(before), []byte(f.read("pins.csv"))) { // sheets from before
		t.Errorf("status %d, errors %q", r.status, r.err)
	}
	if left, _ := filepath.Glob(f.file("*.new")); len(left) > 0 {
		t.Errorf("left behind: %q", left)
	}
}
