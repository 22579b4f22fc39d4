package pinnings

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"strings"
	"time"

	"github.com/coder/websocket"

	"pinwright/web/desk"
	"pinwright/web/page"
	"pinwright/wheel"
)

// maxMessageBytes is the most that a page may send at once: an edit of a whole
// turn is under it.
const maxMessageBytes = 16 << 20

// writeWithin is how long a page may take to take in a message, or to answer a
// ping, of which it gets one every pingEvery.
const (
	writeWithin = 20 * time.Second
	pingEvery   = 20 * time.Second
)

// live is a WebSocket (RFC 6455) that a page keeps open while it works on a
// pinning. Both sides send JSON: the page [desk.Request]s, the program what the
// desk answers.
func (s *area) live(w http.ResponseWriter, r *http.Request) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	if _, err := s.Store.Pinning(r.Context(), id); err != nil {
		return err
	}
	conn, err := websocket.Accept(w, r, nil)
	if err != nil {
		return nil // it has answered
	}
	defer conn.CloseNow()
	conn.SetReadLimit(maxMessageBytes)
	ctx, cancel := context.WithCancel(r.Context())
	defer cancel()
	c := s.desks.Join(id, cancel)
	defer c.Leave(context.WithoutCancel(ctx))
	go send(ctx, cancel, conn, c.Messages())
	for {
		kind, text, err := conn.Read(ctx)
		if err != nil {
			return nil
		}
		asked, err := readRequest(kind, text)
		if err == nil {
			err = c.Do(ctx, asked)
		}
		if err != nil {
			if ctx.Err() != nil {
				return nil
			}
			status, lines := s.Explain(r, err)
			c.Send(desk.Refused(asked.ID, strings.Join(lines, " "), status >= http.StatusInternalServerError))
		}
	}
}

// readRequest reads what a page has sent. Where only a part of it can be read,
// that part comes with the error.
func readRequest(kind websocket.MessageType, text []byte) (desk.Request, error) {
	var asked desk.Request
	if kind != websocket.MessageText {
		return asked, wheel.Refuse(wheel.ErrMalformed, "The page sent bytes; it should be text.")
	}
	err := page.DecodeJSON(bytes.NewReader(text), &asked)
	return asked, err
}

// send writes what is queued for a page until its connection ends.
func send(ctx context.Context, cancel func(), conn *websocket.Conn, out <-chan any) {
	defer cancel()
	silent := time.NewTicker(pingEvery)
	defer silent.Stop()
	for {
		select {
		case <-ctx.Done():
			return
		case <-silent.C:
			within, done := context.WithTimeout(ctx, writeWithin)
			err := conn.Ping(within)
			done()
			if err != nil {
				return
			}
		case m := <-out:
			text, err := json.Marshal(m)
			if err != nil {
				return
			}
			within, done := context.WithTimeout(ctx, writeWithin)
			err = conn.Write(within, websocket.MessageText, text)
			done()
			if err != nil {
				return
			}
		}
	}
}
