package browsertest

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"testing"

	"pinwright/static"
)

// strict is a content security policy that lets a page load its own server's
// files and nothing else, and run nothing that stands in the page itself.
const strict = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; " +
	"connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

const styles = `
:root { color-scheme: light dark; }
body { margin: 1rem; font-family: sans-serif; background: Canvas; color: CanvasText; }
button, input { min-width: 44px; min-height: 44px; max-width: 100%; }
`

// serve runs a server for t with one page, its body, at "/", its module at
// "/page.js", and the program's static files below "/static/".
func serve(t *testing.T, body, module string) string {
	t.Helper()
	return serveHTML(t, `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Hailstone</title>
<link rel="icon" href="/static/icons/pinwright.svg">
<link rel="stylesheet" href="/page.css">
<script type="module" src="/page.js"></script>
</head>
<body><main><h1>Hailstone</h1>`+body+`</main></body>
</html>`, module)
}

// serveHTML is serve for a page that is given from its first to its last byte.
func serveHTML(t *testing.T, html, module string) string {
	t.Helper()
	mux := http.NewServeMux()
	mux.Handle("/static/", http.StripPrefix("/static", static.Handler()))
	file := func(mediaType, content string) http.HandlerFunc {
		return func(w http.ResponseWriter, _ *http.Request) {
			w.Header().Set("Content-Type", mediaType)
			w.Header().Set("Content-Security-Policy", strict)
			w.Header().Set("X-Content-Type-Options", "nosniff")
			fmt.Fprint(w, content)
		}
	}
	mux.HandleFunc("/{$}", file("text/html; charset=utf-8", html))
	mux.HandleFunc("/page.css", file("text/css; charset=utf-8", styles))
	mux.HandleFunc("/page.js", file("text/javascript; charset=utf-8", module))
	server := httptest.NewServer(mux)
	t.Cleanup(server.Close)
	return server.URL + "/"
}
