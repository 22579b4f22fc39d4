package browsertest

import (
	"bytes"
	"image"
	_ "image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// Media Queries Level 5 (W3C): prefers-color-scheme, prefers-reduced-motion,
// pointer and hover; CSSOM View: innerWidth and innerHeight.
func TestPageSeesTheViewItIsShownIn(t *testing.T) {
	b := Start(t)
	p := b.Open(t, serve(t, "", ""), Phone)
	for _, c := range []struct {
		name string
		view View
		want []string
		size [2]int
	}{
		{"phone", Phone, []string{"(prefers-color-scheme: light)", "(prefers-reduced-motion: no-preference)", "(pointer: coarse)", "(hover: none)"}, [2]int{390, 844}},
		{"phone, dark", Phone.InDark(), []string{"(prefers-color-scheme: dark)"}, [2]int{390, 844}},
		{"laptop", Laptop, []string{"(prefers-color-scheme: light)", "(prefers-reduced-motion: no-preference)"}, [2]int{1440, 900}},
		{"laptop, dark and still", Laptop.InDark().HeldStill(), []string{"(prefers-color-scheme: dark)", "(prefers-reduced-motion: reduce)"}, [2]int{1440, 900}},
	} {
		t.Run(c.name, func(t *testing.T) {
			p.Show(t, c.view)
			for _, query := range c.want {
				if !Eval[bool](t, p, "matchMedia('"+query+"').matches") {
					t.Errorf("%s does not hold", query)
				}
			}
			if got := Eval[[2]int](t, p, "[innerWidth, innerHeight]"); got != c.size {
				t.Errorf("the window is %v px, want %v", got, c.size)
			}
		})
	}
}

func TestWaitForCrossesPageLoads(t *testing.T) {
	b := Start(t)
	p := b.Open(t, serve(t, `<a href="/?turned">Turn</a>`, ""), Laptop)
	p.Click(t, "a")
	p.WaitFor(t, `location.search === "?turned" && document.readyState === "complete"`)
}

func TestWaitForBearsWithWhatIsNotThereYet(t *testing.T) {
	b := Start(t)
	p := b.Open(t, serve(t, "", `setTimeout(() => document.body.append(document.createElement("output")), 300)`), Laptop)
	p.WaitFor(t, `document.querySelector("output").localName === "output"`)
}

func TestConditionThatCannotBeReadFailsAtOnce(t *testing.T) {
	b := Start(t)
	p := b.Open(t, serve(t, "", ""), Laptop)
	failures := record(t, func(t testing.TB) { p.WaitFor(t, "nothing.there") })
	if len(failures) != 1 || !strings.Contains(failures[0], "nothing.there") {
		t.Errorf("failures %q, want one that names the condition", failures)
	}
}

func TestSideScrollNamesWhatSticksOut(t *testing.T) {
	b := Start(t)
	wide := `<!doctype html><html lang="en"><meta name="viewport" content="width=device-width, initial-scale=1">
		<title>Wide</title><link rel="icon" href="/static/icons/pinwright.svg"><link rel="stylesheet" href="/page.css">
		<body><p>Narrow</p><table id="lanes" class="wide"><tr><td><svg width="600" height="10"></svg></table></body></html>`
	unfit := `<!doctype html><html lang="en"><title>Unfit for phones</title><link rel="icon" href="/static/icons/pinwright.svg"><p>No viewport element</p></html>`
	for _, c := range []struct {
		name, html string
		view       View
		want       string
	}{
		{"wide on a phone", wide, Phone, "table#lanes.wide"},
		{"wide on a laptop", wide, Laptop, ""},
		// Without a viewport element a phone lays a page out 980 px wide:
		// common practice of mobile browsers.
		{"no viewport element on a phone", unfit, Phone, "980 px wide in a view of 390 px"},
		{"no viewport element on a laptop", unfit, Laptop, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := b.Open(t, serveHTML(t, c.html, ""), c.view)
			got := p.SideScroll(t)
			if (got == "") != (c.want == "") || !strings.Contains(got, c.want) {
				t.Errorf("side scroll %q, want one that says %q", got, c.want)
			}
			failures := record(t, func(t testing.TB) { p.NoSideScroll(t) })
			if (len(failures) == 1) != (c.want != "") {
				t.Errorf("failures %q", failures)
			}
		})
	}
}

func TestScreenshotShowsThePageFromTopToBottom(t *testing.T) {
	folder := t.TempDir()
	t.Setenv(ShotsEnv, folder)
	b := Start(t)
	p := b.Open(t, serve(t, `<svg width="20" height="2000"></svg>`, ""), Phone)
	p.Screenshot(t, "tall/phone")
	content, err := os.ReadFile(filepath.Join(folder, "tall", "phone.png"))
	if err != nil {
		t.Fatal(err)
	}
	picture, kind, err := image.DecodeConfig(bytes.NewReader(content))
	if err != nil || kind != "png" {
		t.Fatalf("a %q (%v), want a png", kind, err)
	}
	if picture.Width != 390 || picture.Height < 2000 {
		t.Errorf("picture of %d×%d px, want 390 px by 2000 or more", picture.Width, picture.Height)
	}
	if failures := record(t, func(t testing.TB) { p.Screenshot(t, "../phone") }); len(failures) != 1 {
		t.Errorf("a screenshot outside the folder: failures %q, want one", failures)
	}
	t.Setenv(ShotsEnv, "")
	p.Screenshot(t, "unwanted")
	if _, err := os.Stat("unwanted.png"); err == nil {
		t.Error("a screenshot without a folder for them was kept")
	}
}
