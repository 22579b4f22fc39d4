package visitors

import (
	"net/netip"
	"sync"
	"time"
)

// leaveGuard slows down guessing of the code, for each address separately: a
// child who tries codes at one screen does not lock the others.
type leaveGuard struct {
	mu    sync.Mutex
	tries map[netip.Addr]*leaveTries
}

type leaveTries struct {
	wrong int       // since the last right one
	last  time.Time // the last wrong one
}

const (
	freeLeaveTries   = 4
	firstLeaveWait   = 5 * time.Second
	longestLeaveWait = time.Minute
	leaveForgotten   = 10 * time.Minute // wrong ones without another after them
)

// wait is how long after the last wrong code none is accepted: 5 s from the fifth
// on, doubled with each further one, a minute at most.
func (t *leaveTries) wait() time.Duration {
	over := t.wrong - freeLeaveTries
	if over <= 0 {
		return 0
	}
	return min(longestLeaveWait, firstLeaveWait<<min(over-1, 8))
}

// try checks a code that an address sent, by calling is. Where it is not right,
// wait is how long no further code is accepted; where wait has not passed yet, is
// is not called.
func (g *leaveGuard) try(from netip.Addr, now time.Time, is func() bool) (right bool, wait time.Duration) {
	g.mu.Lock()
	defer g.mu.Unlock()
	for addr, t := range g.tries {
		if now.Sub(t.last) >= leaveForgotten {
			delete(g.tries, addr)
		}
	}
	t := g.tries[from]
	if t == nil {
		t = &leaveTries{}
	}
	if wait = t.last.Add(t.wait()).Sub(now); t.wrong > 0 && wait > 0 {
		return false, wait
	}
	if is() {
		delete(g.tries, from)
		return true, 0
	}
	t.wrong, t.last = t.wrong+1, now
	if g.tries == nil {
		g.tries = map[netip.Addr]*leaveTries{}
	}
	g.tries[from] = t
	return false, t.wait()
}
