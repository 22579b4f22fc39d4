package browsertest

import (
	"bufio"
	"crypto/sha256"
	"encoding/hex"
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
)

func TestGoodPagePassesEveryCheck(t *testing.T) {
	b := Start(t)
	p := b.Open(t, serve(t, `<p>The wheel has 256 steps.</p><label for="tempo">Tempo</label> <input id="tempo"> <button>Turn</button>`, ""), Phone)
	for _, view := range []View{Phone, Phone.InDark(), Laptop, Laptop.InDark()} {
		p.Show(t, view)
		p.Axe(t)
		p.NoSideScroll(t)
	}
}

// The rules are axe-core's, each after a success criterion of WCAG 2.2.
func TestAxeNamesEachBrokenRuleAndItsElement(t *testing.T) {
	b := Start(t)
	p := b.Open(t, serve(t, `
		<img id="wheel" src="/static/icons/pinwright.svg" width="44">
		<input id="tempo">
		<p id="faint">Hardly to be read</p>
		<p><button class="tiny" id="less">−</button><button class="tiny" id="more">+</button></p>
		<div id="mute" role="slider" tabindex="0"></div>`,
		`const sheet = new CSSStyleSheet();
		sheet.replaceSync("#faint { color: #aaa; background: #fff } .tiny { min-width: 0; min-height: 0; width: 12px; height: 12px; padding: 0; border: 0 }");
		document.adoptedStyleSheets = [sheet];`), Laptop)
	found := map[string][]string{}
	for _, v := range p.AxeViolations(t) {
		found[v.ID] = v.Targets
		if v.Help == "" || v.Impact == "" {
			t.Errorf("%v has no help or no impact", v)
		}
	}
	for rule, target := range map[string]string{
		"image-alt":             "#wheel", // 1.1.1 Non-text Content
		"label":                 "#tempo", // 4.1.2 Name, Role, Value
		"color-contrast":        "#faint", // 1.4.3 Contrast (Minimum): #aaa on white is 2.3 to 1, under 4.5 to 1
		"target-size":           "#less",  // 2.5.8 Target Size (Minimum): 12 px, under 24 px
		"aria-input-field-name": "#mute",  // 4.1.2
	} {
		if !slices.Contains(found[rule], target) {
			t.Errorf("%s does not name %s; found %v", rule, target, found)
		}
	}

	failures := record(t, func(t testing.TB) { p.Axe(t) })
	if len(failures) != len(found) {
		t.Errorf("%d failures, want one for each of %d rules:\n%s", len(failures), len(found), strings.Join(failures, "\n"))
	}
	const want = "accessibility: image-alt (critical): Images must have alternative text: #wheel"
	if !slices.Contains(failures, want) {
		t.Errorf("failures %q do not have %q", failures, want)
	}
}

// The README carries the checksums taken from the published package.
func TestAxeIsAsPublished(t *testing.T) {
	readme, err := moduleFile("testdata/axe/README.md")
	if err != nil {
		t.Fatal(err)
	}
	file, err := os.Open(readme)
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	line := regexp.MustCompile(`^([0-9a-f]{64})  (\S+)$`)
	checked := 0
	for lines := bufio.NewScanner(file); lines.Scan(); {
		m := line.FindStringSubmatch(lines.Text())
		if m == nil {
			continue
		}
		name, err := moduleFile("testdata/axe/" + m[2])
		if err != nil {
			t.Fatal(err)
		}
		content, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		if hash := sha256.Sum256(content); hex.EncodeToString(hash[:]) != m[1] {
			t.Errorf("%s has SHA-256 %x; its README says %s", m[2], hash, m[1])
		}
		checked++
	}
	if checked != 3 {
		t.Errorf("the README vouches for %d files, want 3", checked)
	}
}
