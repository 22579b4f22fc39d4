package webtest

import (
	"errors"
	"net"
	"net/http"
	"sync"
	"testing"
)

// Door is another way into an app, at an address of its own. It can be shut,
// which disconnects everyone, and opened again at the same address.
type Door struct {
	app  *App
	host string

	mu     sync.Mutex
	inside []net.Conn
	server *http.Server
}

// OpenDoor opens a door to an app until the test ends.
func OpenDoor(t testing.TB, a *App) *Door {
	t.Helper()
	d := &Door{app: a, host: "127.0.0.1:0"}
	d.Open(t)
	t.Cleanup(d.Shut)
	return d
}

// URL is the address of a path behind the door.
func (d *Door) URL(path string) string { return "http://" + d.host + path }

// Open opens the door again, at the address that it had.
func (d *Door) Open(t testing.TB) {
	t.Helper()
	ln, err := net.Listen("tcp", d.host)
	if err != nil {
		t.Fatal(err)
	}
	d.host = ln.Addr().String()
	d.server = &http.Server{Handler: d.app.Config.Handler, ConnState: func(c net.Conn, is http.ConnState) {
		if is == http.StateNew {
			d.mu.Lock()
			defer d.mu.Unlock()
			d.inside = append(d.inside, c)
		}
	}}
	go func(server *http.Server) {
		if err := server.Serve(ln); !errors.Is(err, http.ErrServerClosed) {
			t.Error(err)
		}
	}(d.server)
}

// Shut closes every connection, WebSockets among them.
func (d *Door) Shut() {
	_ = d.server.Close()
	d.mu.Lock()
	defer d.mu.Unlock()
	for _, c := range d.inside {
		_ = c.Close()
	}
	d.inside = nil
}
