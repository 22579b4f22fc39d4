package pinnings_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"pinwright/web/browsertest"
	"pinwright/web/webtest"
)

// editor is the page of a wheel on which a test works with its hands.
type editor struct {
	*browsertest.Page
	t *testing.T
}

const (
	sectionHere = `document.querySelector("[data-face]")`
	faceHere    = sectionHere + `.face`
)

func openEditor(t *testing.T, b *browsertest.Browser, address string, view browsertest.View) *editor {
	t.Helper()
	w := &editor{b.Open(t, address, view), t}
	w.ready()
	return w
}

func (w *editor) ready() {
	w.t.Helper()
	w.WaitFor(w.t, sectionHere+`?.dataset.open === "true"`)
}

// kept waits until the program has answered every edit, seq of them in all,
// and its verdict on the last is shown.
func (w *editor) kept(seq int) {
	w.t.Helper()
	w.WaitFor(w.t, fmt.Sprintf(`%[1]s.dataset.waiting === "0" && %[1]s.dataset.seq === "%[2]d" && %[1]s.dataset.judged === "%[2]d"`, sectionHere, seq))
}

// pins are the steps of a channel's pins as the face has them.
func (w *editor) pins(channel string) []int {
	w.t.Helper()
	return browsertest.Eval[[]int](w.t, w.Page, fmt.Sprintf(`%s.turn.channels.find((c) => c.id === %q).pins`, faceHere, channel))
}

// over is where in the window a hole is; it is brought into view.
func (w *editor) over(channel string, step int) (x, y float64) {
	w.t.Helper()
	at := browsertest.Eval[[]float64](w.t, w.Page, fmt.Sprintf(`(async () => {
		const face = %s;
		face.scroll.scrollIntoView({ block: "center" });
		const across = face.turn.channels.findIndex((c) => c.id === %q);
		face.turnTowards(%[3]d);
		face.scroll.scrollLeft = (across + 0.5) * face.cellWidth - (face.viewWidth - 64) / 2;
		await new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
		const box = face.scroll.getBoundingClientRect();
		const { x, y } = face.middleOf({ across, down: %[3]d });
		return [box.left + face.scroll.clientLeft + x, box.top + face.scroll.clientTop + y];
	})()`, faceHere, channel, step))
	return at[0], at[1]
}

func (w *editor) click(channel string, step int) {
	w.t.Helper()
	x, y := w.over(channel, step)
	w.Do(w.t, "click a hole", chromedp.MouseClickXY(x, y))
}

func (w *editor) tap(channel string, step int) {
	w.t.Helper()
	x, y := w.over(channel, step)
	w.Do(w.t, "touch a hole", chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		touch := func(kind input.DispatchTouchEventType, points ...*input.TouchPoint) error {
			_, err := cdp.Call(ctx, target, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: kind, TouchPoints: points})
			return err
		}
		return errors.Join(touch(input.DispatchTouchEventTypeTouchStart, &input.TouchPoint{X: x, Y: y}), touch(input.DispatchTouchEventTypeTouchEnd))
	}))
}

// point puts the cursor on a hole and the focus on the face.
func (w *editor) point(channel string, step int) {
	w.t.Helper()
	browsertest.Eval[bool](w.t, w.Page, fmt.Sprintf(`(() => {
		const { face, hands } = %s;
		hands.go({ across: face.turn.channels.findIndex((c) => c.id === %q), down: %d });
		face.scroll.focus();
		return true;
	})()`, sectionHere, channel, step))
}

// want compares a channel's pins on the face and in the store.
func (w *editor) want(a *webtest.App, id int64, channel string, steps ...int) {
	w.t.Helper()
	if got := w.pins(channel); !slices.Equal(got, steps) {
		w.t.Errorf("the face has %s at %v, want %v", channel, got, steps)
	}
	p, err := a.Store.Pinning(context.Background(), id)
	if err != nil {
		w.t.Fatal(err)
	}
	var kept []int
	for _, pin := range p.File.Pins {
		if pin.Channel == channel {
			kept = append(kept, pin.Step)
		}
	}
	if !slices.Equal(kept, steps) {
		w.t.Errorf("kept of %s are %v, want %v", channel, kept, steps)
	}
}
