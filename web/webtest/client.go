package webtest

import (
	"context"
	"encoding/json"
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"github.com/coder/websocket"

	"pinwright/web/desk"
)

// answerLimit is how long a test waits for a message.
const answerLimit = 10 * time.Second

// Client is the connection that a pinning's page keeps open, as a test speaks
// over it.
type Client struct{ conn *websocket.Conn }

// Message is any message that the app sends over it.
type Message struct {
	Is, ID, Why, By, Kind, Words, Stands, Listed, Brief, Made string
	Seq                                                       int64
	People                                                    int
	Undo, Redo                                                *desk.StackTop
	Marks                                                     []desk.MarkLine
	Changes                                                   []json.RawMessage
	Holes                                                     []json.RawMessage
	Edits                                                     []Message
}

// Connect connects to a pinning as its page does, until the test ends.
func (a *App) Connect(t testing.TB, pinning int64) *Client {
	t.Helper()
	conn, _, err := a.Dial(t, pinning, a.URL)
	if err != nil {
		t.Fatal(err)
	}
	conn.SetReadLimit(64 << 20)
	t.Cleanup(func() { _ = conn.CloseNow() })
	return &Client{conn}
}

// Dial asks for the WebSocket of a pinning from a page of an origin, and returns
// the answer to that.
func (a *App) Dial(t testing.TB, pinning int64, origin string) (*websocket.Conn, *http.Response, error) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), answerLimit)
	defer cancel()
	return websocket.Dial(ctx, strings.Replace(a.URL, "http", "ws", 1)+fmt.Sprintf("/pinnings/%d/live", pinning),
		&websocket.DialOptions{HTTPHeader: http.Header{"Origin": {origin}}})
}

// Send sends a text.
func (c *Client) Send(t testing.TB, text string) {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), answerLimit)
	defer cancel()
	if err := c.conn.Write(ctx, websocket.MessageText, []byte(text)); err != nil {
		t.Fatal(err)
	}
}

// Sendf sends a text with values in it.
func (c *Client) Sendf(t testing.TB, format string, values ...any) {
	t.Helper()
	c.Send(t, fmt.Sprintf(format, values...))
}

// Until reads on until a message of a kind. A refusal fails the test, unless
// that is what it waits for.
func (c *Client) Until(t testing.TB, is string) Message {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), answerLimit)
	defer cancel()
	for {
		_, text, err := c.conn.Read(ctx)
		if err != nil {
			t.Fatalf("waiting for %s: %v", is, err)
		}
		var m Message
		if err := json.Unmarshal(text, &m); err != nil {
			t.Fatal(err)
		}
		if m.Is == is {
			return m
		}
		if m.Is == "refused" {
			t.Fatalf("waiting for %s: refused: %s", is, m.Why)
		}
	}
}

// Refusal is why the app refuses what was sent last: its next message.
func (c *Client) Refusal(t testing.TB) string {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), answerLimit)
	defer cancel()
	_, text, err := c.conn.Read(ctx)
	if err != nil {
		t.Fatal(err)
	}
	var m Message
	if err := json.Unmarshal(text, &m); err != nil || m.Is != "refused" {
		t.Fatalf("%s (%v)", text, err)
	}
	return m.Why
}

// Leave ends the connection as a page does that is closed.
func (c *Client) Leave() { _ = c.conn.CloseNow() }
