package browsertest

import (
	"fmt"
	"runtime"
	"testing"
)

// A recorder stands in for a test that is meant to fail: it keeps the failures
// and does not pass them on.
type recorder struct {
	testing.TB
	failures []string
	cleanups []func()
}

// record runs f as a test of its own, to the end of its cleanups, and returns
// how it failed.
func record(t *testing.T, f func(t testing.TB)) []string {
	t.Helper()
	r := &recorder{TB: t}
	done := make(chan struct{})
	go func() {
		defer close(done)
		defer func() {
			for i := len(r.cleanups) - 1; i >= 0; i-- {
				r.cleanups[i]()
			}
		}()
		f(r)
	}()
	<-done
	return r.failures
}

func (r *recorder) Helper()          {}
func (r *recorder) Cleanup(f func()) { r.cleanups = append(r.cleanups, f) }

func (r *recorder) Error(args ...any) { r.failures = append(r.failures, fmt.Sprint(args...)) }
func (r *recorder) Errorf(format string, args ...any) {
	r.failures = append(r.failures, fmt.Sprintf(format, args...))
}

func (r *recorder) Fatal(args ...any) {
	r.Error(args...)
	runtime.Goexit()
}

func (r *recorder) Fatalf(format string, args ...any) {
	r.Errorf(format, args...)
	runtime.Goexit()
}
