package visitors

import (
	"net/http"
	"slices"
	"strconv"
	"strings"

	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/programme"
	"pinwright/wheel/say"
)

// joinChoice is songs that could share one wheel.
type joinChoice struct{ Titles, IDs string }

// share says which of the programme's songs could stand on one wheel together.
func (view *programmePage) share(m page.Compiled, kept map[int64]*wheel.Pinning) {
	var pinnings []*wheel.Pinning
	var titles []string
	var ids []int64
	for _, song := range view.Body.Songs {
		if p, there := kept[song.PinningID]; there && !slices.Contains(ids, song.PinningID) {
			pinnings, titles, ids = append(pinnings, p), append(titles, p.Title), append(ids, song.PinningID)
		}
	}
	if len(pinnings) < 2 {
		return
	}
	shared := programme.Share(m.File.Wheel.Steps, pinnings)
	view.Sharing = shared.Sentences(m.File.Wheel.Steps, titles)
	for _, group := range shared.Groups() {
		var of []string
		for _, i := range group {
			of = append(of, strconv.FormatInt(ids[i], 10))
		}
		view.Join = append(view.Join, joinChoice{say.List(programme.TitlesOf(group, titles)), strings.Join(of, " ")})
	}
}

// joinSongs keeps several songs of a programme as one pinning.
func (s *area) joinSongs(w http.ResponseWriter, r *http.Request) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	p, err := s.Store.Programme(r.Context(), id)
	if err != nil {
		return err
	}
	m, err := s.Compiled(r.Context(), p.MachineID)
	if err != nil {
		return err
	}
	var pinnings []*wheel.Pinning
	for text := range strings.FieldsSeq(r.PostForm.Get("ids")) {
		pinningID, err := strconv.ParseInt(text, 10, 64)
		if err != nil || len(pinnings) == programme.MaxSongs {
			return wheel.Refuse(wheel.ErrInvalid, "The songs to join are not told as the page tells them; open it again.")
		}
		one, err := s.Store.Pinning(r.Context(), pinningID)
		if err != nil {
			return err
		}
		pinnings = append(pinnings, one.File)
	}
	if len(pinnings) < 2 {
		return wheel.Refuse(wheel.ErrInvalid, "Two songs at least are needed to join.")
	}
	title := strings.TrimSpace(r.PostForm.Get("title"))
	joined, err := programme.Join(m.File, title, pinnings)
	if err != nil {
		return wheel.Refuse(wheel.ErrInvalid, "%s", say.Sentence(err))
	}
	kept, err := s.Store.AddPinning(r.Context(), m.ID, 0, joined)
	if err != nil {
		return err
	}
	return page.Redirect(w, r, page.PinningURL(kept))
}
