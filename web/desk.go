package web

import (
	"context"
	"sync"

	"pinwright/timing"
	"pinwright/web/page"
	"pinwright/wheel"
)

// A desk is a pinning that is open on some page: its pins on a turn of the
// wheel, and everyone who works on it. All that is done to it is done in one
// order, which is that of the edits kept.
type desk struct {
	id   int64
	refs int // pages that have it open, or are about to; guarded by desks

	mu     sync.Mutex
	works  page.Compiled
	file   *wheel.Pinning // nil until it is laid
	turn   *timing.Turn
	seq    int64 // of the last edit in file
	stands standing
	people map[*visitor]struct{}
}

// visitor is one page that has a desk open.
type visitor struct {
	name  string
	tempo float64  // at which it wants the findings
	out   chan any // what is to be sent to it
	gone  func()   // ends the connection
}

// waiting is how many messages a page may be behind before it is sent away; it
// comes back and is told what it missed.
const waiting = 256

// tell queues a message; a page that does not keep up is sent away.
func (v *visitor) tell(message any) {
	select {
	case v.out <- message:
	default:
		v.gone()
	}
}

// desks are the pinnings that are open now.
type desks struct {
	mu   sync.Mutex
	open map[int64]*desk
}

// at is the desk of a pinning. Whoever asks for it leaves it again.
func (ds *desks) at(id int64) *desk {
	ds.mu.Lock()
	defer ds.mu.Unlock()
	if ds.open == nil {
		ds.open = map[int64]*desk{}
	}
	d := ds.open[id]
	if d == nil {
		d = &desk{id: id, people: map[*visitor]struct{}{}}
		ds.open[id] = d
	}
	d.refs++
	return d
}

// leave is the end of a page at a desk. Those who stay are told.
func (s *server) leave(ctx context.Context, d *desk, v *visitor) {
	d.mu.Lock()
	if _, was := d.people[v]; was {
		delete(d.people, v)
		if len(d.people) > 0 {
			if err := s.tellState(ctx, d); err != nil {
				s.Log.Error("those at a desk could not be told that one has left", "pinning", d.id, "error", err)
			}
		}
	}
	d.mu.Unlock()
	s.desks.leave(d)
}

func (ds *desks) leave(d *desk) {
	ds.mu.Lock()
	defer ds.mu.Unlock()
	if d.refs--; d.refs == 0 {
		delete(ds.open, d.id)
	}
}

// each calls f for every desk that is open, one after the other.
func (ds *desks) each(f func(*desk)) {
	ds.mu.Lock()
	open := make([]*desk, 0, len(ds.open))
	for _, d := range ds.open {
		open = append(open, d)
	}
	ds.mu.Unlock()
	for _, d := range open {
		d.mu.Lock()
		f(d)
		d.mu.Unlock()
	}
}

// lay puts the pinning on the desk as it is kept.
func (s *server) lay(ctx context.Context, d *desk) error {
	p, err := s.Store.Pinning(ctx, d.id)
	if err != nil {
		return err
	}
	m, err := s.Compiled(ctx, p.MachineID)
	if err != nil {
		return err
	}
	turn, err := m.Turn(p.File)
	if err != nil {
		return err
	}
	d.works, d.file, d.turn, d.seq = m, p.File, turn, p.Seq
	d.stands = standingOf(m.Works, turn)
	return nil
}
