package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"hash/fnv"
	"strings"
	"time"
	"unicode"

	"pinwright/wheel"
	"pinwright/wheel/file"
)

// The kinds of edits that the store makes itself. All others are words of the
// sender, such as drive, pull, move.
const (
	KindUndo   = "undo"
	KindRedo   = "redo"
	KindReturn = "return"
	KindBring  = "bring"  // the pinning as a whole, from a file
	KindRename = "rename" // another title
)

const (
	maxEditID = 64  // bytes
	maxKind   = 20  // letters
	maxWords  = 200 // characters
)

// NewEdit is an edit as it is sent.
type NewEdit struct {
	ID      string // the sender's own, at most 64 bytes: the same for the same edit sent again
	Base    int64  // the last edit that the sender had seen, with all before it; 0 for none
	By      string // a name for who made it; may be empty
	Kind    string // one word in small letters
	Words   string // what it does, in one line
	Changes []wheel.PinChange
	Head    *wheel.HeadChange // nil: the head stays
}

// Edit is an edit as it is kept.
type Edit struct {
	Seq   int64 // 1, 2, 3 … within its pinning
	ID    string
	At    time.Time
	By    string
	Kind  string
	Words string
	// Of is the edit that an undo took back or a redo brought again, or the
	// one that a return went back to, which may be 0, as the pinning came in.
	Of      int64
	Changes []wheel.PinChange // what it changed in fact
	Head    *wheel.HeadChange // what it changed in fact; nil: nothing
	Held    []Conflict        // what was held back of it
}

// Conflict is a change that was held back: since the edit's base someone
// else has changed the hole, to another end. To have it all the same, it is
// sent again in a new edit whose base is the present one.
type Conflict struct {
	wheel.PinChange              // as it was asked for
	Is              wheel.InHole `json:"is,omitzero"` // what the hole holds
	Seq             int64        `json:"seq"`         // of the edit that touched the hole last
	By              string       `json:"by"`          // who made that one
}

// Edit keeps an edit of a pinning. When it returns, the edit is on disk.
//
// For each hole it changes: if the hole holds already what it should, nothing
// is done. If nobody has touched the hole since the edit's base, or it holds
// what the sender thought it did, it is changed. Otherwise the change, and no
// other, is held back, see [Conflict]. A head changed in the same place by
// two is refused as a whole ([wheel.ErrConflict]).
//
// An edit with the id of one that is kept already is not made again: the
// answer is the one that was given then. If it is another edit that has the
// same id, it is refused ([wheel.ErrConflict]). So are, as [wheel.ErrInvalid], changes
// that the machine as it is now has no holes for.
func (s *Store) Edit(ctx context.Context, pinningID int64, n NewEdit) (Edit, error) {
	if err := n.check(); err != nil {
		return Edit{}, err
	}
	return s.keepEdit(ctx, pinningID, "keeping the edit", n, 0, func(p *edited, e *Edit) error {
		if n.Base < 0 || n.Base > p.seq {
			return wheel.Refuse(wheel.ErrInvalid, "the edit starts from edit %d of %s, and the last one kept is %d; load the page anew and make it again", n.Base, p.file.Title, p.seq)
		}
		if err := p.machine.CheckChanges(n.Changes).Err(); err != nil {
			return wheel.RefuseFor(wheel.ErrInvalid, err, "the edit does not fit %s, and nothing was changed: %s", p.machine.Name, err)
		}
		holds, err := p.held(ctx, n.Changes)
		if err != nil {
			return err
		}
		for i, c := range n.Changes {
			is := holds[i]
			switch {
			case is.InHole == c.Now:
			case is.seq <= n.Base || is.InHole == c.Was:
				c.Was = is.InHole
				e.Changes = append(e.Changes, c)
			default:
				e.Held = append(e.Held, Conflict{c, is.InHole, is.seq, is.by})
			}
		}
		if n.Head != nil {
			if err := p.changeHead(e, *n.Head); err != nil {
				return err
			}
		}
		p.pushed(e)
		return nil
	})
}

// check refuses what cannot be kept of any pinning.
func (n *NewEdit) check() error {
	if err := checkSender("edit", n.ID, n.By); err != nil {
		return err
	}
	odd := func(r rune) bool { return r < 'a' || r > 'z' }
	switch {
	case n.Kind == "" || len(n.Kind) > maxKind || strings.ContainsFunc(n.Kind, odd):
		return wheel.Refuse(wheel.ErrInvalid, "the edit's kind is %.*q; it should be one word of at most %d small letters, such as drive", maxKind, n.Kind, maxKind)
	case n.Kind == KindUndo || n.Kind == KindRedo || n.Kind == KindReturn:
		return wheel.Refuse(wheel.ErrInvalid, "the edit's kind is %q, which has a call of its own", n.Kind)
	case len(n.Changes) == 0 && n.Head == nil:
		return wheel.Refuse(wheel.ErrInvalid, "the edit changes nothing; it should name at least one hole")
	case strings.TrimSpace(n.Words) == "":
		return wheel.Refuse(wheel.ErrInvalid, "the edit has no words; say in a line what it does")
	}
	return wheel.CheckLine("the edit's text", n.Words, maxWords)
}

// checkSender refuses an edit, or a tap, that cannot be told from another.
func checkSender(what, id, by string) error {
	odd := func(r rune) bool { return unicode.IsControl(r) || unicode.IsSpace(r) || r == unicode.ReplacementChar }
	switch {
	case id == "":
		return wheel.Refuse(wheel.ErrInvalid, "the %[1]s has no id; without one it could not be told from the same %[1]s sent twice", what)
	case len(id) > maxEditID:
		return wheel.Refuse(wheel.ErrInvalid, "the %s's id has %d bytes; %d at most", what, len(id), maxEditID)
	case strings.ContainsFunc(id, odd):
		return wheel.Refuse(wheel.ErrInvalid, "the %s's id is %q; an id has no spaces and nothing but text", what, id)
	}
	return wheel.CheckLine("the name of who made the edit", by, wheel.MaxName)
}

// edited is a pinning while an edit of it is kept, as it was before.
type edited struct {
	tx         *sql.Tx
	do         *editStatements
	id         int64
	file       *wheel.Pinning // the head, without pins
	machine    *wheel.Machine
	pins       int
	revision   int
	seq        int64 // of the last edit
	undo, redo int64 // the tops of the stacks; the edit moves them
}

// keepEdit keeps an edit whose work says what it changes, unless there is one
// of its id already. An edit of a kind that goes back to another names it.
func (s *Store) keepEdit(ctx context.Context, id int64, doing string, n NewEdit, of int64, work func(*edited, *Edit) error) (e Edit, err error) {
	err = s.change(ctx, doing, func(tx *sql.Tx) error {
		e = Edit{ID: n.ID, By: n.By, Kind: n.Kind, Words: n.Words}
		asked, err := n.fingerprint(of)
		if err != nil {
			return err
		}
		if kept, was, err := s.keptEdit(ctx, tx, id, n.ID); err != nil || kept != nil {
			if err == nil && was != asked {
				err = wheel.Refuse(wheel.ErrConflict, "another edit with the id %s is kept already (%s), and this one was not; send it with an id of its own", n.ID, kept.Words)
			}
			if err == nil {
				e = *kept
			}
			return err
		}
		p, err := s.openEdited(ctx, tx, id)
		if err != nil {
			return err
		}
		if err := work(p, &e); err != nil {
			return err
		}
		return p.write(ctx, &e, s.nowUS(), asked)
	})
	if err != nil {
		return Edit{}, err
	}
	return e, nil
}

// fingerprint is a number that two edits have in common only if they ask for
// the same, whatever their bases and whoever sent them: the one may have moved
// on by the second sending, the other have put down another name.
func (n *NewEdit) fingerprint(of int64) (int64, error) {
	h := fnv.New64a()
	err := json.NewEncoder(h).Encode([]any{n.Kind, n.Words, n.Changes, n.Head, of})
	if err != nil {
		return 0, wheel.RefuseFor(wheel.ErrInvalid, err, "the edit cannot be kept: %s", err)
	}
	return int64(h.Sum64()), nil
}

func (s *Store) openEdited(ctx context.Context, tx *sql.Tx, id int64) (*edited, error) {
	p := &edited{tx: tx, do: &s.edit, id: id}
	var machineID int64
	var revision int
	var head []byte
	err := tx.StmtContext(ctx, s.edit.opened).QueryRowContext(ctx, id).Scan(&machineID, &revision, &head, &p.pins, &p.revision, &p.seq, &p.undo, &p.redo)
	if errors.Is(err, sql.ErrNoRows) {
		return nil, noPinning(id)
	}
	if err != nil {
		return nil, err
	}
	if p.file, err = file.ReadPinning(head); err != nil {
		return nil, unreadable(fmt.Sprint(id), err)
	}
	p.machine, err = s.editedMachine(ctx, tx, machineID, revision)
	return p, err
}

// editedMachine is the machine of a pinning that is edited. It is read when
// it is another than at the last edit or has been changed since.
func (s *Store) editedMachine(ctx context.Context, tx *sql.Tx, id int64, revision int) (*wheel.Machine, error) {
	if last := s.lastEdited.Load(); last != nil && last.ID == id && last.Revision == revision {
		return last.File, nil
	}
	m, err := machine(ctx, tx, id)
	if err != nil {
		return nil, err
	}
	s.lastEdited.Store(m)
	return m.File, nil
}

// changeHead notes what a change of the head comes to.
func (p *edited) changeHead(e *Edit, c wheel.HeadChange) error {
	is := p.file.Head()
	now, err := c.Onto(is)
	if err != nil {
		return wheel.RefuseFor(wheel.ErrConflict, err, "%s was changed by someone else meanwhile, and nothing was overwritten: %s", p.file.Title, err)
	}
	if !now.Equal(is) {
		e.Head = &wheel.HeadChange{Was: is, Now: now}
	}
	return nil
}

// pushed puts the edit, if it changes anything, on top of what undo takes
// back. Nothing is left to redo then.
func (p *edited) pushed(e *Edit) {
	if len(e.Changes) > 0 || e.Head != nil {
		p.undo, p.redo = p.seq+1, 0
	}
}

// write adds the edit to the history and makes its changes.
func (p *edited) write(ctx context.Context, e *Edit, us, asked int64) error {
	e.Seq, e.At = p.seq+1, timeOf(us)
	changes, err := changesText(e.Changes)
	if err != nil {
		return err
	}
	var head, holdsBack sql.NullString
	if e.Head != nil {
		text, err := json.Marshal(e.Head)
		if err != nil {
			return err
		}
		head = sql.NullString{String: string(text), Valid: true}
	}
	if len(e.Held) > 0 {
		text, err := json.Marshal(e.Held)
		if err != nil {
			return err
		}
		holdsBack = sql.NullString{String: string(text), Valid: true}
	}
	_, err = p.tx.StmtContext(ctx, p.do.add).ExecContext(ctx,
		p.id, e.Seq, e.ID, asked, us, e.By, e.Kind, e.Of, e.Words, p.undo, p.redo, changes, holdsBack, head)
	if err != nil || len(e.Changes) == 0 && e.Head == nil {
		return err
	}
	if _, err := p.tx.StmtContext(ctx, p.do.setHoles).ExecContext(ctx, p.id, e.Seq, changes); err != nil {
		return err
	}
	if err := p.writeHead(ctx, e.Head); err != nil {
		return err
	}
	driven := 0
	for _, c := range e.Changes {
		switch {
		case c.Now.Pin && !c.Was.Pin:
			driven++
		case c.Was.Pin && !c.Now.Pin:
			driven--
		}
	}
	if _, err := p.tx.StmtContext(ctx, p.do.count).ExecContext(ctx, driven, us, p.id); err != nil {
		return err
	}
	return writable(ctx, p.tx, p.id, p.pins+driven)
}

func (p *edited) writeHead(ctx context.Context, c *wheel.HeadChange) error {
	if c == nil {
		return nil
	}
	p.file.SetHead(c.Now)
	if err := p.file.CheckOn(p.machine).Err(); err != nil {
		return wheel.RefuseFor(wheel.ErrInvalid, err, "the pinning %s would not fit %s: %s", p.file.Title, p.machine.Name, err)
	}
	text, err := headText(p.file)
	if err != nil {
		return err
	}
	_, err = p.tx.ExecContext(ctx, `UPDATE pinnings SET head = ? WHERE id = ?`, text, p.id)
	return err
}
