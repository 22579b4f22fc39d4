package browsertest

import (
	"context"
	"fmt"
	"net/url"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/inspector"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// A watch keeps the troubles of one page. The browser's events reach it in
// their order, and before the answer to any step taken after them.
type watch struct {
	mu       sync.Mutex
	troubles []string
	hosts    []string
	// dialogs is what to answer to a dialog; nil: dialogs are trouble.
	dialogs *bool
	answer  func(accept bool)
}

// allow adds a host that requests may go to.
func (w *watch) allow(host string) {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.hosts = append(w.hosts, host)
}

// take returns the troubles and forgets them.
func (w *watch) take() []string {
	w.mu.Lock()
	defer w.mu.Unlock()
	troubles := w.troubles
	w.troubles = nil
	return troubles
}

// note adds the trouble that an event of the browser tells of, if any.
func (w *watch) note(event any) {
	w.mu.Lock()
	defer w.mu.Unlock()
	switch e := event.(type) {
	case *runtime.EventConsoleAPICalled:
		if e.Type == runtime.ConsoleAPICalledTypeError || e.Type == runtime.ConsoleAPICalledTypeAssert {
			w.add("console.%s: %s", e.Type, consoleText(e.Args))
		}
	case *runtime.EventExceptionThrown:
		w.add("uncaught %s", exceptionText(e.ExceptionDetails))
	case *log.EventEntryAdded:
		if e.Entry.Level == log.EntryLevelError {
			w.add("%s error: %s %s", e.Entry.Source, e.Entry.Text, e.Entry.URL)
		}
	case *network.EventRequestWillBeSent:
		w.noteRequest(e.Request.URL)
	case *network.EventWebSocketCreated:
		w.noteRequest(e.URL)
	case *inspector.EventTargetCrashed:
		w.add("the page has crashed")
	case *page.EventJavascriptDialogOpening:
		if w.dialogs == nil {
			w.add("a dialog that no one answers: %s %q", e.Type, e.Message)
		}
		w.answer(w.dialogs != nil && *w.dialogs)
	}
}

func (w *watch) add(format string, args ...any) {
	w.troubles = append(w.troubles, strings.TrimSpace(fmt.Sprintf(format, args...)))
}

// noteRequest adds a request that leaves the hosts of the pages under test.
func (w *watch) noteRequest(address string) {
	u, err := url.Parse(address)
	if err != nil || (u.Host != "" && !slices.Contains(w.hosts, u.Host)) {
		w.add("a request to another machine: %s", address)
	}
}

// consoleText is what a console shows of the arguments of a call.
func consoleText(args []*runtime.RemoteObject) string {
	words := make([]string, len(args))
	for i, arg := range args {
		words[i] = arg.Description
		if arg.Description == "" {
			words[i] = strings.Trim(string(arg.Value), `"`)
		}
	}
	return strings.Join(words, " ")
}

func exceptionText(e *runtime.ExceptionDetails) string {
	return (&chromedp.ExceptionError{ExceptionDetails: e}).Error()
}

// Troubles returns what went wrong on the page so far, one sentence each, and
// forgets it. A test that brings trouble about on purpose, such as a page that
// is not found, takes it from here; what is left when the page closes fails
// the test.
func (p *Page) Troubles(t testing.TB) []string {
	t.Helper()
	// Two frames on, whatever the page was about to do to itself is done.
	_, err := eval[bool](p, `new Promise(resolve => requestAnimationFrame(() => requestAnimationFrame(() => resolve(true))))`)
	troubles := p.watch.take()
	if err != nil {
		troubles = append(troubles, fmt.Sprintf("the page does not answer: %v", err))
	}
	return troubles
}

// AnswerDialogs has every dialog of the page from now on accepted or
// dismissed. Without it a dialog is dismissed and counts as trouble.
func (p *Page) AnswerDialogs(accept bool) {
	p.watch.mu.Lock()
	defer p.watch.mu.Unlock()
	p.watch.dialogs = &accept
}

func (p *Page) answerDialog(accept bool) {
	// An error means that the page is gone, and its dialog with it.
	_ = p.try(chromedp.Func(func(ctx context.Context, target *chromedp.Target) error {
		_, err := cdp.Call(ctx, target, page.HandleJavaScriptDialog, page.HandleJavaScriptDialogParams{Accept: accept})
		return err
	}))
}
