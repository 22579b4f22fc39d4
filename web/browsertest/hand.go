package browsertest

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// Click clicks the first element that the CSS selector fits, or taps it on a
// touch screen, once it is there to be seen. If the page puts another in its
// place just then, that one is clicked.
func (p *Page) Click(t testing.TB, selector string) {
	t.Helper()
	click := chromedp.Click(chromedp.CSS(selector))
	if p.view.Touch {
		click = chromedp.Tap(chromedp.CSS(selector))
	}
	deadline := time.Now().Add(stepLimit)
	for {
		err := p.try(click)
		if err == nil {
			return
		}
		if !replaced(err) || time.Now().After(deadline) {
			t.Fatalf("cannot click %s: %v", selector, err)
		}
	}
}

// replaced tells whether a step failed before it did anything, since the element
// that it found had gone from the page.
func replaced(err error) bool {
	return strings.Contains(err.Error(), "Could not find node with given id")
}

// Type types text into a field, in place of what it holds.
func (p *Page) Type(t testing.TB, selector, text string) {
	t.Helper()
	if text == "" {
		text = kb.Backspace
	}
	p.Do(t, "type into "+selector,
		chromedp.Focus(chromedp.CSS(selector)),
		chromedp.Evaluate[chromedp.Void](`document.activeElement.select()`),
		chromedp.KeyEvent(text))
}

// Press presses keys one after the other on whatever has the focus. A key goes
// by its name in the UI Events standard, "Tab" or "ArrowRight" or "a", with
// modifiers before it, as in "Control+z" or "Shift+Tab". Space is "Space".
func (p *Page) Press(t testing.TB, keys ...string) {
	t.Helper()
	for _, key := range keys {
		r, modifiers, err := parseKey(key)
		if err != nil {
			t.Fatal(err)
		}
		p.Do(t, "press "+key, chromedp.KeyEvent(string(r), chromedp.KeyModifiers(modifiers...)))
	}
}

// parseKey returns chromedp's rune for a key, and the modifiers before it.
func parseKey(key string) (rune, []chromedp.Modifier, error) {
	var modifiers []chromedp.Modifier
	name := key
	for {
		prefix, rest, ok := strings.Cut(name, "+")
		m, known := map[string]chromedp.Modifier{
			"Control": chromedp.ModifierCtrl,
			"Shift":   chromedp.ModifierShift,
			"Alt":     chromedp.ModifierAlt,
			"Meta":    chromedp.ModifierMeta,
		}[prefix]
		if !ok || !known || rest == "" {
			break
		}
		modifiers = append(modifiers, m)
		name = rest
	}
	if r, size := utf8.DecodeRuneInString(name); size > 0 && size == len(name) {
		return r, modifiers, nil
	}
	r, ok := namedKeys()[name]
	if !ok {
		return 0, nil, fmt.Errorf("key %q: %q is the name of no key; Enter, Tab, ArrowLeft and a are names", key, name)
	}
	return r, modifiers, nil
}

// namedKeys are the keys that write nothing, by name, and Space. A key that a
// keyboard has twice is the one off the number pad.
var namedKeys = sync.OnceValue(func() map[string]rune {
	names := map[string]rune{"Space": ' '}
	for r, key := range kb.Keys {
		if utf8.RuneCountInString(key.Key) == 1 {
			continue
		}
		if have, ok := names[key.Key]; !ok || r < have {
			names[key.Key] = r
		}
	}
	return names
})

// Upload chooses files in a file input.
func (p *Page) Upload(t testing.TB, selector string, files ...string) {
	t.Helper()
	p.Do(t, "choose files in "+selector,
		chromedp.SetUploadFiles(chromedp.CSS(selector), absolute(t, files), chromedp.NodeReady))
}

// DropFiles drags files over the middle of an element, as from a file manager,
// and drops them there.
func (p *Page) DropFiles(t testing.TB, selector string, files ...string) {
	t.Helper()
	data := &input.DragData{
		Items:              []*input.DragDataItem{},
		Files:              absolute(t, files),
		DragOperationsMask: 1, // copy
	}
	x, y := p.middle(t, selector)
	p.Do(t, "drop files on "+selector, chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		for _, kind := range []input.DispatchDragEventType{
			input.DispatchDragEventTypeDragEnter, input.DispatchDragEventTypeDragOver, input.DispatchDragEventTypeDrop,
		} {
			_, err := cdp.Call(ctx, target, input.DispatchDragEvent, input.DispatchDragEventParams{Type: kind, X: x, Y: y, Data: data})
			if err != nil {
				return err
			}
		}
		return nil
	}))
}

// Drag presses the mouse on the middle of one element, moves it to the middle
// of another and lets go. Both must be within the window.
func (p *Page) Drag(t testing.TB, from, to string) {
	t.Helper()
	p.Do(t, "drag "+from+" to "+to, chromedp.DragAndDrop(chromedp.CSS(from), chromedp.CSS(to)))
}

// middle brings an element into the window and returns the middle of it, in
// CSS pixels from the window's top left.
func (p *Page) middle(t testing.TB, selector string) (x, y float64) {
	t.Helper()
	p.Do(t, "find "+selector, chromedp.ScrollIntoView(chromedp.CSS(selector), chromedp.NodeVisible))
	quoted, err := json.Marshal(selector)
	if err != nil {
		t.Fatal(err)
	}
	at := Eval[[2]float64](t, p, fmt.Sprintf(`(r => [r.x + r.width / 2, r.y + r.height / 2])(document.querySelector(%s).getBoundingClientRect())`, quoted))
	return at[0], at[1]
}

// absolute returns the files' absolute paths; the browser knows no others.
func absolute(t testing.TB, files []string) []string {
	t.Helper()
	paths := make([]string, len(files))
	for i, file := range files {
		path, err := filepath.Abs(file)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := os.Stat(path); err != nil {
			t.Fatal(err)
		}
		paths[i] = path
	}
	return paths
}
