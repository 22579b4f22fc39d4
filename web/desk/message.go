package desk

import (
	"pinwright/wheel"
	"pinwright/wheel/history"
	"pinwright/wheel/say"
)

// Request is what a client asks for. As JSON:
//
//	{"do": "open", "after": 17, "tempo": 84, "name": "bench"}   first of all; after −1 it has nothing yet
//	{"do": "edit", "id": "…", "base": 17, "kind": "drive", "words": "…", "changes": [{"channel": "bar-c5", "step": 14, "now": {}}]}
//	{"do": "undo", "id": "…", "of": 17}, {"do": "redo", …}      of is the edit that is meant; 0: whichever is next
//	{"do": "return", "id": "…", "seq": 12}                      to the pins as they were after an edit
//	{"do": "mark", "words": "before the school visit"}          names the pins as they are
//	{"do": "unmark", "mark": 3}                                 removes the name; the edits stay
//	{"do": "tempo", "tempo": 90}                                at which it wants the findings
//	{"do": "here"}                                              asks whether the program is there
//
// The answers go to every client that has the pinning open:
//
//	{"is": "edit", …}      an edit is kept
//	{"is": "state", …}     what can be undone, and who is there
//	{"is": "verdict", …}   what mechanics says of it now
//
// or to the client that asked alone:
//
//	{"is": "missed", "edits": […]}   what was kept while it was away
//	{"is": "anew"}         read the wheel again: too much has changed to say what
//	{"is": "asked", "id": "…", "holes": […]}   both touched these holes: which is to hold?
//	{"is": "refused", "id": "…", "why": "…"}   the edit cannot be kept, and why
//	{"is": "later", "id": "…", "why": "…"}     the program is at fault: come back, and send it again
//	{"is": "here"}         the program is there
//
// An id is the client's own name for an edit. One that is sent again, because
// no answer came, is kept once.
type Request struct {
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

// EditMessage says that an edit is kept.
type EditMessage struct {
	Is      string            `json:"is"`
	Seq     int64             `json:"seq"`
	ID      string            `json:"id"`
	By      string            `json:"by"`
	Kind    string            `json:"kind"`
	Words   string            `json:"words"`
	Changes []wheel.PinChange `json:"changes"`
	Advance map[string]int    `json:"advance,omitzero"` // where the edit changed it
}

// MissedMessage is what a client that comes back has missed, in order.
type MissedMessage struct {
	Is    string        `json:"is"`
	Edits []EditMessage `json:"edits"`
}

// StateMessage is where the history stands, and how many clients there are.
type StateMessage struct {
	Is     string     `json:"is"`
	Seq    int64      `json:"seq"`
	Undo   *StackTop  `json:"undo"` // what undo would take back; null for nothing
	Redo   *StackTop  `json:"redo"`
	People int        `json:"people"`
	Marks  []MarkLine `json:"marks"`
}

// StackTop is the edit that undo or redo is about.
type StackTop struct {
	Seq   int64  `json:"seq"`
	Words string `json:"words"`
}

// MarkLine is a mark in a list.
type MarkLine struct {
	ID   int64  `json:"id"`
	Seq  int64  `json:"seq"`
	Name string `json:"name"`
	At   string `json:"at"`
}

// VerdictMessage is what mechanics says of the pinning after an edit, at the
// client's tempo.
type VerdictMessage struct {
	Is  string `json:"is"`
	Seq int64  `json:"seq"`
	Verdict
	Made string `json:"made"` // how the edit changed the red line; empty: not at all
}

// Verdict is a verdict as a page shows it.
type Verdict struct {
	Stands string `json:"stands"` // with the marks for the drawing
	Listed string `json:"listed"` // the findings in words
	Brief  string `json:"brief"`  // in a line
}

// AskedMessage lists the changes of an edit that were held back.
type AskedMessage struct {
	Is    string             `json:"is"`
	ID    string             `json:"id"`
	Seq   int64              `json:"seq"`
	Holes []history.Conflict `json:"holes"`
}

// ErrorMessage says why a request was not met.
type ErrorMessage struct {
	Is  string `json:"is"`
	ID  string `json:"id"`
	Why string `json:"why"`
}

// Refused says that a request cannot be met; if the program is at fault, that
// it may be met later.
func Refused(id, why string, atFault bool) ErrorMessage {
	if atFault {
		return ErrorMessage{"later", id, why}
	}
	return ErrorMessage{"refused", id, why}
}

// BareMessage says one thing.
type BareMessage struct {
	Is string `json:"is"`
}

var (
	readAgain = BareMessage{"anew"}
	present   = BareMessage{"here"}
)

func editMessage(e history.Edit) EditMessage {
	m := EditMessage{Is: "edit", Seq: e.Seq, ID: e.ID, By: e.By, Kind: e.Kind, Words: e.Words, Changes: e.Changes}
	if m.Changes == nil {
		m.Changes = []wheel.PinChange{}
	}
	if e.Head != nil {
		if m.Advance = e.Head.Now.Advance; m.Advance == nil {
			m.Advance = map[string]int{}
		}
	}
	return m
}

func stackTop(l *history.Line) *StackTop {
	if l == nil {
		return nil
	}
	return &StackTop{l.Seq, l.Words}
}

func markLines(marks []history.Mark) []MarkLine {
	lines := make([]MarkLine, len(marks))
	for i, m := range marks {
		lines[i] = MarkLine{m.ID, m.Seq, m.Name, say.Day(m.At)}
	}
	return lines
}
