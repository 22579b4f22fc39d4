package web

import (
	"errors"
	"net"
	"net/http"
	"strconv"
	"sync"
	"testing"
)

// door is another way into an app, at an address of its own. It can be shut,
// which puts everyone out, and opened again at the same address.
type door struct {
	t    *testing.T
	app  *app
	host string

	mu     sync.Mutex
	inside []net.Conn
	server *http.Server
}

func openDoor(t *testing.T, a *app) *door {
	t.Helper()
	d := &door{t: t, app: a, host: "127.0.0.1:0"}
	d.open()
	t.Cleanup(d.shut)
	return d
}

func (d *door) address(id int64) string {
	return "http://" + d.host + "/pinnings/" + strconv.FormatInt(id, 10)
}

func (d *door) open() {
	d.t.Helper()
	ln, err := net.Listen("tcp", d.host)
	if err != nil {
		d.t.Fatal(err)
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
			d.t.Error(err)
		}
	}(d.server)
}

// shut closes every connection, WebSockets among them.
func (d *door) shut() {
	_ = d.server.Close()
	d.mu.Lock()
	defer d.mu.Unlock()
	for _, c := range d.inside {
		_ = c.Close()
	}
	d.inside = nil
}
