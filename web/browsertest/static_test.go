package browsertest

import (
	"math"
	"testing"
)

// The static files as a browser takes them, which only a browser can tell.

func TestReducedMotionModuleFollowsTheReader(t *testing.T) {
	b := Start(t)
	p := b.Open(t, serve(t, "<output></output>", `
		import { prefersReducedMotion, onReducedMotionChange } from "/static/js/lib/reduced-motion.js";
		const out = document.querySelector("output");
		out.textContent = prefersReducedMotion();
		const end = onReducedMotionChange((reduced) => {
			out.textContent += " " + reduced + "/" + prefersReducedMotion();
			if (!reduced) end();
		});`), Laptop)
	p.WaitFor(t, `document.querySelector("output").textContent === "false"`)
	p.Show(t, Laptop.HeldStill())
	p.WaitFor(t, `document.querySelector("output").textContent === "false true/true"`)
	p.Show(t, Laptop)
	p.WaitFor(t, `document.querySelector("output").textContent === "false true/true false/false"`)
	p.Show(t, Laptop.HeldStill())
	p.Troubles(t)
	if got := p.Text(t, "output"); got != "false true/true false/false" {
		t.Errorf("after the end of the calls: %q", got)
	}
}

// OpenType's feature tnum gives all figures one advance width; without it this
// font's are proportional: 407 units for "1" and 615 for "8", of 1000 to the
// em, in its hmtx table.
func TestFiguresOfTheTextFontLineUpWhenAsked(t *testing.T) {
	b := Start(t)
	p := b.Open(t, serve(t, "", `
		const link = Object.assign(document.createElement("link"), { rel: "stylesheet", href: "/static/fonts/fonts.css" });
		document.head.append(link);`), Laptop)
	p.WaitFor(t, `[...document.styleSheets].some((sheet) => sheet.href.endsWith("/fonts.css"))`)
	type widths map[string]float64
	measure := func(family, figures string) widths {
		return Eval[widths](t, p, `(async () => {
			const widths = {};
			for (const text of ["0", "1", "2", "3", "4", "5", "6", "7", "8", "9"]) {
				const e = document.createElement("span");
				const font = "100px '`+family+`'";
				e.style.font = font;
				e.style.fontVariantNumeric = "`+figures+`";
				e.style.position = "absolute";
				e.textContent = text;
				document.body.append(e);
				await document.fonts.load(font, text);
				widths[text] = e.getBoundingClientRect().width;
				e.remove();
			}
			return widths;
		})()`)
	}
	near := func(got, wantPX float64) bool { return math.Abs(got-wantPX) < 0.5 }

	proportional := measure("Atkinson Hyperlegible Next", "normal")
	if !near(proportional["1"], 40.7) || !near(proportional["8"], 61.5) {
		t.Errorf("figures 1 and 8 are %v and %v px wide at 100 px, want 40.7 and 61.5", proportional["1"], proportional["8"])
	}
	for family, figures := range map[string]string{"Atkinson Hyperlegible Next": "tabular-nums", "Atkinson Hyperlegible Mono": "normal"} {
		w := measure(family, figures)
		for figure, widthPX := range w {
			if !near(widthPX, w["0"]) {
				t.Errorf("%s: figure %s is %v px wide, figure 0 %v px", family, figure, widthPX, w["0"])
			}
		}
		t.Logf("%s, %s: %v", family, figures, w)
	}
	for _, face := range []string{"400 16px", "700 16px", "italic 400 16px"} {
		for _, text := range []string{"Mill", "Ł"} { // Latin and Latin Extended
			n := Eval[int](t, p, `document.fonts.load("`+face+` 'Atkinson Hyperlegible Next'", "`+text+`").then((faces) => faces.length)`)
			if n != 1 {
				t.Errorf("%s: %d faces loaded for %q, want 1", face, n, text)
			}
		}
	}
}

func TestIconIsDrawn(t *testing.T) {
	b := Start(t)
	p := b.Open(t, serve(t, `<img id="icon" src="/static/icons/pinwright.svg" alt="" width="64" height="64">`, ""), Phone)
	p.WaitFor(t, `document.querySelector("#icon").complete && document.querySelector("#icon").naturalWidth > 0`)
}

func TestHtmxRunsUnderTheStrictPolicy(t *testing.T) {
	b := Start(t)
	p := b.Open(t, serveHTML(t, `<!doctype html><html lang="en"><meta charset="utf-8"><title>htmx</title>
		<link rel="icon" href="/static/icons/pinwright.svg">
		<meta name="htmx-config" content='{"includeIndicatorStyles": false, "allowEval": false}'>
		<script src="/static/vendor/htmx/htmx.min.js" defer></script>
		<button hx-get="/static/css/reset.css" hx-target="#out" hx-swap="textContent">Fetch</button><pre id="out"></pre></html>`, ""), Laptop)
	p.Click(t, "button")
	p.WaitFor(t, `document.querySelector("#out").textContent.includes("@layer reset")`)
}
