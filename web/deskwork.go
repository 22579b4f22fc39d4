package web

import (
	"cmp"
	"context"
	"errors"
	"strings"

	"github.com/a-h/templ"

	"pinwright/store"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/history"
	"pinwright/wheel/say"
)

// do does what a page asks. All of it is done in the desk's one order.
func (s *server) do(ctx context.Context, d *desk, v *visitor, m fromPage) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if m.Do == "open" {
		return s.open(ctx, d, v, m)
	}
	if _, here := d.people[v]; !here {
		return wheel.Refuse(wheel.ErrMalformed, "The page has not said yet what it has; the first message should be open.")
	}
	by := v.name
	switch m.Do {
	case "here":
		v.tell(here)
		return nil
	case "edit":
		return s.kept(ctx, d, v, m.ID)(s.Store.Edit(ctx, d.id, history.NewEdit{
			ID: m.ID, Base: m.Base, By: by, Kind: m.Kind, Words: m.Words, Changes: m.Changes,
		}))
	case "undo":
		return s.kept(ctx, d, v, m.ID)(s.Store.Undo(ctx, d.id, m.Of, m.ID, by))
	case "redo":
		return s.kept(ctx, d, v, m.ID)(s.Store.Redo(ctx, d.id, m.Of, m.ID, by))
	case "return":
		return s.kept(ctx, d, v, m.ID)(s.Store.ReturnTo(ctx, d.id, m.Seq, m.ID, by))
	case "mark":
		if _, err := s.Store.SetMark(ctx, d.id, m.Words); err != nil {
			return err
		}
		return s.tellState(ctx, d)
	case "unmark":
		if err := s.Store.RemoveMark(ctx, d.id, m.Mark); err != nil {
			return err
		}
		return s.tellState(ctx, d)
	case "tempo":
		return s.setTempo(ctx, d, v, m.Tempo)
	}
	return wheel.Refuse(wheel.ErrMalformed, "The page asks to do %q, which is nothing that can be done.", say.Short(m.Do))
}

// open tells a page what it has missed since the edit it saw last, and
// everything that it needs to go on.
func (s *server) open(ctx context.Context, d *desk, v *visitor, m fromPage) error {
	if d.file == nil {
		if err := s.lay(ctx, d); err != nil {
			return err
		}
	}
	missed, ok, err := s.missed(ctx, d, m.After)
	if err != nil {
		return err
	}
	if !ok {
		v.tell(anew)
		return nil
	}
	if len([]rune(m.Name)) > wheel.MaxName {
		m.Name = string([]rune(m.Name)[:wheel.MaxName])
	}
	if m.Tempo != 0 && !goodTempo(m.Tempo) {
		return badTempo(m.Tempo)
	}
	v.name, v.tempo = m.Name, cmp.Or(m.Tempo, page.TempoOf(&store.Pinning{File: d.file}, d.works))
	if len(missed) > 0 {
		v.tell(missedMessage{"missed", missed})
	}
	d.people[v] = struct{}{}
	if err := tellVerdict(ctx, d, map[*visitor]struct{}{v: {}}, ""); err != nil {
		return err
	}
	return s.tellState(ctx, d)
}

// missed are the edits after one, for a page that comes back. ok is false where
// they are too many to tell, or where there never was that one.
func (s *server) missed(ctx context.Context, d *desk, after int64) (missed []editMessage, ok bool, err error) {
	if after < 0 || after > d.seq || d.seq-after > maxMissed {
		return nil, false, nil
	}
	for changes := 0; after < d.seq; {
		const atOnce = 50
		edits, err := s.Store.Edits(ctx, d.id, after, atOnce)
		if err != nil {
			return nil, false, err
		}
		for _, e := range edits {
			missed = append(missed, messageOf(e))
			after = e.Seq
			changes += len(e.Changes)
		}
		if len(edits) == 0 || changes > maxMissedChanges {
			return nil, false, nil
		}
	}
	return missed, true, nil
}

// kept takes an edit that the store has kept to the desk and to everyone who
// sits at it.
func (s *server) kept(ctx context.Context, d *desk, v *visitor, id string) func(history.Edit, error) error {
	return func(e history.Edit, err error) error {
		if err != nil {
			return err
		}
		if e.Seq <= d.seq { // sent again: it has been told to everyone else
			v.tell(messageOf(e))
			if len(e.Held) > 0 {
				v.tell(askedMessage{"asked", id, d.seq, e.Held})
			}
			return nil
		}
		ctx := context.WithoutCancel(ctx) // it is kept: all are told, though its page may be gone
		before := d.stands
		if err := d.take(e); err != nil {
			// What is kept and what lies here have parted; what is kept holds.
			return s.layAnew(ctx, d)
		}
		d.stands = standingOf(d.works.Works, d.turn)
		made := d.stands.since(before, d.works)
		for other := range d.people {
			other.tell(messageOf(e))
		}
		if len(e.Held) > 0 {
			v.tell(askedMessage{"asked", id, e.Seq, e.Held})
		}
		if err := tellVerdict(ctx, d, d.people, made); err != nil {
			return err
		}
		return s.tellState(ctx, d)
	}
}

// layAnew takes the pinning from the store once more and has every page that
// has it open do the same.
func (s *server) layAnew(ctx context.Context, d *desk) error {
	err := s.lay(ctx, d)
	for v := range d.people {
		v.tell(anew)
	}
	return err
}

// MachineChanged has the pages that have a pinning of a machine open read it
// anew, as the machine's mechanics have changed.
func (s *server) MachineChanged(ctx context.Context, id int64) {
	s.changedAway(ctx, func(d *desk) bool { return d.works.ID == id })
}

// PinningChanged has the pages that have a pinning open read it anew, as it was
// changed elsewhere.
func (s *server) PinningChanged(ctx context.Context, id int64) {
	s.changedAway(ctx, func(d *desk) bool { return d.id == id })
}

// changedAway has the pages at some of the desks that are laid read their
// pinning anew, as it was changed elsewhere. It is kept, so all are told, though
// who changed it may be gone.
func (s *server) changedAway(ctx context.Context, at func(*desk) bool) {
	ctx = context.WithoutCancel(ctx)
	s.desks.each(func(d *desk) {
		if d.file == nil || !at(d) {
			return
		}
		if err := s.layAnew(ctx, d); err != nil {
			s.Log.Error("a pinning could not be laid anew", "pinning", d.id, "error", err)
		}
	})
}

// take makes an edit's changes on the desk.
func (d *desk) take(e history.Edit) error {
	if e.Seq != d.seq+1 {
		return errors.New("an edit is missing")
	}
	if e.Head != nil {
		d.file.SetHead(e.Head.Now)
	}
	if err := d.file.Apply(e.Changes); err != nil {
		return err
	}
	d.file.Sort()
	if err := d.turn.Load(d.file); err != nil {
		return err
	}
	d.seq = e.Seq
	return nil
}

func messageOf(e history.Edit) editMessage {
	m := editMessage{Is: "edit", Seq: e.Seq, ID: e.ID, By: e.By, Kind: e.Kind, Words: e.Words, Changes: e.Changes}
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

// setTempo is the tempo at which a page wants the findings.
func (s *server) setTempo(ctx context.Context, d *desk, v *visitor, bpm float64) error {
	if !goodTempo(bpm) {
		return badTempo(bpm)
	}
	v.tempo = bpm
	return tellVerdict(ctx, d, map[*visitor]struct{}{v: {}}, "")
}

func (s *server) tellState(ctx context.Context, d *desk) error {
	state, err := s.Store.EditState(ctx, d.id)
	if err != nil {
		return err
	}
	marks, err := s.Store.Marks(ctx, d.id)
	if err != nil {
		return err
	}
	m := stateMessage{Is: "state", Seq: state.Seq, Undo: topOf(state.Undo), Redo: topOf(state.Redo), People: len(d.people), Marks: []markOfSeq{}}
	for _, mark := range marks {
		m.Marks = append(m.Marks, markOfSeq{mark.ID, mark.Seq, mark.Name, say.Day(mark.At)})
	}
	for v := range d.people {
		v.tell(m)
	}
	return nil
}

func topOf(e *history.Line) *stackTop {
	if e == nil {
		return nil
	}
	return &stackTop{e.Seq, e.Words}
}

// verdictAt is what mechanics says of the desk at a tempo, for a page.
func verdictAt(ctx context.Context, d *desk, tempo float64, made string) (verdictMessage, error) {
	panel, err := panelOf(d.works, d.turn, d.stands, d.file, d.id, tempo)
	if err != nil {
		return verdictMessage{}, err
	}
	var stands, listed, line strings.Builder
	for _, part := range []struct {
		view templ.Component
		text *strings.Builder
	}{{verdictStands(panel), &stands}, {verdictListed(panel), &listed}, {brief(panel), &line}} {
		if err := part.view.Render(ctx, part.text); err != nil {
			return verdictMessage{}, err
		}
	}
	return verdictMessage{"verdict", d.seq, stands.String(), listed.String(), line.String(), made}, nil
}

// tellVerdict tells pages the verdict, each at its tempo; once worked out it is
// the same for all who want it at one.
func tellVerdict(ctx context.Context, d *desk, to map[*visitor]struct{}, made string) error {
	told := map[float64]verdictMessage{}
	for v := range to {
		m, ok := told[v.tempo]
		if !ok {
			var err error
			if m, err = verdictAt(ctx, d, v.tempo, made); err != nil {
				return err
			}
			told[v.tempo] = m
		}
		v.tell(m)
	}
	return nil
}

func goodTempo(bpm float64) bool { return bpm >= 1 && bpm <= wheel.MaxTempoBPM }

func badTempo(bpm float64) error {
	return wheel.Refuse(wheel.ErrInvalid, "The tempo is %s BPM; it should be 1 to %d BPM.", wheel.Number(bpm), wheel.MaxTempoBPM)
}
