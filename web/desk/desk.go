package desk

import (
	"cmp"
	"context"
	"errors"
	"sync"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/history"
	"pinwright/wheel/say"
)

// A client that comes back is sent at most maxMissed edits, with about
// maxMissedChanges changes; after more it reads the wheel again.
const (
	maxMissed        = 500
	maxMissedChanges = 50_000
)

// desk is a pinning that is open. All that is done to it is done under mu, and
// so in one order, which is that of the edits kept.
type desk struct {
	store Store
	view  View
	id    int64
	refs  int // clients that have joined and not left; guarded by Desks

	mu       sync.Mutex
	beats    int            // in a bar where the pinning has none of its own
	machine  *store.Machine // counted in the pinning's bars, as is works
	works    *timing.Works
	file     *wheel.Pinning // nil until it is loaded
	turn     *timing.Turn
	seq      int64 // of the last edit in file
	standing timing.Standing
	clients  map[*Client]struct{}
}

// load puts the pinning on the desk as it is kept.
func (d *desk) load(ctx context.Context) error {
	p, err := d.store.Pinning(ctx, d.id)
	if err != nil {
		return err
	}
	m, err := d.store.Machine(ctx, p.MachineID)
	if err != nil {
		return err
	}
	works, err := timing.Compile(m.File)
	if err != nil {
		return err
	}
	d.beats = m.File.Wheel.BeatsPerBar
	works = works.CountedFor(p.File)
	turn, err := works.Turn(p.File)
	if err != nil {
		return err
	}
	counted := *m
	counted.File = works.Machine
	m = &counted
	d.machine, d.works, d.file, d.turn, d.seq = m, works, p.File, turn, p.Seq
	d.standing = turn.Standing()
	return nil
}

// reload loads the pinning once more, and has every client do the same.
func (d *desk) reload(ctx context.Context) error {
	err := d.load(ctx)
	for c := range d.clients {
		c.Send(readAgain)
	}
	return err
}

func (d *desk) do(ctx context.Context, c *Client, r Request) error {
	if r.Do == "open" {
		return d.open(ctx, c, r)
	}
	if _, joined := d.clients[c]; !joined {
		return wheel.Refuse(wheel.ErrMalformed, "The page has not said yet what it has; the first message should be open.")
	}
	switch r.Do {
	case "here":
		c.Send(present)
		return nil
	case "edit", "undo", "redo", "return":
		e, err := d.keep(ctx, c.name, r)
		if err != nil {
			return err
		}
		return d.kept(ctx, c, r.ID, e)
	case "mark":
		if _, err := d.store.SetMark(ctx, d.id, r.Words); err != nil {
			return err
		}
		return d.sendState(ctx)
	case "unmark":
		if err := d.store.RemoveMark(ctx, d.id, r.Mark); err != nil {
			return err
		}
		return d.sendState(ctx)
	case "tempo":
		return d.setTempo(ctx, c, r.Tempo)
	}
	return wheel.Refuse(wheel.ErrMalformed, "The page asks to do %q, which is nothing that can be done.", say.Short(r.Do))
}

// open sends a client what it has missed since the edit it saw last, and
// everything that it needs to go on.
func (d *desk) open(ctx context.Context, c *Client, r Request) error {
	if d.file == nil {
		if err := d.load(ctx); err != nil {
			return err
		}
	}
	missed, ok, err := d.missed(ctx, r.After)
	if err != nil {
		return err
	}
	if !ok {
		c.Send(readAgain)
		return nil
	}
	if r.Tempo != 0 && !goodTempo(r.Tempo) {
		return badTempo(r.Tempo)
	}
	if name := []rune(r.Name); len(name) > wheel.MaxName {
		r.Name = string(name[:wheel.MaxName])
	}
	c.name, c.tempo = r.Name, cmp.Or(r.Tempo, max(0, d.file.TempoBPM), d.machine.File.Limits.TempoMinBPM)
	if len(missed) > 0 {
		c.Send(MissedMessage{"missed", missed})
	}
	d.clients[c] = struct{}{}
	if err := d.sendVerdict(ctx, map[*Client]struct{}{c: {}}, ""); err != nil {
		return err
	}
	return d.sendState(ctx)
}

// missed are the edits after one, for a client that comes back. ok is false if
// they are too many to send, or if there never was that one.
func (d *desk) missed(ctx context.Context, after int64) (missed []EditMessage, ok bool, err error) {
	if after < 0 || after > d.seq || d.seq-after > maxMissed {
		return nil, false, nil
	}
	for changes := 0; after < d.seq; {
		const atOnce = 50
		edits, err := d.store.Edits(ctx, d.id, after, atOnce)
		if err != nil {
			return nil, false, err
		}
		for _, e := range edits {
			missed = append(missed, editMessage(e))
			after = e.Seq
			changes += len(e.Changes)
		}
		if len(edits) == 0 || changes > maxMissedChanges {
			return nil, false, nil
		}
	}
	return missed, true, nil
}

// keep has the store keep the edit that a client asks for.
func (d *desk) keep(ctx context.Context, by string, r Request) (history.Edit, error) {
	switch r.Do {
	case "undo":
		return d.store.Undo(ctx, d.id, r.Of, r.ID, by)
	case "redo":
		return d.store.Redo(ctx, d.id, r.Of, r.ID, by)
	case "return":
		return d.store.ReturnTo(ctx, d.id, r.Seq, r.ID, by)
	}
	return d.store.Edit(ctx, d.id, history.NewEdit{
		ID: r.ID, Base: r.Base, By: by, Kind: r.Kind, Words: r.Words, Changes: r.Changes,
	})
}

// kept sends an edit that the store has kept to every client, with the verdict
// and the state after it.
func (d *desk) kept(ctx context.Context, c *Client, id string, e history.Edit) error {
	if e.Seq <= d.seq { // sent again: the others have heard of it
		c.Send(editMessage(e))
		if len(e.Held) > 0 {
			c.Send(AskedMessage{"asked", id, d.seq, e.Held})
		}
		return nil
	}
	ctx = context.WithoutCancel(ctx) // it is kept: all hear of it, even if its client is gone
	before := d.standing
	if err := d.apply(e); err != nil {
		// What is kept and what is here differ, or the wheel is counted in other
		// bars; what is kept holds.
		return d.reload(ctx)
	}
	d.standing = d.turn.Standing()
	for other := range d.clients {
		other.Send(editMessage(e))
	}
	if len(e.Held) > 0 {
		c.Send(AskedMessage{"asked", id, e.Seq, e.Held})
	}
	if err := d.sendVerdict(ctx, d.clients, d.works.StandingChange(before, d.standing)); err != nil {
		return err
	}
	return d.sendState(ctx)
}

// apply makes an edit's changes on the desk.
func (d *desk) apply(e history.Edit) error {
	if e.Seq != d.seq+1 {
		return errors.New("an edit is missing")
	}
	if e.Head != nil {
		if cmp.Or(int(e.Head.Now.BeatsPerBar), d.beats) != d.machine.File.Wheel.BeatsPerBar {
			return errors.New("the wheel is counted in other bars now")
		}
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

// setTempo is the tempo at which a client wants the findings.
func (d *desk) setTempo(ctx context.Context, c *Client, bpm float64) error {
	if !goodTempo(bpm) {
		return badTempo(bpm)
	}
	c.tempo = bpm
	return d.sendVerdict(ctx, map[*Client]struct{}{c: {}}, "")
}

// sendState sends every client where the history stands.
func (d *desk) sendState(ctx context.Context) error {
	state, err := d.store.EditState(ctx, d.id)
	if err != nil {
		return err
	}
	marks, err := d.store.Marks(ctx, d.id)
	if err != nil {
		return err
	}
	m := StateMessage{
		Is: "state", Seq: state.Seq, Undo: stackTop(state.Undo), Redo: stackTop(state.Redo),
		People: len(d.clients), Marks: markLines(marks),
	}
	for c := range d.clients {
		c.Send(m)
	}
	return nil
}

func goodTempo(bpm float64) bool { return bpm >= 1 && bpm <= wheel.MaxTempoBPM }

func badTempo(bpm float64) error {
	return wheel.Refuse(wheel.ErrInvalid, "The tempo is %s BPM; it should be 1 to %d BPM.", wheel.Number(bpm), wheel.MaxTempoBPM)
}
