package wheel

import (
	"maps"
	"slices"
)

// Head is what a pinning says besides its pins.
type Head struct {
	Title    string         `json:"title"`
	TempoBPM float64        `json:"tempo_bpm"`
	Advance  map[string]int `json:"advance,omitempty"` // by channel id, in steps
}

// Head is the pinning's head. It shares nothing with p.
func (p *Pinning) Head() Head { return Head{p.Title, p.TempoBPM, maps.Clone(p.Advance)} }

// SetHead gives the pinning a head, with which it shares nothing.
func (p *Pinning) SetHead(h Head) {
	p.Title, p.TempoBPM, p.Advance = h.Title, h.TempoBPM, maps.Clone(h.Advance)
}

// Equal tells whether two heads say the same.
func (h Head) Equal(other Head) bool {
	return h.Title == other.Title && h.TempoBPM == other.TempoBPM && maps.Equal(h.Advance, other.Advance)
}

// HeadChange is what an edit does to a head.
type HeadChange struct {
	Was Head `json:"was"`
	Now Head `json:"now"`
}

// Inverse takes the change back.
func (c HeadChange) Inverse() HeadChange { return HeadChange{Was: c.Now, Now: c.Was} }

// Onto makes the change on a head that may have become another since: title,
// tempo and the advance of each channel, where they are changed, come to be
// what they are now; all else stays. Where the head has been changed in the
// same place to something else, it is [Problems].
func (c HeadChange) Onto(is Head) (Head, error) {
	var found checker
	is.Advance = maps.Clone(is.Advance)
	if c.Was.Title != c.Now.Title {
		if is.Title != c.Was.Title && is.Title != c.Now.Title {
			found.Add("title", "is %s by now; this would make it %s", Quoted(is.Title), Quoted(c.Now.Title))
		}
		is.Title = c.Now.Title
	}
	if was, now := c.Was.TempoBPM, c.Now.TempoBPM; was != now {
		if is.TempoBPM != was && is.TempoBPM != now {
			found.Add("tempo_bpm", "is %s by now; this would make it %s", Number(is.TempoBPM), Number(now))
		}
		is.TempoBPM = now
	}
	channels := maps.Clone(c.Was.Advance)
	if channels == nil {
		channels = map[string]int{}
	}
	maps.Copy(channels, c.Now.Advance)
	for _, id := range slices.Sorted(maps.Keys(channels)) {
		was, now, by := advanceOf(c.Was, id), advanceOf(c.Now, id), advanceOf(is, id)
		if was == now {
			continue
		}
		if by != was && by != now {
			found.Add("advance."+IDText(id), "is %s by now; this would make it %s", by, now)
		}
		if !now.given {
			delete(is.Advance, id)
			continue
		}
		if is.Advance == nil {
			is.Advance = map[string]int{}
		}
		is.Advance[id] = now.steps
	}
	return is, found.all().Err()
}

// advance is a channel's advance, which a pinning may leave out.
type advance struct {
	steps int
	given bool
}

func advanceOf(h Head, channel string) advance {
	steps, given := h.Advance[channel]
	return advance{steps, given}
}

func (a advance) String() string {
	if !a.given {
		return "left out"
	}
	return Number(float64(a.steps))
}
