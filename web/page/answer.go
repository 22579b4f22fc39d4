package page

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strings"

	"github.com/a-h/templ"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// Handler answers a request or says why it cannot.
type Handler func(http.ResponseWriter, *http.Request) error

// Page serves a handler whose error becomes a page that says what is wrong, or
// the part of one where a part was asked for.
func (k *Kit) Page(f Handler) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		err := f(w, r)
		if err == nil || errors.Is(err, context.Canceled) {
			return
		}
		status, lines := k.Explain(r, err)
		if WantsPart(r) {
			k.Show(w, r, status, Problem(lines))
			return
		}
		k.Show(w, r, status, ErrorPage(k.Frame(r, headOf(status)), lines))
	}
}

// Data serves a handler whose error becomes JSON: {"problem": "…"}.
func (k *Kit) Data(f Handler) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		err := f(w, r)
		if err == nil || r.Context().Err() != nil {
			return
		}
		status, lines := k.Explain(r, err)
		w.Header().Set("Content-Type", "application/json")
		w.WriteHeader(status)
		_ = json.NewEncoder(w).Encode(struct {
			Problem string `json:"problem"`
		}{strings.Join(lines, " ")})
	}
}

// WantsPart reports whether a page that is open asks for a part of itself.
func WantsPart(r *http.Request) bool { return r.Header.Get("HX-Request") == "true" }

// headOf is the heading above the sentences that say what is wrong.
func headOf(status int) string {
	switch status {
	case http.StatusNotFound:
		return "Not here"
	case http.StatusMethodNotAllowed:
		return "Not possible here"
	case http.StatusConflict:
		return "Not as things stand"
	case http.StatusRequestEntityTooLarge:
		return "Too large"
	}
	if status >= 500 {
		return "Something went wrong"
	}
	return "That could not be done"
}

// Explain turns an error into a status and sentences. This is the one place
// where an error meets HTTP.
func (k *Kit) Explain(r *http.Request, err error) (int, []string) {
	var refusal *wheel.Error
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &refusal):
		return statusOf(refusal.Code), strings.Split(refusal.Message, "\n")
	case errors.As(err, &large):
		return http.StatusRequestEntityTooLarge, []string{fmt.Sprintf("What was sent is larger than %d MiB, the most that is taken in here; send less at a time.", large.Limit>>20)}
	}
	k.Log.Error("a page failed", "method", r.Method, "path", r.URL.Path, "error", err)
	return http.StatusInternalServerError, []string{"Something went wrong inside the program. Load the page again, and look whether what you did was kept."}
}

// statusOf is the status with which a refusal is answered (RFC 9110, 15.5 and
// 15.6; RFC 6585, 4).
func statusOf(code wheel.Code) int {
	switch code {
	case wheel.ErrNotFound:
		return http.StatusNotFound
	case wheel.ErrConflict:
		return http.StatusConflict
	case wheel.ErrInvalid:
		return http.StatusUnprocessableEntity
	case wheel.ErrMalformed:
		return http.StatusBadRequest
	case wheel.ErrTooLarge:
		return http.StatusRequestEntityTooLarge
	case wheel.ErrForbidden:
		return http.StatusForbidden
	case wheel.ErrTooMany:
		return http.StatusTooManyRequests
	case wheel.ErrNotAllowed:
		return http.StatusMethodNotAllowed
	}
	return http.StatusServiceUnavailable
}

// Fault says what is wrong with one thing that is kept; nothing where the
// error is not that thing's alone.
func Fault(err error) []string {
	var kept *wheel.Error
	var problems wheel.Problems
	if errors.As(err, &kept) && kept.Code != wheel.ErrUnavailable || errors.As(err, &problems) {
		return strings.Split(say.Sentence(err), "\n")
	}
	return nil
}

// Show writes a view, whole or not at all.
func (k *Kit) Show(w http.ResponseWriter, r *http.Request, status int, view templ.Component) {
	var b bytes.Buffer
	if err := view.Render(r.Context(), &b); err != nil {
		k.Log.Error("a view failed", "path", r.URL.Path, "error", err)
		http.Error(w, "Something went wrong inside the program.", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write(b.Bytes())
}
