package web

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"strings"

	"github.com/a-h/templ"

	"pinwright/wheel"
)

var errNoPage = wheel.Refuse(wheel.ErrNotFound, "There is no page at this address.")

// page makes a handler of a function that may fail, and turns its error into
// a page that says what is wrong.
func (s *server) page(f func(http.ResponseWriter, *http.Request) error) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		err := f(w, r)
		if err == nil || errors.Is(err, context.Canceled) {
			return
		}
		status, lines := s.explain(r, err)
		if r.Header.Get("HX-Request") == "true" {
			s.show(w, r, status, problem(lines))
			return
		}
		s.show(w, r, status, errorPage(s.frame(r, headOf(status)), lines))
	}
}

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

// explain turns an error into a status and sentences. This is the one place
// where an error meets HTTP.
func (s *server) explain(r *http.Request, err error) (int, []string) {
	var refusal *wheel.Error
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &refusal):
		return statusOf(refusal.Code), strings.Split(refusal.Message, "\n")
	case errors.As(err, &large):
		return http.StatusRequestEntityTooLarge, []string{fmt.Sprintf("What was sent is larger than %d MiB, the most that is taken in here; send less at a time.", large.Limit>>20)}
	}
	s.Log.Error("a page failed", "method", r.Method, "path", r.URL.Path, "error", err)
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

// show writes a view, whole or not at all.
func (s *server) show(w http.ResponseWriter, r *http.Request, status int, view templ.Component) {
	var b bytes.Buffer
	if err := view.Render(r.Context(), &b); err != nil {
		s.Log.Error("a view failed", "path", r.URL.Path, "error", err)
		http.Error(w, "Something went wrong inside the program.", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	w.WriteHeader(status)
	_, _ = w.Write(b.Bytes())
}
