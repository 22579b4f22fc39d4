package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// arrows is which parts of the program a part may import: itself in the case of
// a folder of packages ("timing/"), and those on the right. DEVELOPERS.md draws
// the same picture.
var arrows = map[string][]string{
	"cmd/":    {"web", "web/", "store", "timing", "timing/", "wheel", "wheel/", "static"},
	"web":     {"web/", "store", "timing", "timing/", "wheel", "wheel/", "static"},
	"web/":    {"web/", "store", "timing", "timing/", "wheel", "wheel/", "static"},
	"store":   {"wheel", "wheel/"},
	"timing/": {"timing/", "timing", "wheel", "wheel/"},
	"timing":  {"wheel", "wheel/"},
	"wheel/":  {"wheel/", "wheel"},
	"wheel":   {},
	"static":  {},
}

// part is the part that a package belongs to: "wheel" for wheel itself, "wheel/"
// for all below it.
func part(pkg string) string {
	top, _, below := strings.Cut(pkg, "/")
	if below {
		top += "/"
	}
	return top
}

func allowed(from, to string) bool {
	for _, name := range arrows[part(from)] {
		if name == part(to) {
			return true
		}
	}
	return false
}

func TestImportsGoOneWay(t *testing.T) {
	root := filepath.Join("..", "..")
	packages := map[string]bool{}
	err := filepath.WalkDir(root, func(file string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && file != root && (strings.HasPrefix(d.Name(), ".") || d.Name() == "testdata" || d.Name() == "node_modules") {
			return filepath.SkipDir
		}
		if d.IsDir() || !strings.HasSuffix(file, ".go") || strings.HasSuffix(file, "_test.go") {
			return nil
		}
		rel, err := filepath.Rel(root, file)
		if err != nil {
			return err
		}
		pkg := path.Dir(filepath.ToSlash(rel))
		if arrows[part(pkg)] == nil {
			t.Errorf("%s is in no part that the picture knows", rel)
		}
		packages[pkg] = true
		parsed, err := parser.ParseFile(token.NewFileSet(), file, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		for _, spec := range parsed.Imports {
			imported, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				return err
			}
			if to, ours := strings.CutPrefix(imported, "pinwright/"); ours && !allowed(pkg, to) {
				t.Errorf("%s imports %s: that arrow goes the wrong way", rel, to)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, pkg := range []string{"cmd/pinwright", "web", "store", "timing", "wheel", "wheel/arrange", "wheel/ease", "static"} {
		if !packages[pkg] {
			t.Errorf("package %s was not looked at", pkg)
		}
	}
}

func TestArrowsAgainstThePictureAreNotAllowed(t *testing.T) {
	for _, c := range []struct {
		from, to string
		want     bool
	}{
		{"wheel/arrange", "timing", false},
		{"wheel/place", "timing/crank", false},
		{"wheel", "wheel/file", false},
		{"timing", "store", false},
		{"timing", "timing/crank", false},
		{"timing/crank", "web", false},
		{"store", "timing", false},
		{"store", "web", false},
		{"web", "cmd/pinwright", false},
		{"web/page", "web", false},
		{"wheel/arrange", "wheel/ease", true},
		{"timing", "wheel/say", true},
		{"timing/crank", "timing", true},
		{"store", "wheel/history", true},
		{"web", "web/page", true},
		{"cmd/pinwright", "web", true},
	} {
		if got := allowed(c.from, c.to); got != c.want {
			t.Errorf("%s imports %s: allowed %v, want %v", c.from, c.to, got, c.want)
		}
	}
}
