package browsertest

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
)

// sideScroll reports how far the page is wider than the view asked for, and
// what sticks out. On a phone a page too wide widens its own window, so the
// window's width alone would not tell.
const sideScroll = `(asked => {
	const widthPX = document.scrollingElement.scrollWidth;
	const limitPX = Math.min(innerWidth, asked);
	if (widthPX <= limitPX) return "";
	const name = e => e.localName + (e.id && "#" + e.id) + [...e.classList].map(c => "." + c).join("");
	const out = [...document.body.querySelectorAll("*")].filter(e => e.getBoundingClientRect().right > limitPX + 0.5);
	return "the page is " + widthPX + " px wide in a view of " + limitPX + " px; out at the side: " + out.slice(0, 5).map(name).join(", ");
})(%d)`

// SideScroll says what makes the page scroll sideways; "" if nothing does.
func (p *Page) SideScroll(t testing.TB) string {
	t.Helper()
	return Eval[string](t, p, fmt.Sprintf(sideScroll, p.view.WidthPX))
}

// NoSideScroll fails t if the page is wider than its view.
func (p *Page) NoSideScroll(t testing.TB) {
	t.Helper()
	if s := p.SideScroll(t); s != "" {
		t.Error(s)
	}
}

// Screenshot keeps a picture of the whole page, from top to bottom, as
// name.png in the folder that PINWRIGHT_SHOTS names; name may have folders in
// it. Without that variable it does nothing.
func (p *Page) Screenshot(t testing.TB, name string) {
	t.Helper()
	folder := os.Getenv(ShotsEnv)
	if folder == "" {
		return
	}
	if !filepath.IsLocal(name) {
		t.Fatalf("screenshot %q would lie outside the folder for screenshots", name)
	}
	ctx, cancel := context.WithTimeout(p.ctx, stepLimit)
	defer cancel()
	picture, err := chromedp.Run(ctx, chromedp.FullScreenshot(100))
	if err != nil {
		t.Fatalf("cannot take screenshot %s: %v", name, err)
	}
	file := filepath.Join(folder, strings.TrimSuffix(name, ".png")+".png")
	if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(file, picture, 0o644); err != nil {
		t.Fatal(err)
	}
}

// uncontained names elements of the page's main part that stick out of the
// element that holds them, what scrolls sideways or hides its overflow aside.
const uncontained = `(() => {
	const name = e => e.localName + (e.id && "#" + e.id) + [...e.classList].map(c => "." + c).join("");
	const out = [];
	for (const e of document.querySelectorAll("main *")) {
		let holder = e.parentElement;
		while (getComputedStyle(holder).display === "contents") holder = holder.parentElement;
		const box = e.getBoundingClientRect();
		if (!e.checkVisibility() || box.width === 0 || e.ownerSVGElement || e.closest(".unseen") || holder.matches("tr, tbody, thead, table, select, span, a, label, summary")) continue;
		const style = getComputedStyle(e);
		if (style.position !== "static" && style.position !== "relative" || style.display === "inline") continue;
		if (e.parentElement.closest(".wide") || getComputedStyle(holder).overflowX !== "visible") continue;
		const over = holder.getBoundingClientRect();
		if (box.right > over.right + 1.5 || box.left < over.left - 1.5) out.push(name(e) + " in " + name(holder) + ": " + Math.round(box.left) + " to " + Math.round(box.right) + " in " + Math.round(over.left) + " to " + Math.round(over.right));
	}
	return out;
})()`

// Contained fails t if an element sticks out sideways of the one that holds it.
func (p *Page) Contained(t testing.TB) {
	t.Helper()
	for _, s := range Eval[[]string](t, p, uncontained) {
		t.Errorf("sticks out: %s", s)
	}
}

// InFirstScreen fails t for parts, given by CSS selectors, that are not whole in
// the window before anything is scrolled.
func (p *Page) InFirstScreen(t testing.TB, parts ...string) {
	t.Helper()
	for _, part := range parts {
		if out := Eval[string](t, p, fmt.Sprintf(`(() => {
			const e = document.querySelector(%q), box = e?.getBoundingClientRect();
			if (!e?.checkVisibility()) return "not shown";
			return scrollY || box.top < 0 || box.bottom > innerHeight || box.left < 0 || box.right > innerWidth ? "at " + [box.left, box.top, box.right, box.bottom].map(Math.round) : "";
		})()`, part)); out != "" {
			t.Errorf("%s is not in the first screen: %s", part, out)
		}
	}
}

// unhandy names controls of the page's main part that have no name, or that are
// smaller than 24 by 24 px (WCAG 2.2, 2.5.8). Links within a sentence may be.
const unhandy = `[...document.querySelectorAll("main :is(button, a, input, select, summary)")]
	.filter((e) => e.checkVisibility())
	.flatMap((e) => {
		const name = (e.ariaLabel ?? e.textContent).trim() || [...e.querySelectorAll("img")].map((i) => i.alt).join(""), box = e.getBoundingClientRect();
		const what = e.localName + " “" + name.slice(0, 40) + "”";
		return [
			!e.matches("input, select") && !name && what + " has no name: " + e.outerHTML.slice(0, 80),
			!e.matches("p a") && (box.width < 24 || box.height < 24) && what + " is " + Math.round(box.width) + " by " + Math.round(box.height),
		].filter(Boolean);
	})`

// Handy fails t for controls that have no name or are too small to be hit.
func (p *Page) Handy(t testing.TB) {
	t.Helper()
	for _, s := range Eval[[]string](t, p, unhandy) {
		t.Error(s)
	}
}

// Height is how tall the page is in px.
func (p *Page) Height(t testing.TB) int {
	t.Helper()
	return Eval[int](t, p, `Math.ceil(document.documentElement.getBoundingClientRect().height)`)
}
