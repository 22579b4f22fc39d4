package static_test

import (
	"bufio"
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io/fs"
	"net/http"
	"net/http/httptest"
	"path"
	"regexp"
	"strings"
	"testing"

	"pinwright/static"
)

// get asks the handler for a path, with request headers as pairs.
func get(method, target string, headers ...string) *http.Response {
	r := httptest.NewRequest(method, "/", nil)
	r.URL.Path = target
	for i := 0; i < len(headers); i += 2 {
		r.Header.Set(headers[i], headers[i+1])
	}
	w := httptest.NewRecorder()
	static.Handler().ServeHTTP(w, r)
	return w.Result()
}

// everyFile calls visit with the path and content of each embedded file.
func everyFile(t *testing.T, visit func(name string, content []byte)) {
	t.Helper()
	err := fs.WalkDir(static.Files, ".", func(name string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		content, err := static.Files.ReadFile(name)
		visit(name, content)
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

// Media types: RFC 9239 (JavaScript), RFC 2318 (CSS), RFC 8081 (fonts), the
// SVG 1.1 registration, RFC 7763 (Markdown).
func TestFilesComeUnderTheirMediaType(t *testing.T) {
	for target, want := range map[string]string{
		"/js/lib/reduced-motion.js": "text/javascript; charset=utf-8",
		"/vendor/htmx/htmx.min.js":  "text/javascript; charset=utf-8",
		"/css/reset.css":            "text/css; charset=utf-8",
		"/fonts/fonts.css":          "text/css; charset=utf-8",
		"/icons/pinwright.svg":      "image/svg+xml",
		"/vendor/htmx/LICENSE":      "text/plain; charset=utf-8",
		"/vendor/htmx/README.md":    "text/markdown; charset=utf-8",
		"/fonts/atkinson-hyperlegible-next-latin-wght-normal.woff2": "font/woff2",
	} {
		res := get("GET", target)
		if res.StatusCode != http.StatusOK {
			t.Errorf("%s: status %d, want 200", target, res.StatusCode)
		}
		if got := res.Header.Get("Content-Type"); got != want {
			t.Errorf("%s: Content-Type %q, want %q", target, got, want)
		}
	}
}

func TestEveryFileIsServedWholeAndGuarded(t *testing.T) {
	everyFile(t, func(name string, content []byte) {
		res := get("GET", "/"+name)
		var body bytes.Buffer
		if _, err := body.ReadFrom(res.Body); err != nil {
			t.Fatal(err)
		}
		if res.StatusCode != http.StatusOK || !bytes.Equal(body.Bytes(), content) {
			t.Errorf("%s: status %d with %d bytes, want 200 with %d", name, res.StatusCode, body.Len(), len(content))
		}
		if got := res.Header.Get("X-Content-Type-Options"); got != "nosniff" {
			t.Errorf("%s: X-Content-Type-Options %q, want nosniff", name, got)
		}
		if got := res.Header.Get("Cache-Control"); got != "no-cache" {
			t.Errorf("%s: Cache-Control %q, want no-cache", name, got)
		}
	})
}

// RFC 9110, section 13.1.2: a GET or HEAD whose If-None-Match names the
// current entity tag is answered 304, without content.
func TestUnchangedFileIsNotSentAgain(t *testing.T) {
	const target = "/vendor/htmx/htmx.min.js"
	tag := get("GET", target).Header.Get("ETag")
	if !regexp.MustCompile(`^"[0-9a-f]{32}"$`).MatchString(tag) {
		t.Fatalf("ETag %q is not a strong entity tag of 32 hex digits", tag)
	}
	if other := get("GET", "/css/reset.css").Header.Get("ETag"); other == tag {
		t.Errorf("two files share the entity tag %s", tag)
	}
	for _, c := range []struct {
		method, tag string
		want        int
	}{
		{"GET", tag, http.StatusNotModified},
		{"HEAD", tag, http.StatusNotModified},
		{"GET", `"0"`, http.StatusOK},
	} {
		if got := get(c.method, target, "If-None-Match", c.tag).StatusCode; got != c.want {
			t.Errorf("%s with If-None-Match %s: status %d, want %d", c.method, c.tag, got, c.want)
		}
	}
}

func TestFoldersAndStrangePathsAreNotFound(t *testing.T) {
	for _, target := range []string{
		"", "/", "/css", "/css/", "/js/", "/vendor/htmx", "/nothing.css",
		"/../static.go", "/css/../static.go", "/static.go", "//css/reset.css", "/css//reset.css",
		"/css/reset.css/", "/css/reset.css\x00", `/css\reset.css`, "/./css/reset.css",
	} {
		if got := get("GET", target).StatusCode; got != http.StatusNotFound {
			t.Errorf("%q: status %d, want 404", target, got)
		}
	}
}

// RFC 9110, section 15.5.6: a 405 names the methods that are allowed.
func TestFilesCanOnlyBeRead(t *testing.T) {
	for _, method := range []string{"POST", "PUT", "PATCH", "DELETE", "OPTIONS"} {
		res := get(method, "/css/reset.css")
		if res.StatusCode != http.StatusMethodNotAllowed || res.Header.Get("Allow") != "GET, HEAD" {
			t.Errorf("%s: status %d, Allow %q; want 405, \"GET, HEAD\"", method, res.StatusCode, res.Header.Get("Allow"))
		}
	}
}

// The READMEs carry the checksums taken from the published packages.
func TestVendoredFilesAreAsPublished(t *testing.T) {
	line := regexp.MustCompile(`^([0-9a-f]{64})  (\S+)$`)
	vouched := map[string]bool{}
	everyFile(t, func(name string, content []byte) {
		if path.Base(name) != "README.md" {
			return
		}
		for lines := bufio.NewScanner(bytes.NewReader(content)); lines.Scan(); {
			m := line.FindStringSubmatch(lines.Text())
			if m == nil {
				continue
			}
			file := path.Join(path.Dir(name), m[2])
			vouched[file] = true
			published, err := static.Files.ReadFile(file)
			if err != nil {
				t.Errorf("%s names %s, which is not there", name, m[2])
				continue
			}
			if hash := sha256.Sum256(published); hex.EncodeToString(hash[:]) != m[1] {
				t.Errorf("%s has SHA-256 %x; its README says %s", file, hash, m[1])
			}
		}
	})
	ours := map[string]bool{"fonts/fonts.css": true}
	everyFile(t, func(name string, _ []byte) {
		foreign := strings.HasPrefix(name, "vendor/") || strings.HasPrefix(name, "fonts/")
		if foreign && path.Base(name) != "README.md" && !ours[name] && !vouched[name] {
			t.Errorf("%s has no checksum in the README beside it", name)
		}
	})
}

func TestFontsAreAllDeclaredAndSwapIn(t *testing.T) {
	css, err := static.Files.ReadFile("fonts/fonts.css")
	if err != nil {
		t.Fatal(err)
	}
	faces := regexp.MustCompile(`(?s)@font-face \{.*?\n\}`).FindAllString(string(css), -1)
	source := regexp.MustCompile(`src: url\("([^"/]+\.woff2)"\) format\("woff2"\);`)
	declared := map[string]bool{}
	for _, face := range faces {
		m := source.FindStringSubmatch(face)
		if m == nil {
			t.Errorf("a face has no file beside it:\n%s", face)
			continue
		}
		declared["fonts/"+m[1]] = true
		for _, want := range []string{"font-family: ", "font-weight: 200 800;", "font-display: swap;", "unicode-range: U+"} {
			if !strings.Contains(face, want) {
				t.Errorf("the face of %s lacks %q", m[1], want)
			}
		}
		content, err := static.Files.ReadFile("fonts/" + m[1])
		// WOFF File Format 2.0 (W3C, 2018), section 4.1: the signature 'wOF2'.
		if err != nil || !bytes.HasPrefix(content, []byte("wOF2")) {
			t.Errorf("fonts/%s is not a WOFF2 file (%v)", m[1], err)
		}
	}
	everyFile(t, func(name string, _ []byte) {
		if path.Ext(name) == ".woff2" && !declared[name] {
			t.Errorf("%s is in no @font-face rule", name)
		}
	})
}

func ExampleHandler() {
	mux := http.NewServeMux()
	mux.Handle("/static/", http.StripPrefix("/static", static.Handler()))

	w := httptest.NewRecorder()
	mux.ServeHTTP(w, httptest.NewRequest("GET", "/static/js/lib/reduced-motion.js", nil))
	fmt.Println(w.Code, w.Header().Get("Content-Type"))
	// Output: 200 text/javascript; charset=utf-8
}
