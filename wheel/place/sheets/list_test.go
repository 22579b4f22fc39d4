package sheets

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
	"pinwright/wheel/place"
	"pinwright/wheel/place/paper"
	"pinwright/wheel/place/placetest"
)

func mustList(t testing.TB, m *wheel.Machine, p *wheel.Pinning, o ListOptions) *paper.Document {
	t.Helper()
	s, err := PinList(m, p, o)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// ticked is one box of a list, with what stands beside it.
type ticked struct {
	step, row int
	do        string
}

// ticks reads a list's boxes back, page by page and line by line: the row is the
// bold number right of the box, the step the last bold number at the margin.
func ticks(t testing.TB, s *paper.Document) []ticked {
	t.Helper()
	var all []ticked
	for page := 1; page <= s.Pages(); page++ {
		d := placetest.ReadPage(t, s, page)
		step, do := -1, ""
		for _, text := range d.Texts {
			n, err := strconv.Atoi(text.Text)
			switch {
			case text.Bold && err == nil && text.X == paper.Margin+1:
				step, do = n, ""
			case text.Bold && (text.Text == "pull" || text.Text == "drive"):
				do = text.Text
			case text.Bold && err == nil:
				if !slices.ContainsFunc(d.Boxes, func(b placetest.Box) bool {
					return b.W == 5 && b.H == 5 && near(b.X+6.5, text.X) && text.Y > b.Y && text.Y < b.Y+5
				}) {
					t.Errorf("page %d: row %d has no box", page, n)
				}
				all = append(all, ticked{step, n, do})
			}
		}
		boxes := 0
		for _, text := range d.Texts {
			if end := text.X + font(text).Width(text.Text); end > d.Width-paper.Margin+0.01 {
				t.Errorf("page %d: %q ends at %g mm", page, text.Text, end)
			}
		}
		for _, b := range d.Boxes {
			if b.W == 5 {
				boxes++
			}
			if b.Y+b.H > d.Height-paper.Margin {
				t.Errorf("page %d: a box below the paper.Margin", page)
			}
		}
		if page == s.Pages() && boxes == 0 && len(all) > 0 {
			t.Errorf("page %d is empty", page)
		}
	}
	return all
}

func TestListHasEveryPinOnceInTheOrderOfTheWheel(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		m, p, _ := placetest.Pinnings(rt, 12)
		m.Wheel.StepsPerBeat = rapid.IntRange(1, 4).Draw(rt, "beat")
		var want []ticked
		for step := range m.Wheel.Steps {
			for c := range m.Channels {
				if slices.Contains(p.Pins, wheel.Pin{Channel: m.Channels[c].ID, Step: step}) {
					want = append(want, ticked{step, c, ""})
				}
			}
		}
		if got := ticks(t, mustList(t, m, p, ListOptions{Paper: paper.A4})); !slices.Equal(got, want) {
			rt.Fatalf("the list has %v, want %v", got, want)
		}
	})
}

func TestChangeoverListHasEveryMoveOnceInOrder(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		m, from, to := placetest.Pinnings(rt, 12)
		plan := mustPlan(rt, m, from, to, place.Options{Start: rapid.IntRange(0, m.Wheel.Steps-1).Draw(rt, "start")})
		s, err := ChangeoverList(m, plan, ListOptions{Paper: paper.A3})
		if err != nil {
			rt.Fatal(err)
		}
		var want []ticked
		for _, move := range plan.List {
			want = append(want, ticked{move.Step, move.Row, string(move.Do)})
		}
		if got := ticks(t, s); !slices.Equal(got, want) {
			rt.Fatalf("the list has %v, want %v", got, want)
		}
	})
}

// fullBars is a pinning with so many pins in each bar of 16 steps, 3 to a line.
func fullBars(perBar ...int) (*wheel.Machine, *wheel.Pinning) {
	m := machine(16*len(perBar), make([]int, 16)...)
	steps := make([][]int, 16)
	for bar, n := range perBar {
		for i := range n {
			steps[i/16] = append(steps[i/16], bar*16+i%16)
		}
	}
	return m, pinning("Mill Race", steps...)
}

// A line takes 8 mm, 16 steps with 3 pins each 16 lines: the first page has room
// for one such bar below the cautions, each other for one and then not two. A
// bar with 16 pins on each of 16 steps takes 6 lines a step, more than a page.
func TestListBreaksBetweenBarsAndSaysWhereItCannot(t *testing.T) {
	m, p := fullBars(48, 48, 48, 48)
	s := mustList(t, m, p, ListOptions{Paper: paper.A4, Date: placetest.Day})
	if s.Pages() != 4 {
		t.Errorf("%d pages", s.Pages())
	}
	for page := 1; page <= s.Pages(); page++ {
		d := placetest.ReadPage(t, s, page)
		heads := 0
		for _, text := range d.Texts {
			if text.Bold && text.Text == fmt.Sprintf("Bar %d", page) {
				heads++
			}
		}
		if heads != 1 || d.Says("goes on") || d.Says("continued") {
			t.Errorf("page %d does not have bar %d alone", page, page)
		}
		for _, want := range []string{"Pin list", "Mill Race", "Hailstone", "2026-11-25", fmt.Sprintf("page %d of 4", page), fmt.Sprintf("bar %d", page)} {
			if !d.Says(want) {
				t.Errorf("page %d does not say %q", page, want)
			}
		}
	}
	m, p = fullBars(3, 256, 3)
	s = mustList(t, m, p, ListOptions{Paper: paper.A4})
	ends, starts := 0, 0
	for page := 1; page <= s.Pages(); page++ {
		d := placetest.ReadPage(t, s, page)
		if d.Says("Bar 2 is longer than the page and goes on on the next.") {
			ends++
		}
		if d.Says("Bar 2, continued") {
			starts++
		}
	}
	if ends == 0 || ends != starts {
		t.Errorf("bar 2 goes on %d times and is continued %d times", ends, starts)
	}
	if got := ticks(t, s); len(got) != len(p.Pins) {
		t.Errorf("%d boxes for %d pins", len(got), len(p.Pins))
	}
}

func TestCautionsOpenEveryKindOfSheet(t *testing.T) {
	m, p := machine(64, 60, 62), pinning("Mill Race", []int{0, 1})
	change, err := ChangeoverList(m, mustPlan(t, m, p, pinning("B", []int{3}), place.Options{}), ListOptions{Paper: paper.A4})
	if err != nil {
		t.Fatal(err)
	}
	for kind, s := range map[string]*paper.Document{
		"template": mustTemplate(t, m, p, TemplateOptions{Paper: paper.A3}),
		"roll":     mustTemplate(t, m, p, TemplateOptions{Paper: paper.Roll, RollWidthMM: 100}),
		"list":     mustList(t, m, p, ListOptions{Paper: paper.A4}),
		"change":   change,
	} {
		d := placetest.ReadPage(t, s, 1)
		for _, want := range []string{"Before hands go in", "Lock the wheel and disconnect its drive", "eye protection", "marbles", "takes two people", "Local rules"} {
			if !slices.ContainsFunc(d.Texts, func(text placetest.Text) bool { return strings.Contains(text.Text, strings.Fields(want)[0]) }) {
				t.Errorf("%s: the first page does not say %q", kind, want)
			}
		}
		if first := slices.IndexFunc(d.Texts, func(t placetest.Text) bool { return strings.HasPrefix(t.Text, "Bar ") }); first >= 0 && first < slices.IndexFunc(d.Texts, func(t placetest.Text) bool { return strings.HasPrefix(t.Text, "Before hands") }) {
			t.Errorf("%s: cautions come late", kind)
		}
	}
}

func TestTextIsSelectable(t *testing.T) {
	m, p := machine(64, 60, 62), pinning("Frère Привет Ωραία", []int{0, 17})
	m.Channels[0].Name = "Bar C♯5"
	text := placetest.Tool(t, mustList(t, m, p, ListOptions{Paper: paper.A4, Date: placetest.Day}), "pdftotext", "-layout")
	for _, want := range []string{"Pin list · Frère Привет Ωραία · Hailstone", "page 1 of 1", "2026-11-25", "Bar C♯5", "Bar 2", "1 +1/4", "steps 16 to 31", "Lock the wheel and disconnect its drive."} {
		if !strings.Contains(text, want) {
			t.Errorf("pdftotext does not read %q:\n%s", want, text)
		}
	}
}

// A letter that the font lacks is a box, and a note says so; nothing else has
// the note.
func TestLettersTheFontLacksAreBoxesWithANote(t *testing.T) {
	const note = "Letters that this sheet's font lacks are shown as □."
	m := machine(64, 60)
	for title, shown := range map[string]string{
		"Mill Race": "Mill Race", "Frère ♯♭ Привет Ωραία": "Frère ♯♭ Привет Ωραία",
		"日本の歌 x": "□□□□ x", "שלום": "□□□□", "مرحبا": "□□□□□", "🎵 a": "□ a", "👩‍🔧": "□□", "\U0010fffd": "□",
	} {
		text := placetest.Tool(t, mustList(t, m, pinning(title, []int{0}), ListOptions{Paper: paper.A4}), "pdftotext", "-layout")
		if want := "Pin list · " + shown + " · Hailstone"; !strings.Contains(text, want) {
			t.Errorf("%q: it does not say %q:\n%s", title, want, text)
		}
		if strings.Contains(text, note) != strings.Contains(shown, "□") {
			t.Errorf("%q: the note is there: %t", title, strings.Contains(text, note))
		}
		if d := placetest.ReadPage(t, mustList(t, m, pinning(title, []int{0}), ListOptions{Paper: paper.A4}), 1); !d.Says(title) {
			t.Errorf("the SVG does not say %q", title)
		}
	}
}

func TestAnyNameIsPrinted(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		name := rapid.StringN(1, 200, -1).Draw(rt, "name")
		m, p := machine(16, 60), pinning("A", []int{0})
		m.Channels[0].Name, m.Name, p.Title, p.Machine = name, name, name, "x"+name
		s, err := PinList(m, p, ListOptions{Paper: paper.A4})
		if err != nil {
			if !strings.Contains(err.Error(), "control characters") && !strings.Contains(err.Error(), "missing") {
				rt.Fatal(err)
			}
			return
		}
		placetest.ReadPage(t, s, 1)
		if rapid.IntRange(0, 4).Draw(rt, "as PDF") == 0 {
			placetest.PDF(t, s)
		}
	})
}

func TestListsRefuseInWords(t *testing.T) {
	m, p := machine(16, 60), pinning("A", []int{0})
	for paper, want := range map[paper.Paper]string{
		paper.Roll: "a list is not printed on a roll; take A4 or A3",
		"":         `the paper is ""; it should be A4, A3 or roll`,
	} {
		if _, err := PinList(m, p, ListOptions{Paper: paper}); err == nil || err.Error() != want {
			t.Errorf("on %q: %v", paper, err)
		}
	}
	large := machine(4096, make([]int, 60)...)
	steps := make([][]int, 60)
	for i := range steps {
		for s := range 4096 {
			steps[i] = append(steps[i], s)
		}
	}
	if _, err := PinList(large, pinning("A", steps...), ListOptions{Paper: paper.A4}); err == nil || err.Error() != "the list would take more than 2000 pages; the file of comma-separated values holds it all" {
		t.Errorf("245,760 pins: %v", err)
	}
	other := mustPlan(t, machine(16, 60, 62), p, pinning("B", nil, []int{3}), place.Options{})
	if _, err := ChangeoverList(m, other, ListOptions{Paper: paper.A4}); err == nil || err.Error() != `the plan is for a machine with a channel "c1"; Hailstone has none` {
		t.Errorf("a plan for another machine: %v", err)
	}
	if d := placetest.ReadPage(t, mustList(t, m, pinning("A"), ListOptions{Paper: paper.A4}), 1); !d.Says("This pinning has no pins.") {
		t.Error("nothing is said of no pins")
	}
}

// Worked by hand. 256 steps, 4 to the beat, 16 to the bar. Step 14: beat 4.5,
// 360° × 14/256 = 19.6875°, 14 × 2π × 590/256 = 202.7308 mm; row 1: 40 + 18 = 58
// mm. Step 37 is the 6th of bar 3: beat 2.25, 52.0313°, 535.7886 mm.
func TestPinListCSVIsAsWorkedByHand(t *testing.T) {
	m := machine(256, 60, 62)
	m.Channels[1].ID = `=a,"b"`
	p := pinning("A", []int{37})
	p.Pins = append(p.Pins, wheel.Pin{Channel: `=a,"b"`, Step: 14}, wheel.Pin{Channel: `=a,"b"`, Step: 37})
	var b bytes.Buffer
	if err := PinListCSV(&b, m, p, Surface); err != nil {
		t.Fatal(err)
	}
	want := "step,bar,beat,row,channel,angle_deg,arc_mm,edge_mm,radius_mm\r\n" +
		"14,1,4.5,1,\"'=a,\"\"b\"\"\",19.6875,202.731,58,590\r\n" +
		"37,3,2.25,0,c0,52.0313,535.789,40,590\r\n" +
		"37,3,2.25,1,\"'=a,\"\"b\"\"\",52.0313,535.789,58,590\r\n"
	if b.String() != want {
		t.Errorf("it is\n%q\nwant\n%q", b.String(), want)
	}
	if lines, err := csv.NewReader(&b).ReadAll(); err != nil || len(lines) != 4 {
		t.Errorf("it reads back as %v, %v", lines, err)
	}
	b.Reset()
	if err := PinListCSV(&b, m, p, Tips); err != nil || !strings.Contains(b.String(), "14,1,4.5,1,\"'=a,\"\"b\"\"\",19.6875,206.167,58,600\r\n") { // 14 × 2π × 600/256
		t.Errorf("on the tips: %v\n%s", err, b.String())
	}
	m.Wheel.RowPitchMM = 0
	b.Reset()
	if err := PinListCSV(&b, m, p, Tips); err != nil || !strings.Contains(b.String(), "206.167,,600\r\n") {
		t.Errorf("with no distance between rows: %v\n%s", err, b.String())
	}
	if err := PinListCSV(&b, m, pinning("A", []int{256}), Tips); err == nil {
		t.Error("a step past the wheel is written")
	}
}

func TestChangeoverCSVIsThePlansList(t *testing.T) {
	m := machine(8, 60, 62)
	plan := mustPlan(t, m, pinning("A", []int{0, 2}, []int{7}), pinning("B", []int{0, 5}, []int{3, 7}), place.Options{Start: 3})
	var b bytes.Buffer
	if err := ChangeoverCSV(&b, plan); err != nil {
		t.Fatal(err)
	}
	if want := "step,bar,beat,row,channel,do\r\n3,1,1.75,1,c1,drive\r\n5,1,2.25,0,c0,drive\r\n2,1,1.5,0,c0,pull\r\n"; b.String() != want {
		t.Errorf("it is\n%q\nwant\n%q", b.String(), want)
	}
}

func TestWorkThatStartsWithinABarSaysWhichPartOfIt(t *testing.T) {
	m := machine(32, 60)
	for _, c := range []struct {
		start int
		to    []int
		want  []string
	}{
		{start: 5, to: []int{2, 6, 20}, want: []string{"Bar 1 from step 5", "Bar 2", "Bar 1 before step 5"}},
		{start: 5, to: []int{2, 6}, want: []string{"Bar 1 from step 5", "Bar 1 before step 5"}},
		{start: 16, to: []int{2, 20}, want: []string{"Bar 2", "Bar 1"}},
	} {
		s, err := ChangeoverList(m, mustPlan(t, m, pinning("A"), pinning("B", c.to), place.Options{Start: c.start}), ListOptions{Paper: paper.A4})
		if err != nil {
			t.Fatal(err)
		}
		var heads []string
		for _, text := range placetest.ReadPage(t, s, 1).Texts {
			if strings.HasPrefix(text.Text, "Bar ") && text.Bold {
				heads = append(heads, text.Text)
			}
		}
		if !slices.Equal(heads, c.want) {
			t.Errorf("from step %d with %v bars are %q, want %q", c.start, c.to, heads, c.want)
		}
	}
}

func TestOursIsToldFromOthersFiles(t *testing.T) {
	m, p := machine(256, make([]int, 60)...), pinning(strings.Repeat("\"", wheel.MaxName), []int{0})
	s := mustTemplate(t, m, p, TemplateOptions{Paper: paper.A4}) // of many pages and so with a long end
	var svg, pins, change bytes.Buffer
	for _, err := range []error{
		s.WriteSVG(&svg, 1), PinListCSV(&pins, m, p, Tips), ChangeoverCSV(&change, mustPlan(t, m, p, p, place.Options{})),
	} {
		if err != nil {
			t.Fatal(err)
		}
	}
	for name, file := range map[string][]byte{"PDF": placetest.PDF(t, s), "SVG": svg.Bytes(), "pins": pins.Bytes(), "changeover": change.Bytes()} {
		if !Ours(file) {
			t.Errorf("%s is not known", name)
		}
	}
	for _, file := range []string{"", "%PDF-1.4", "step,bar", "Ring the smith on Monday.", "Pinwright"} {
		if Ours([]byte(file)) {
			t.Errorf("%q is taken for ours", file)
		}
	}
}
