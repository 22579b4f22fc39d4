package songs

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"pinwright/store"
	"pinwright/web/page"
	"pinwright/wheel/say"
	"pinwright/wheel/song"
)

type listPage struct {
	page.Frame
	Songs []store.Song
	News  []string
}

func (s *area) list(w http.ResponseWriter, r *http.Request) error {
	rows, err := s.Store.Songs(r.Context())
	if err != nil {
		return err
	}
	view := listPage{Frame: s.Frame(r, "Songs"), Songs: rows}
	for _, of := range []struct{ field, words string }{{"added", "Added"}, {"here", "Here already"}} {
		if names := namedIn(r.URL.Query().Get(of.field), rows); len(names) > 0 {
			view.News = append(view.News, fmt.Sprintf("%s: %s.", of.words, say.List(names)))
		}
	}
	s.Show(w, r, http.StatusOK, listView(view))
	return nil
}

// namedIn is the titles of those songs whose ids a text lists.
func namedIn(ids string, rows []store.Song) (titles []string) {
	in := map[string]bool{}
	for id := range strings.SplitSeq(ids, ",") {
		in[id] = true
	}
	for _, row := range rows {
		if in[strconv.FormatInt(row.ID, 10)] {
			titles = append(titles, row.Title)
		}
	}
	return titles
}

// add keeps every file that can be read, and says of each other why not.
func (s *area) add(w http.ResponseWriter, r *http.Request) error {
	files, err := page.Uploads(r, "file", song.MaxBytes)
	if err != nil {
		return err
	}
	var added []store.AddedSong
	var refused []string
	status := http.StatusUnprocessableEntity
	for _, f := range files {
		songs, err := s.Store.AddSongs(r.Context(), f.Name, f.Data)
		if err != nil {
			code, lines := s.Explain(r, err)
			status = code
			refused = append(refused, strings.Join(lines, " "))
			continue
		}
		added = append(added, songs...)
	}
	if len(refused) > 0 {
		for _, a := range added {
			words := "%s was added."
			if a.Already {
				words = "%s is here already."
			}
			refused = append(refused, fmt.Sprintf(words, a.Title))
		}
		s.Show(w, r, status, page.ErrorPage(s.Frame(r, "Not every file could be added"), refused))
		return nil
	}
	if len(added) == 1 {
		return page.Redirect(w, r, page.SongURL(added[0].ID))
	}
	ids := map[bool][]string{}
	for _, a := range added {
		ids[a.Already] = append(ids[a.Already], strconv.FormatInt(a.ID, 10))
	}
	return page.Redirect(w, r, fmt.Sprintf("/songs?added=%s&here=%s", strings.Join(ids[false], ","), strings.Join(ids[true], ",")))
}
