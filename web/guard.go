package web

import (
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"runtime/debug"
	"strings"
)

// Sizes of what a request may bring.
const (
	maxFormBytes = 2 << 20  // a programme of 100 songs with long stories in any script, every byte escaped
	maxFileBytes = 33 << 20 // four songs of the largest size, and the form around them
)

// policy lets a page load only what this program serves. Scripts and styles
// are files of ours: none stands inside a page.
const policy = "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; img-src 'self'; " +
	"connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"

func headers(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Cache-Control", "no-cache")
		next.ServeHTTP(w, r)
	})
}

// guardHost refuses a request that was not meant for this machine: a name
// that some other site has pointed at it (DNS rebinding).
func guardHost(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !loopback(r.Host) {
			http.Error(w, fmt.Sprintf("This program answers on this computer only, at 127.0.0.1 or localhost; the request was for %q.", r.Host), http.StatusMisdirectedRequest)
			return
		}
		next.ServeHTTP(w, r)
	})
}

// guardOrigin refuses a request that a page of some other site makes.
func guardOrigin(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if origin := r.Header.Get("Origin"); origin != "" {
			if u, err := url.Parse(origin); err != nil || u.Scheme != "http" || !strings.EqualFold(u.Host, r.Host) {
				http.Error(w, "The request came from a page of another site; only pages of this program may make it.", http.StatusForbidden)
				return
			}
		}
		next.ServeHTTP(w, r)
	})
}

// loopback reports whether a host, with or without a port, is this computer.
func loopback(hostport string) bool {
	host := hostport
	if h, _, err := net.SplitHostPort(hostport); err == nil {
		host = h
	}
	host = strings.TrimSuffix(strings.TrimPrefix(host, "["), "]")
	if strings.EqualFold(host, "localhost") {
		return true
	}
	addr, err := netip.ParseAddr(host)
	return err == nil && addr.Zone() == "" && addr.Unmap().IsLoopback()
}

func limitBody(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		limit := int64(maxFormBytes)
		if strings.HasPrefix(r.Header.Get("Content-Type"), "multipart/form-data") {
			limit = maxFileBytes
		}
		r.Body = http.MaxBytesReader(w, r.Body, limit)
		next.ServeHTTP(w, r)
	})
}

func (s *server) recoverer(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			if v := recover(); v != nil {
				if v == http.ErrAbortHandler {
					panic(v)
				}
				s.Log.Error("a page failed", "path", r.URL.Path, "panic", v, "stack", string(debug.Stack()))
				http.Error(w, "Something went wrong inside the program. Load the page again, and look whether what you did was kept.", http.StatusInternalServerError)
			}
		}()
		next.ServeHTTP(w, r)
	})
}
