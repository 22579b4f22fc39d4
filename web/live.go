package web

import (
	"bytes"
	"context"
	"encoding/json"
	"net/http"
	"strings"
	"time"

	"github.com/coder/websocket"

	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/history"
)

// A page that works on a pinning keeps one WebSocket (RFC 6455) open, over
// which both sides send JSON objects. The page says what to do:
//
//	{"do": "open", "after": 17, "tempo": 84, "name": "bench"}   first of all; after −1 it has nothing yet
//	{"do": "edit", "id": "…", "base": 17, "kind": "drive", "words": "…", "changes": [{"channel": "bar-c5", "step": 14, "now": {}}]}
//	{"do": "undo", "id": "…", "of": 17}, {"do": "redo", …}      of is the edit that is meant; 0: whichever is next
//	{"do": "return", "id": "…", "seq": 12}                      to the pins as they were after an edit
//	{"do": "mark", "words": "before the school visit"}          names the pins as they are
//	{"do": "unmark", "mark": 3}                                 takes the name off again; the edits stay
//	{"do": "tempo", "tempo": 90}                                at which it wants the findings
//	{"do": "here"}                                              asks whether the program is there
//
// and the program answers, to everyone who has the pinning open:
//
//	{"is": "edit", …}      an edit is kept
//	{"is": "state", …}     what can be taken back, and who is there
//	{"is": "verdict", …}   what mechanics says of it now
//
// and to the page that asked alone:
//
//	{"is": "missed", "edits": […]}   what was kept while it was away
//	{"is": "anew"}         read the wheel anew: too much has changed to tell
//	{"is": "asked", "id": "…", "holes": […]}   both touched these holes: which is to hold?
//	{"is": "refused", "id": "…", "why": "…"}   the edit cannot be kept, and why
//	{"is": "later", "id": "…", "why": "…"}     the program is at fault: come back, and send it again
//	{"is": "here"}         the program is there
//
// An id is the page's own name for an edit. One that is sent again, because no
// answer came, is kept once.
type fromPage struct {
	Do      string            `json:"do"`
	ID      string            `json:"id"`
	Base    int64             `json:"base"`
	Of      int64             `json:"of"`
	After   int64             `json:"after"`
	Seq     int64             `json:"seq"`
	Mark    int64             `json:"mark"`
	Kind    string            `json:"kind"`
	Words   string            `json:"words"`
	Name    string            `json:"name"`
	Tempo   float64           `json:"tempo"`
	Changes []wheel.PinChange `json:"changes"`
}

type editMessage struct {
	Is      string            `json:"is"`
	Seq     int64             `json:"seq"`
	ID      string            `json:"id"`
	By      string            `json:"by"`
	Kind    string            `json:"kind"`
	Words   string            `json:"words"`
	Changes []wheel.PinChange `json:"changes"`
	Advance map[string]int    `json:"advance,omitzero"` // where the edit changed it
}

// missedMessage is what a page that comes back has missed, in order.
type missedMessage struct {
	Is    string        `json:"is"`
	Edits []editMessage `json:"edits"`
}

type stateMessage struct {
	Is     string      `json:"is"`
	Seq    int64       `json:"seq"`
	Undo   *stackTop   `json:"undo"` // what undo would take back; null for nothing
	Redo   *stackTop   `json:"redo"`
	People int         `json:"people"`
	Marks  []markOfSeq `json:"marks"`
}

type stackTop struct {
	Seq   int64  `json:"seq"`
	Words string `json:"words"`
}

type markOfSeq struct {
	ID   int64  `json:"id"`
	Seq  int64  `json:"seq"`
	Name string `json:"name"`
	At   string `json:"at"`
}

type verdictMessage struct {
	Is     string `json:"is"`
	Seq    int64  `json:"seq"`
	Stands string `json:"stands"` // as the page shows it, with the marks for the drawing
	Listed string `json:"listed"` // the findings in words
	Brief  string `json:"brief"`  // in a line
	Made   string `json:"made"`   // what the edit made of the highest safe tempo; empty: nothing
}

type askedMessage struct {
	Is    string             `json:"is"`
	ID    string             `json:"id"`
	Seq   int64              `json:"seq"`
	Holes []history.Conflict `json:"holes"`
}

type refusedMessage struct {
	Is  string `json:"is"`
	ID  string `json:"id"`
	Why string `json:"why"`
}

type bareMessage struct {
	Is string `json:"is"`
}

var (
	anew = bareMessage{"anew"}
	here = bareMessage{"here"}
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

// maxMissed is how many edits a page that comes back is told, and
// maxMissedChanges about how many pins of them; after more it reads the wheel
// anew.
const (
	maxMissed        = 500
	maxMissedChanges = 50_000
)

func (s *server) live(w http.ResponseWriter, r *http.Request) error {
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
	v := &visitor{out: make(chan any, waiting), gone: cancel}
	go send(ctx, cancel, conn, v.out)
	d := s.desks.at(id)
	defer s.leave(context.WithoutCancel(ctx), d, v)
	for {
		kind, text, err := conn.Read(ctx)
		if err != nil {
			return nil
		}
		var m fromPage
		if kind != websocket.MessageText {
			err = wheel.Refuse(wheel.ErrMalformed, "The page sent bytes; it should be text.")
		} else {
			dec := json.NewDecoder(bytes.NewReader(text))
			dec.DisallowUnknownFields()
			if err = dec.Decode(&m); err != nil {
				err = wheel.Refuse(wheel.ErrMalformed, "The page sent what this program cannot read: %s. Load the page again.", err)
			}
		}
		if err == nil {
			err = s.do(ctx, d, v, m)
		}
		if err != nil {
			if ctx.Err() != nil {
				return nil
			}
			status, lines := s.Explain(r, err)
			is := "refused"
			if status >= http.StatusInternalServerError {
				is = "later"
			}
			v.tell(refusedMessage{is, m.ID, strings.Join(lines, " ")})
		}
	}
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
