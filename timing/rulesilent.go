package timing

import "fmt"

// Silent: a pin on a channel that is out of service.
var Silent = Kind{&kindFacts{
	name:   "silent",
	mark:   "M14 8a6 6 0 1 0-12 0a6 6 0 1 0 12 0M4 12 12 4",
	missed: "the channel is resting",
}}

type silent struct{}

func (silent) kind() Kind { return Silent }

func (silent) scan(t *Turn) {
	for i := range t.rows {
		if t.works.Channels[i].Resting && t.rows[i].pins > 0 {
			t.forbidAll(Silent, i)
		}
	}
}

func (silent) find(t *Turn, dst []Finding) []Finding {
	for i := range t.rows {
		if r := &t.rows[i]; t.works.Channels[i].Resting && r.pins > 0 {
			for at := r.next(0); at < r.n; at = r.next(at + 1) {
				dst = append(dst, Finding{Silent, i, at, -1, -1, -1, 0, 0})
			}
		}
	}
	return dst
}

func (silent) sentence(w *Works, f Finding) string {
	return fmt.Sprintf("%s: a pin on a channel that is resting", w.pinWords(f))
}

// stops takes every drop of a channel that is out of service.
func (silent) stops(c *Channel) bool { return c.Resting }
