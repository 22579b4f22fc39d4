package atwheel_test

import (
	"context"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pinwright/web"
	"pinwright/web/webtest"
	"pinwright/wheel/demo"
)

// The demo machine has pin tips at 600 mm, once round 2π × 600 = 3769.9 mm, and
// no radius of the surface; at 590 mm it would be 3707.1 mm.
func TestSheetsSayOnWhichRadiusTheyAreMade(t *testing.T) {
	a := webtest.StartWheel(t, web.New)
	at := fmt.Sprintf("/pinnings/%d/sheets", a.Old)
	const surface = `name="radius" value="surface"`
	for _, query := range []string{"", "?radius=surface", "?radius=tips"} {
		status, page := a.Get(t, at+query)
		webtest.Expect(t, status, page, 200, "made for the pin tips, radius 600 mm", "Once round is 3769.9 mm.", "The machine's file has no radius of the surface.")
		if strings.Contains(page, surface) || !strings.Contains(page, `name="radius" value="tips" checked`) {
			t.Errorf("%q: the pin tips are not what is chosen", query)
		}
	}
	m := demo.Machine()
	m.Wheel.SurfaceRadiusMM = 590
	if err := a.Store.ReplaceMachine(context.Background(), 1, 1, m); err != nil {
		t.Fatal(err)
	}
	status, page := a.Get(t, at)
	webtest.Expect(t, status, page, 200, "made for the wheel's surface, radius 590 mm", "Once round is 3707.1 mm.")
	if !strings.Contains(page, surface+" checked") {
		t.Error("the surface is not what is chosen")
	}
	status, page = a.Get(t, at+"?radius=tips")
	webtest.Expect(t, status, page, 200, "made for the pin tips, radius 600 mm. Once")
}

// The two rows of the pinning, 5 and 7, take one strip of A4 where the demo's 28
// rows take several: the page says what either costs, and draws what is chosen.
func TestSheetsSayWhatOnlyStripsWithPinsCost(t *testing.T) {
	a := webtest.StartWheel(t, web.New)
	at := fmt.Sprintf("/pinnings/%d/sheets", a.Old)
	pages := func(query, pattern string) (n int) {
		t.Helper()
		_, page := a.Get(t, at+query)
		found := regexp.MustCompile(pattern).FindStringSubmatch(webtest.Said(page))
		if found == nil {
			t.Fatalf("%s does not say %s", query, pattern)
		}
		n, _ = strconv.Atoi(found[1])
		return n
	}
	whole, pinned := pages("", `The whole face, (\d+) pages`), pages("", `Only strips that carry pins, (\d+) pages`)
	if pinned >= whole || pinned < 2 {
		t.Errorf("%d pages with pins of %d", pinned, whole)
	}
	if all, chosen := pages("", `(\d+) pages, made for`), pages("?strips=pinned", `(\d+) pages, made for`); all != whole || chosen != pinned {
		t.Errorf("drawn are %d and %d pages, want %d and %d", all, chosen, whole, pinned)
	}
	for page, want := range map[int]int{pinned: 200, pinned + 1: 404} {
		if status, _ := a.Get(t, fmt.Sprintf("%s/template.svg?strips=pinned&page=%d", at, page)); status != want {
			t.Errorf("page %d: %d, want %d", page, status, want)
		}
	}
}

func TestSheetsOfAPinningAreThere(t *testing.T) {
	a := webtest.StartWheel(t, web.New)
	at := fmt.Sprintf("/pinnings/%d/sheets", a.Old)
	status, page := a.Get(t, at)
	webtest.Expect(t, status, page, 200, "Lock the wheel and disconnect its drive.", "Wear eye protection", "marbles", "two people", "Local rules and the staff trained on this machine come first. Nothing here clears anyone for work.", "Template, PDF", "Print at 100 %")
	for file, begins := range map[string]string{
		"template.pdf": "%PDF-", "pins.pdf": "%PDF-", "pins.csv": "step,bar,beat,row", "template.svg?page=1": "<?xml", "template.pdf?paper=A3&radius=tips&edge=bottom": "%PDF-",
		"template.svg?page=1&paper=roll&roll=610": "<?xml",
	} {
		status, text := a.Get(t, at+"/"+file)
		if status != 200 || !strings.HasPrefix(text, begins) {
			t.Errorf("%s: %d %.60q", file, status, text)
		}
	}
	for query, says := range map[string]string{
		"paper=A5": `The paper is "A5"; it should be A4, A3 or roll.`, "radius=axle": `The radius is "axle"`, "edge=left": `The wheel's edge lies at "left"`, "strips=some": `The strips are "some"`,
		"paper=roll&roll=NaN": `The roll's width is "NaN"`,
	} {
		status, page := a.Get(t, at+"?"+query)
		webtest.Expect(t, status, page, 422, says)
		if status, _ := a.Get(t, at+"/template.pdf?"+query); status != 422 {
			t.Errorf("%s as a file: %d", query, status)
		}
	}
	status, page = a.Get(t, at+"?paper=roll&roll=99")
	if status != 200 || !strings.Contains(page, `role="alert"`) {
		t.Errorf("a roll too narrow: %d %.400s", status, webtest.Said(page))
	}
	for _, file := range []string{"template.svg?page=0", "template.svg?page=999", "template.svg", "secrets.txt"} {
		if status, _ := a.Get(t, at+"/"+file); status != 404 {
			t.Errorf("%s: %d", file, status)
		}
	}
	if _, page := a.Get(t, "/pinnings"); !strings.Contains(page, at) {
		t.Error("the list of pinnings does not lead there")
	}
}
