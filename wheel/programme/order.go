package programme

import (
	"slices"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// Do is what an [Edit] does.
type Do string

const (
	Up      Do = "up"
	Down    Do = "down"
	TakeOut Do = "remove"
	Order   Do = "order" // the songs come in another order already; Song is the one that was moved
)

// Edit changes the order of a programme's songs.
type Edit struct {
	Do   Do
	Song int // from 1
}

// Apply makes an edit of a list of songs, or of what stands for them, such as
// the fields of a form. It returns the list as it is then, which shares the
// memory of the one given, and where the song stands, from 1; 0 where it was
// taken out. An edit that cannot be made is refused.
func Apply[S any](songs []S, e Edit) (after []S, stands int, err error) {
	at := e.Song - 1
	switch {
	case at < 0 || at >= len(songs):
		return songs, 0, wheel.Refuse(wheel.ErrInvalid, "There is no song %d; the programme has %s.", e.Song, say.Count(len(songs), "song", "songs"))
	case e.Do == Order:
		return songs, e.Song, nil
	case e.Do == TakeOut:
		return slices.Delete(songs, at, at+1), 0, nil
	case e.Do == Up && at > 0:
		songs[at-1], songs[at] = songs[at], songs[at-1]
		return songs, e.Song - 1, nil
	case e.Do == Down && at < len(songs)-1:
		songs[at], songs[at+1] = songs[at+1], songs[at]
		return songs, e.Song + 1, nil
	}
	return songs, 0, wheel.Refuse(wheel.ErrInvalid, "Song %d cannot be moved further: it is at the end already.", e.Song)
}

// Text says what an edit of a song with a title does.
func (e Edit) Text(title string) string {
	switch e.Do {
	case Up:
		return "move " + title + " up"
	case Down:
		return "move " + title + " down"
	case TakeOut:
		return "take out " + title
	}
	return "change the order"
}
