package browsertest

import (
	"fmt"
	"os"
	"strings"
	"sync"
	"testing"

	"github.com/chromedp/chromedp"
)

// A Violation is an accessibility rule that a page breaks.
type Violation struct {
	// ID is axe-core's name of the rule, such as "color-contrast".
	ID string `json:"id"`
	// Impact is "minor", "moderate", "serious" or "critical".
	Impact string `json:"impact"`
	// Help says what the rule asks for.
	Help string `json:"help"`
	// Targets are the CSS selectors of the elements that break it.
	Targets []string `json:"targets"`
}

func (v Violation) String() string {
	return fmt.Sprintf("%s (%s): %s: %s", v.ID, v.Impact, v.Help, strings.Join(v.Targets, "; "))
}

// axeRun holds the page against the rules of WCAG 2.2, levels A and AA, which
// take in those of 2.0 and 2.1, and axe-core's own good practice.
const axeRun = `axe.run(document, {
	resultTypes: ["violations"],
	runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"],
}).then(({violations}) => violations.map(({id, impact, help, nodes}) => ({
	id, impact, help, targets: nodes.map(({target}) => target.flat().join(" ")),
})))`

// axeRest is axeRun on the page with bars that stay in view back in their places:
// what they happen to cover can be scrolled to.
const axeRest = `(() => {
	const sticky = [...document.querySelectorAll("body *")].filter((e) => getComputedStyle(e).position === "sticky" && getComputedStyle(e).bottom !== "auto");
	const before = sticky.map((e) => e.style.position);
	for (const e of sticky) e.style.position = "relative";
	return ` + axeRun + `.finally(() => sticky.forEach((e, i) => { e.style.position = before[i]; }));
})()`

var axeSource = sync.OnceValues(func() (string, error) {
	file, err := moduleFile("testdata/axe/axe.min.js")
	if err != nil {
		return "", err
	}
	source, err := os.ReadFile(file)
	return string(source), err
})

// AxeViolations returns the accessibility rules that the page breaks as it
// stands, by axe-core.
func (p *Page) AxeViolations(t testing.TB) []Violation {
	t.Helper()
	source, err := axeSource()
	if err != nil {
		t.Fatal(err)
	}
	if !Eval[bool](t, p, `"axe" in window`) {
		// Evaluated, not loaded: the pages' content security policy lets no
		// foreign script in.
		p.Do(t, "bring in axe-core", chromedp.Evaluate[chromedp.Void](source))
	}
	return Eval[[]Violation](t, p, axeRest)
}

// Axe fails t with each accessibility rule that the page breaks as it stands.
func (p *Page) Axe(t testing.TB) {
	t.Helper()
	for _, v := range p.AxeViolations(t) {
		t.Errorf("accessibility: %v", v)
	}
}
