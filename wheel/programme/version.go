package programme

import (
	"slices"

	"pinwright/wheel"
)

// MaxVersions is how many versions of a programme are kept.
const MaxVersions = 10_000

// maxChangeText is room for a title and the words around it.
const maxChangeText = wheel.MaxName + 100

// Version is a programme as one of its changes left it. Versions count from 1.
type Version struct {
	Number    int
	Programme Programme
}

// Change is a change of a programme as it is sent.
type Change struct {
	Base      int    // the version that the change started from
	By        string // a name for who made it; may be empty
	Text      string // what it does, in one line
	Programme Programme
}

// CheckNote refuses a change whose maker or text is not one line.
func (c *Change) CheckNote() error {
	if err := wheel.CheckLine("the name of who made the change", c.By, wheel.MaxName); err != nil {
		return err
	}
	return wheel.CheckLine("what the change does", c.Text, maxChangeText)
}

// CheckBase refuses a change that started from another version than v, the
// latest, with [wheel.ErrConflict]. Two changes are not merged: whoever made the
// later one looks at the other first.
func (v Version) CheckBase(base int) error {
	if base != v.Number {
		return wheel.ChangedMeanwhile(v.Programme.Name)
	}
	return nil
}

// Follow is the version that a programme becomes when it is changed to p. Where
// p says the same as v, that is v.
func (v Version) Follow(p Programme) (Version, error) {
	if p.Equal(&v.Programme) {
		return v, nil
	}
	if v.Number >= MaxVersions {
		return Version{}, wheel.Refuse(wheel.ErrConflict, "the programme has been changed %d times, the most that is kept; make a new one", MaxVersions)
	}
	return Version{v.Number + 1, p}, nil
}

// ReturnText says what a return to an earlier version does.
func ReturnText(version int) string {
	return "return to version " + wheel.Number(float64(version))
}

// Retitle gives each song the title that its pinning has now. titleOf finds it;
// ok is false where the machine has no such pinning. A song whose pinning is gone
// keeps the title that it had before; one that was not in the programme before is
// refused with [wheel.ErrNotFound].
func (p *Programme) Retitle(before []Song, titleOf func(pinningID int64) (title string, ok bool, err error)) error {
	for i := range p.Songs {
		song := &p.Songs[i]
		title, ok, err := titleOf(song.PinningID)
		if err != nil {
			return err
		}
		if !ok {
			was := slices.IndexFunc(before, func(s Song) bool { return s.PinningID == song.PinningID })
			if was < 0 {
				return wheel.Refuse(wheel.ErrNotFound, "song %d: there is no pinning %d of this machine; it may have been removed", i+1, song.PinningID)
			}
			title = before[was].Title
		}
		song.Title = title
	}
	return nil
}
