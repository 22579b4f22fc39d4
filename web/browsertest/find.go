package browsertest

import (
	"context"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/accessibility"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/dom"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// Find returns a CSS selector that fits the one element that assistive
// technology knows by a role and an accessible name, such as "button" and "Keep
// as a pinning" (WAI-ARIA 1.2; Accessible Name and Description Computation 1.2).
// It waits for the element, and fails with the names that there are if there is
// none, or if there are several.
func (p *Page) Find(t testing.TB, role, name string) string {
	t.Helper()
	return p.found(t, fmt.Sprintf("%s “%s”", role, name), role, stepLimit, func(is string) bool { return is == name })
}

// FindLike is [Page.Find] for a name that has a part that changes: it finds the
// one element whose name begins with prefix.
func (p *Page) FindLike(t testing.TB, role, prefix string) string {
	t.Helper()
	return p.found(t, fmt.Sprintf("%s “%s…”", role, prefix), role, stepLimit, func(is string) bool { return strings.HasPrefix(is, prefix) })
}

// ClickOn clicks, or taps, the element that [Page.Find] finds.
func (p *Page) ClickOn(t testing.TB, role, name string) {
	t.Helper()
	p.Click(t, p.Find(t, role, name))
}

func (p *Page) found(t testing.TB, what, role string, limit time.Duration, fits func(name string) bool) string {
	t.Helper()
	deadline := time.Now().Add(limit)
	for {
		all, err := p.withRole(role)
		var fitting []named
		for _, n := range all {
			if fits(n.name) {
				fitting = append(fitting, n)
			}
		}
		if err == nil && len(fitting) == 1 {
			var selector string
			if selector, err = p.mark(fitting[0].node); err == nil {
				return selector
			}
		}
		if time.Now().After(deadline) {
			at, _ := eval[string](p, `location.href`)
			t.Fatalf("%d elements are a %s at %s (%v); there are: %s", len(fitting), what, at, err, namesOf(all))
		}
		time.Sleep(20 * time.Millisecond)
	}
}

// named is an element with its accessible name.
type named struct {
	name string
	node cdp.BackendNodeID
}

func namesOf(all []named) string {
	names := make([]string, len(all))
	for i, n := range all {
		names[i] = strconv.Quote(n.name)
	}
	slices.Sort(names)
	return strings.Join(slices.Compact(names), ", ")
}

// withRole lists the elements that have a role for assistive technology.
func (p *Page) withRole(role string) ([]named, error) {
	ctx, cancel := context.WithTimeout(p.ctx, stepLimit)
	defer cancel()
	document, err := chromedp.Call(ctx, runtime.Evaluate, runtime.EvaluateParams{Expression: "document"})
	if err != nil {
		return nil, err
	}
	tree, err := chromedp.Call(ctx, accessibility.QueryAXTree, accessibility.QueryAXTreeParams{ObjectID: document.Result.ObjectID, Role: role})
	if err != nil {
		return nil, err
	}
	var all []named
	for _, node := range tree.Nodes {
		if node.Ignored || node.Name == nil {
			continue
		}
		name, err := strconv.Unquote(string(node.Name.Value))
		if err != nil {
			name = string(node.Name.Value)
		}
		all = append(all, named{strings.Join(strings.Fields(name), " "), node.BackendDOMNodeID})
	}
	return all, nil
}

// marked is the attribute by which an element that was found is known.
const marked = "data-found-by-test"

// mark marks an element and returns a CSS selector for it.
func (p *Page) mark(node cdp.BackendNodeID) (string, error) {
	ctx, cancel := context.WithTimeout(p.ctx, stepLimit)
	defer cancel()
	resolved, err := chromedp.Call(ctx, dom.ResolveNode, dom.ResolveNodeParams{BackendNodeID: node})
	if err != nil {
		return "", err
	}
	_, err = chromedp.Call(ctx, runtime.CallFunctionOn, runtime.CallFunctionOnParams{
		ObjectID:            resolved.Object.ObjectID,
		FunctionDeclaration: fmt.Sprintf("function() { this.setAttribute(%q, %d) }", marked, node),
	})
	return fmt.Sprintf("[%s=%q]", marked, strconv.FormatInt(int64(node), 10)), err
}
