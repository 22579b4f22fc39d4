package machines_test

import (
	"fmt"
	"testing"

	"pinwright/web"
	"pinwright/web/browsertest"
	"pinwright/web/webtest"
	"pinwright/wheel"
)

// What each page is opened for stands in its first screen, pages keep to their
// heights until something is opened, and nothing sticks out or lacks a name.
func TestLookOfTheMachinesPages(t *testing.T) {
	empty, a := webtest.Start(t, web.New), webtest.StartDemo(t, web.New)
	six := webtest.MachineFile(t, func(m *wheel.Machine) { few(m) })
	if status, to := a.Bring(t, "/machines", "six.json", six); status != 303 {
		t.Fatal(to)
	}
	half := webtest.StartDemo(t, web.New)
	bringHalfKnown(t, half)
	b := browsertest.Start(t)
	desk, phone := browsertest.View{WidthPX: 1280, HeightPX: 800}, browsertest.Phone
	narrow := browsertest.View{WidthPX: 320, HeightPX: 640}
	for _, c := range []struct {
		name, url   string
		first       string // that is in the first screen at 1,280 px and on a phone
		mains, high int    // buttons and links of the first rank; height at 1,280 px
	}{
		{"empty", empty.URL + "/machines", `document.querySelector(".empty h2")`, 1, 800},
		{"list", a.URL + "/machines", `[...document.querySelectorAll(".machine-line")].at(-1)`, 1, 800},
		{"machine", a.URL + "/machines/1", `[...document.querySelectorAll("g.wheel")].find((e) => e.checkVisibility())`, 1, 2800},
		{"channel", a.URL + "/machines/1?channel=tube-c3", `[...document.querySelectorAll("g.station")].find((e) => e.checkVisibility())`, 1, 2850},
		{"half", half.URL + "/machines/2", `document.querySelector(".measure-first .measure-links")`, 1, 3150},
		{"half-channel", half.URL + "/machines/2?channel=" + "bar-gs5", `[...document.querySelectorAll("g.station")].find((e) => e.checkVisibility())`, 1, 2500},
	} {
		t.Run(c.name, func(t *testing.T) {
			page := b.Open(t, c.url, desk)
			if n := browsertest.Eval[int](t, page, `document.querySelectorAll("main :is(a, button).main").length`); n != c.mains {
				t.Errorf("%d actions of the first rank, want %d", n, c.mains)
			}
			if high := browsertest.Eval[int](t, page, `document.documentElement.scrollHeight`); high > c.high {
				t.Errorf("the page is %d px high, more than %d", high, c.high)
			}
			for _, v := range []struct {
				name string
				view browsertest.View
				axe  bool
			}{{"desk", desk, true}, {"desk-dark", desk.InDark(), true}, {"phone", phone, true}, {"phone-dark", phone.InDark(), true}, {"narrow", narrow, false}, {"forced", desk.InForcedColours(), false}} {
				page.Show(t, v.view)
				page.NoSideScroll(t)
				page.Contained(t)
				page.Screenshot(t, "look-machines-"+c.name+"-"+v.name)
				page.Handy(t)
				if v.axe {
					page.Axe(t)
				}
				if bottom := browsertest.Eval[float64](t, page, fmt.Sprintf(`%s.getBoundingClientRect().bottom + scrollY`, c.first)); v.name != "narrow" && bottom > float64(v.view.HeightPX) {
					t.Errorf("%s: what the page is for ends at %.0f px, and the window at %d", v.name, bottom, v.view.HeightPX)
				}
			}
		})
	}
}

// The whole machine stands in the first screen of a desk, above the scale; a
// table is opened to all its rows, and a channel's name leads to its drawing.
func TestMachinePageLeadsFromTheTableToTheDrawing(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	page := browsertest.Start(t).Open(t, a.URL+"/machines/1", browsertest.View{WidthPX: 1280, HeightPX: 800})
	if bottom := browsertest.Eval[float64](t, page, `Math.max(...[...document.querySelectorAll("g.station, g.lifts, g.wheel")].filter((e) => e.checkVisibility()).map((e) => e.getBoundingClientRect().bottom))`); bottom > 800 {
		t.Errorf("the machine's drawing ends at %.0f px, want it within 800", bottom)
	}
	shown := `[...document.querySelectorAll("[aria-labelledby=channels] tbody tr")].filter((e) => e.checkVisibility()).length`
	if n := browsertest.Eval[int](t, page, shown); n != 8 {
		t.Errorf("%d channels are shown at first, want 8", n)
	}
	page.Click(t, `[aria-labelledby=channels] .fold-table summary`)
	page.WaitFor(t, shown+` === 28`)
	page.ClickOn(t, "link", "Tube C3")
	page.WaitFor(t, `document.querySelector("#drawn")?.textContent === "Tube C3" && document.readyState === "complete"`)
	page.ClickOn(t, "link", "Show the whole machine")
	page.WaitFor(t, `location.search === ""`)
}
