// Package static holds the files that the pages load: style sheets, ES
// modules, fonts, icons and vendored scripts. They are part of the program, so
// that a workshop without internet has them all.
package static

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/hex"
	"net/http"
	"path"
	"strings"
	"time"
)

// Files are the static files, by their path below this folder, such as
// "js/lib/reduced-motion.js".
//
//go:embed css fonts icons js vendor
var Files embed.FS

// mediaTypes names the media type of each kind of file here. The system's own
// table is not asked: it differs from one machine to the next, and a browser
// runs no module that comes under a wrong type.
var mediaTypes = map[string]string{
	".css":   "text/css; charset=utf-8",
	".js":    "text/javascript; charset=utf-8",
	".svg":   "image/svg+xml",
	".woff2": "font/woff2",
	".md":    "text/markdown; charset=utf-8",
	"":       "text/plain; charset=utf-8",
}

// Handler serves Files by their path. It answers GET and HEAD, knows no
// folders, and has the browser ask each time whether a file has changed, which
// the file's entity tag, its content's hash, answers without sending it again.
//
// Mount it with its prefix taken off:
//
//	http.Handle("/static/", http.StripPrefix("/static", static.Handler()))
func Handler() http.Handler {
	return http.HandlerFunc(serve)
}

func serve(w http.ResponseWriter, r *http.Request) {
	if r.Method != http.MethodGet && r.Method != http.MethodHead {
		w.Header().Set("Allow", "GET, HEAD")
		http.Error(w, "A static file can only be read, with GET or HEAD.", http.StatusMethodNotAllowed)
		return
	}
	name := strings.TrimPrefix(r.URL.Path, "/")
	content, err := Files.ReadFile(name)
	mediaType, known := mediaTypes[path.Ext(name)]
	if err != nil || !known {
		http.Error(w, "There is no such static file.", http.StatusNotFound)
		return
	}
	hash := sha256.Sum256(content)
	header := w.Header()
	header.Set("Content-Type", mediaType)
	header.Set("X-Content-Type-Options", "nosniff")
	header.Set("Cache-Control", "no-cache")
	header.Set("ETag", `"`+hex.EncodeToString(hash[:16])+`"`)
	http.ServeContent(w, r, name, time.Time{}, bytes.NewReader(content))
}
