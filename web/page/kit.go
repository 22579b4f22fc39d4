package page

import (
	"context"
	"errors"
	"log/slog"
	"time"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/song"
)

// Options are what the pages need from outside.
type Options struct {
	Store   *store.Store
	Version string
	Now     func() time.Time
	Log     *slog.Logger // slog.Default where nil
}

// Kit is what the handlers of every area work with.
type Kit struct {
	Options
	Open Open
}

// Open is told of what changes a pinning that may be open on some page, where
// the change did not come from such a page.
type Open interface {
	MachineChanged(ctx context.Context, machine int64)
	PinningChanged(ctx context.Context, pinning int64)
}

// NewKit is a kit of options, in which nothing is open yet.
func NewKit(o Options) *Kit {
	if o.Log == nil {
		o.Log = slog.Default()
	}
	return &Kit{Options: o, Open: nothingOpen{}}
}

type nothingOpen struct{}

func (nothingOpen) MachineChanged(context.Context, int64) {}
func (nothingOpen) PinningChanged(context.Context, int64) {}

// CurrentMachine is the machine to work on: the one that the browser chose, else
// the crew's, else the first; nil where there is none.
func (k *Kit) CurrentMachine(ctx context.Context) (*store.Machine, error) {
	if id := chosen(ctx); id != 0 {
		m, err := k.Store.Machine(ctx, id)
		if !errors.Is(err, wheel.ErrNotFound) {
			return m, err
		}
	}
	id, err := k.Store.CurrentMachine(ctx)
	if err != nil {
		return nil, err
	}
	if id == 0 {
		rows, err := k.Store.Machines(ctx)
		if err != nil || len(rows) == 0 {
			return nil, err
		}
		id = rows[0].ID
	}
	return k.Store.Machine(ctx, id)
}

// Compiled is a machine as it is kept, with its mechanics.
type Compiled struct {
	*store.Machine
	*timing.Works
}

// Compiled is the machine with an id, with its mechanics.
func (k *Kit) Compiled(ctx context.Context, id int64) (Compiled, error) {
	m, err := k.Store.Machine(ctx, id)
	if err != nil {
		return Compiled{}, err
	}
	w, err := timing.Compile(m.File)
	return Compiled{m, w}, err
}

// CountedFor is the machine with its wheel counted in a pinning's bars.
func (m Compiled) CountedFor(p *wheel.Pinning) Compiled {
	works := m.Works.CountedFor(p)
	if works == m.Works {
		return m
	}
	kept := *m.Machine
	kept.File = works.Machine
	return Compiled{&kept, works}
}

// CurrentCompiled is the machine that the crew works on, with its mechanics.
// ok is false where there is none.
func (k *Kit) CurrentCompiled(ctx context.Context) (m Compiled, ok bool, err error) {
	kept, err := k.CurrentMachine(ctx)
	if err != nil || kept == nil {
		return Compiled{}, false, err
	}
	w, err := timing.Compile(kept.File)
	return Compiled{kept, w}, err == nil, err
}

// TempoOf is the tempo that a pinning is looked at with: its own, or the
// machine's lowest where it has none.
func TempoOf(p *store.Pinning, m Compiled) float64 {
	if p.File.TempoBPM > 0 {
		return p.File.TempoBPM
	}
	return m.File.Limits.TempoMinBPM
}

// ParsedSong is a song as it is kept and as it is read from its file.
func (k *Kit) ParsedSong(ctx context.Context, id int64) (store.Song, *song.Song, error) {
	row, err := k.Store.Song(ctx, id)
	if err != nil {
		return row, nil, err
	}
	data, err := k.Store.SongBytes(ctx, id)
	if err != nil {
		return row, nil, err
	}
	songs, err := song.Parse(data, row.FileName)
	if err != nil {
		return row, nil, err
	}
	if row.Track >= len(songs) {
		return row, nil, wheel.Refuse(wheel.ErrInvalid, "The file %s no longer has the song that was kept from it.", row.FileName)
	}
	one := songs[row.Track]
	one.Title = row.Title // it may have been renamed
	return row, one, nil
}
