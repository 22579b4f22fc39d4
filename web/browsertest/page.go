package browsertest

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// A View is how a reader looks at a page.
type View struct {
	WidthPX, HeightPX int
	// Touch makes the screen a phone's: fingers, no hover, and a layout as
	// wide as the page's viewport element says.
	Touch bool
	// Dark asks for dark colours, light ones otherwise.
	Dark bool
	// Still asks for reduced motion.
	Still bool
	// Forced has the system choose all colours, as high contrast themes do.
	Forced bool
	// Print shows the page as it is printed.
	Print bool
}

// The views that every page must be good in.
var (
	Phone  = View{WidthPX: 390, HeightPX: 844, Touch: true}
	Laptop = View{WidthPX: 1440, HeightPX: 900}
)

// InDark returns the view with dark colours.
func (v View) InDark() View {
	v.Dark = true
	return v
}

// HeldStill returns the view with reduced motion.
func (v View) HeldStill() View {
	v.Still = true
	return v
}

// InForcedColours returns the view with colours that the system chooses.
func (v View) InForcedColours() View {
	v.Forced = true
	return v
}

// emulate makes the browser show pages in the view.
func (v View) emulate() chromedp.Action[chromedp.Void] {
	var touch []chromedp.EmulateViewportOption
	if v.Touch {
		touch = append(touch, chromedp.EmulateMobile, chromedp.EmulateTouch, chromedp.EmulatePortrait)
	}
	scheme, motion, forced, media := "light", "no-preference", "none", ""
	if v.Dark {
		scheme = "dark"
	}
	if v.Still {
		motion = "reduce"
	}
	if v.Forced {
		forced = "active"
	}
	if v.Print {
		media = "print"
	}
	return chromedp.Steps(
		chromedp.EmulateViewport(int64(v.WidthPX), int64(v.HeightPX), touch...),
		chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
			_, err := cdp.Call(ctx, target, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
				Media: media,
				Features: []*emulation.MediaFeature{
					{Name: "prefers-color-scheme", Value: scheme},
					{Name: "prefers-reduced-motion", Value: motion},
					{Name: "forced-colors", Value: forced},
				},
			})
			return err
		}),
	)
}

// A Page is one tab, in a view, with cookies and storage of its own. Its
// methods take the test that they work for and fail it at once if a step does
// not succeed within 30 seconds. One goroutine at a time may use a Page.
type Page struct {
	ctx   context.Context
	view  View
	watch *watch
}

// Open opens address in a new page, and closes the page when t ends. If the
// page met trouble by then that Troubles has not handed out, t fails.
func (b *Browser) Open(t testing.TB, address string, view View) *Page {
	t.Helper()
	p := &Page{view: view, watch: &watch{}}
	ctx, cancel := chromedp.NewContext(b.ctx,
		chromedp.WithNewBrowserContext(), chromedp.WithListener(p.watch.note))
	p.ctx = ctx
	t.Cleanup(func() {
		for _, trouble := range p.Troubles(t) {
			t.Errorf("%s: %s", address, trouble)
		}
		cancel()
	})
	p.watch.answer = func(accept bool) { go p.answerDialog(accept) }
	if err := within(startLimit, cancel, func() error { return chromedp.Do(ctx) }); err != nil {
		t.Fatalf("no new page: %v", err)
	}
	p.Do(t, "set the view", view.emulate())
	p.Go(t, address)
	return p
}

// Go leads the page to another address, and waits until it and its fonts are
// loaded.
func (p *Page) Go(t testing.TB, address string) {
	t.Helper()
	parsed, err := url.Parse(address)
	if err != nil {
		t.Fatal(err)
	}
	p.watch.allow(parsed.Host)
	p.Do(t, "open "+address, chromedp.Navigate(address))
	Eval[bool](t, p, `document.fonts.ready.then(() => true)`)
}

// Show changes the view of the page without loading it anew.
func (p *Page) Show(t testing.TB, view View) {
	t.Helper()
	p.Do(t, "change the view", view.emulate())
	p.view = view
}

// Do runs chromedp's actions; what names them in the failure, as in "click #x".
func (p *Page) Do(t testing.TB, what string, steps ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	if err := p.try(steps...); err != nil {
		t.Fatalf("cannot %s: %v", what, err)
	}
}

func (p *Page) try(steps ...chromedp.Action[chromedp.Void]) error {
	ctx, cancel := context.WithTimeout(p.ctx, stepLimit)
	defer cancel()
	return chromedp.Do(ctx, steps...)
}

// Eval returns the value of a JavaScript expression in the page, awaiting it if
// it is a promise.
func Eval[T any](t testing.TB, p *Page, expression string) T {
	t.Helper()
	v, err := eval[T](p, expression)
	if err != nil {
		t.Fatalf("cannot evaluate %s: %v", expression, err)
	}
	return v
}

func eval[T any](p *Page, expression string) (T, error) {
	ctx, cancel := context.WithTimeout(p.ctx, stepLimit)
	defer cancel()
	return chromedp.Run(ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
}

// WaitFor waits until a JavaScript expression is true, across page loads and
// while an element that it reads is not there yet.
func (p *Page) WaitFor(t testing.TB, condition string) {
	t.Helper()
	deadline := time.Now().Add(stepLimit)
	for {
		ok, err := eval[bool](p, `Boolean(`+condition+`)`)
		if ok {
			return
		}
		if unreadable(err) || time.Now().After(deadline) {
			at, _ := eval[string](p, `location.href`)
			t.Fatalf("%s is not true at %s (%v)", condition, at, err)
		}
		time.Sleep(20 * time.Millisecond)
	}
}

// unreadable says whether an expression will never have a value: it is no
// JavaScript, or names what no page has. A TypeError is what reading an element
// that is not there yet gives, and any other error comes of a page just being
// replaced.
func unreadable(err error) bool {
	var e *chromedp.ExceptionError
	return errors.As(err, &e) && e.Exception != nil && e.Exception.ClassName != "TypeError"
}

// Text returns what a reader sees of the first element that the CSS selector
// fits, and waits for the element if need be.
func (p *Page) Text(t testing.TB, selector string) string {
	t.Helper()
	// Found and read at once: the page may put another in its place between.
	found := fmt.Sprintf("document.querySelector(%q)", selector)
	p.WaitFor(t, found)
	return Eval[string](t, p, found+"?.innerText ?? ''")
}
