package main

import (
	"go/parser"
	"go/token"
	"io/fs"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// ours lists what each package of the program imports, without its tests:
// packages of ours by their path below the module, others in full.
func ours(t *testing.T) map[string][]string {
	t.Helper()
	const top, module = "../..", "pinwright/"
	imports := map[string][]string{}
	err := filepath.WalkDir(top, func(path string, entry fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if entry.IsDir() {
			if name := entry.Name(); name == "node_modules" || name == "testdata" || strings.HasPrefix(name, ".") && name != ".." {
				return filepath.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return nil
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		folder, err := filepath.Rel(top, filepath.Dir(path))
		if err != nil {
			return err
		}
		folder = filepath.ToSlash(folder)
		for _, spec := range file.Imports {
			imported, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				return err
			}
			imports[folder] = append(imports[folder], strings.TrimPrefix(imported, module))
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return imports
}

// room is the part of the house that a package belongs to.
func room(path string) string {
	name, _, _ := strings.Cut(path, "/")
	return name
}

// arrow tells whether a package may import another. This is the picture in
// DEVELOPERS.md.
func arrow(from, to string) bool {
	inner := func(path string) bool { return strings.Contains(path, "/") }
	switch room(from) {
	case "wheel": // the domain knows nobody
		return inner(from) && room(to) == "wheel"
	case "timing": // timing/* -> timing -> wheel
		return room(to) == "wheel" || inner(from) && to == "timing"
	case "store":
		return room(to) == "wheel"
	case "web":
		switch {
		case room(to) == "cmd":
			return false
		case room(to) != "web":
			return true
		case from == "web": // the router knows every area
			return true
		case from == "web/page": // what pages share knows no page
			return false
		case from == "web/desk": // no page either
			return false
		}
		// An area of pages imports what pages share, and no other area.
		return to == "web/page" || to == "web/desk" || strings.HasPrefix(to, from+"/")
	case "static":
		return false
	case "cmd":
		return room(to) != "cmd"
	}
	return false
}

func TestArrowsGoOneWay(t *testing.T) {
	rooms := []string{"cmd", "web", "store", "timing", "wheel", "static"}
	found := map[string]bool{}
	arrows := 0
	for from, imported := range ours(t) {
		found[room(from)] = true
		for _, to := range imported {
			if !slices.Contains(rooms, room(to)) || strings.Contains(room(to), ".") {
				continue // the standard library, or a module of others
			}
			arrows++
			if !arrow(from, to) {
				t.Errorf("%s imports %s, against the picture in DEVELOPERS.md", from, to)
			}
		}
	}
	for _, r := range rooms {
		if !found[r] {
			t.Errorf("no package was read in %s", r)
		}
	}
	if arrows < 50 { // there were 60 and more when this was written
		t.Errorf("only %d imports were looked at", arrows)
	}
}

// The middle is functions of values: the network, the database and files come
// in at the edge.
func TestComputationKnowsNoNetworkAndNoDatabase(t *testing.T) {
	for from, imported := range ours(t) {
		if r := room(from); r != "wheel" && r != "timing" {
			continue
		}
		for _, to := range imported {
			if to == "net/http" || to == "database/sql" || to == "net" || strings.HasPrefix(to, "modernc.org/sqlite") {
				t.Errorf("%s imports %s", from, to)
			}
		}
	}
	for _, to := range ours(t)["web/desk"] {
		if to == "net/http" || strings.Contains(to, "websocket") {
			t.Errorf("web/desk imports %s; a desk speaks to its clients through a function that it is given", to)
		}
	}
}

func TestArrowsAgainstThePictureAreSeen(t *testing.T) {
	for _, c := range []struct {
		from, to string
		may      bool
	}{
		{"wheel", "wheel/song", false},
		{"wheel/ease", "timing", false},
		{"wheel/arrange", "wheel/ease", true},
		{"timing", "timing/crank", false},
		{"timing/crank", "timing", true},
		{"timing/crank", "timing/noise", false},
		{"timing", "store", false},
		{"store", "timing", false},
		{"store", "wheel/history", true},
		{"web/songs", "web/pinnings", false},
		{"web/songs", "web/page", true},
		{"web/page", "web/songs", false},
		{"web/songs", "timing/crank", true},
		{"web", "web/songs", true},
		{"web", "cmd/pinwright", false},
		{"cmd/pinwright", "web", true},
		{"static", "wheel", false},
	} {
		if got := arrow(c.from, c.to); got != c.may {
			t.Errorf("%s importing %s: allowed is %v, want %v", c.from, c.to, got, c.may)
		}
	}
}
