package desk

import (
	"context"
	"log/slog"
	"sync"

	"pinwright/store"
	"pinwright/wheel/history"
)

// Store is where pinnings are kept, as [store.Store] keeps them.
type Store interface {
	Machine(ctx context.Context, id int64) (*store.Machine, error)
	Pinning(ctx context.Context, id int64) (*store.Pinning, error)

	Edit(ctx context.Context, pinningID int64, n history.NewEdit) (history.Edit, error)
	Undo(ctx context.Context, pinningID, of int64, editID, by string) (history.Edit, error)
	Redo(ctx context.Context, pinningID, of int64, editID, by string) (history.Edit, error)
	ReturnTo(ctx context.Context, pinningID, seq int64, editID, by string) (history.Edit, error)
	Edits(ctx context.Context, pinningID, after int64, limit int) ([]history.Edit, error)
	EditState(ctx context.Context, pinningID int64) (store.EditState, error)

	SetMark(ctx context.Context, pinningID int64, name string) (history.Mark, error)
	RemoveMark(ctx context.Context, pinningID, markID int64) error
	Marks(ctx context.Context, pinningID int64) ([]history.Mark, error)
}

// Desks are the pinnings that are open now. They are safe for concurrent use.
type Desks struct {
	store Store
	view  View
	log   *slog.Logger

	mu   sync.Mutex
	open map[int64]*desk
}

// New is no open pinnings. view writes verdicts as the clients show them. log is
// [slog.Default] where nil.
func New(s Store, view View, log *slog.Logger) *Desks {
	if log == nil {
		log = slog.Default()
	}
	return &Desks{store: s, view: view, log: log, open: map[int64]*desk{}}
}

// Join is a new client of a pinning, which sends nothing before its first
// request. disconnect ends its connection; it may be called more than once.
// [Client.Leave] has to be called in the end.
func (ds *Desks) Join(pinningID int64, disconnect func()) *Client {
	ds.mu.Lock()
	defer ds.mu.Unlock()
	d := ds.open[pinningID]
	if d == nil {
		d = &desk{store: ds.store, view: ds.view, id: pinningID, clients: map[*Client]struct{}{}}
		ds.open[pinningID] = d
	}
	d.refs++
	return &Client{desks: ds, desk: d, out: make(chan any, maxWaiting), disconnect: disconnect}
}

// release forgets a desk that no client needs any more.
func (ds *Desks) release(d *desk) {
	ds.mu.Lock()
	defer ds.mu.Unlock()
	if d.refs--; d.refs == 0 {
		delete(ds.open, d.id)
	}
}

// MachineChanged has the clients that have a pinning of a machine open read it
// again, as the machine's mechanics have changed.
func (ds *Desks) MachineChanged(ctx context.Context, id int64) {
	ds.changedElsewhere(ctx, func(d *desk) bool { return d.machine.ID == id })
}

// PinningChanged has the clients that have a pinning open read it again, as it
// was changed by someone who is not one of them.
func (ds *Desks) PinningChanged(ctx context.Context, id int64) {
	ds.changedElsewhere(ctx, func(d *desk) bool { return d.id == id })
}

// changedElsewhere reloads those of the desks that have been loaded. The change
// is kept, so all hear of it, even if whoever made it is gone.
func (ds *Desks) changedElsewhere(ctx context.Context, changed func(*desk) bool) {
	ctx = context.WithoutCancel(ctx)
	ds.mu.Lock()
	open := make([]*desk, 0, len(ds.open))
	for _, d := range ds.open {
		open = append(open, d)
	}
	ds.mu.Unlock()
	for _, d := range open {
		d.mu.Lock()
		if d.file != nil && changed(d) {
			if err := d.reload(ctx); err != nil {
				ds.log.Error("an open pinning could not be read again", "pinning", d.id, "error", err)
			}
		}
		d.mu.Unlock()
	}
}
