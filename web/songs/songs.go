package songs

import (
	"cmp"
	"context"
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"pinwright/store"
	"pinwright/web/page"
	"pinwright/wheel/say"
	"pinwright/wheel/song"
)

// sortLimit is how long judging songs may take where they are sorted by it.
// Those that are not judged by then come last.
const sortLimit = 4 * time.Second

type listPage struct {
	page.Frame
	Songs    []songRow
	All      int // how many there are before the search
	Search   string
	Sort     string
	Added    []store.Song
	Here     []store.Song // added before
	Restored []store.Song
	Removed  *store.RemovedSong // just now, and can be brought back
	Refused  []string           // why files were not added
}

// songRow is a song in the list.
type songRow struct {
	songFacts
	Judged  suits
	Known   bool // Judged is
	LastSet time.Time
	Pinning int64 // that was made of it last; 0 where none was
}

// sorts are the ways to sort the list: its columns, and which of the two ways.
var sorts = []struct{ name, words, order string }{
	{"title", "Song", "ascending"}, {"length", "Length", "ascending"}, {"bars", "Bars", "ascending"}, {"tempo", "Tempo", "ascending"},
	{"suits", "Suits the machine", "descending"}, {"set", "Last set", "descending"},
}

func (s *area) list(w http.ResponseWriter, r *http.Request) error {
	q := r.URL.Query()
	view, err := s.listOf(r, q)
	if err != nil {
		return err
	}
	s.Show(w, r, http.StatusOK, listView(view))
	return nil
}

// listOf is the list of songs as a query asks for it.
func (s *area) listOf(r *http.Request, q url.Values) (view listPage, err error) {
	rows, err := s.Store.Songs(r.Context())
	if err != nil {
		return view, err
	}
	view = listPage{
		Frame: s.Frame(r, "Songs"), All: len(rows), Search: strings.TrimSpace(q.Get("q")), Sort: q.Get("sort"),
		Added: listedIn(q.Get("added"), rows), Here: listedIn(q.Get("here"), rows), Restored: listedIn(q.Get("restored"), rows),
	}
	if id, err := strconv.ParseInt(q.Get("removed"), 10, 64); err == nil {
		view.Removed = s.removed.find(id)
	}
	rows = slices.DeleteFunc(rows, func(row store.Song) bool { return !matches(row, view.Search) })
	view.Songs, err = s.songRows(r.Context(), rows, view.Sort == "suits")
	view.sort()
	return view, err
}

// matches reports whether a song has every word of a search in its title or its
// file's name.
func matches(row store.Song, search string) bool {
	text := strings.ToLower(row.Title + "\n" + row.FileName)
	for word := range strings.FieldsSeq(strings.ToLower(search)) {
		if !strings.Contains(text, word) {
			return false
		}
	}
	return true
}

func (s *area) songRows(ctx context.Context, songs []store.Song, judge bool) ([]songRow, error) {
	m, ok, err := s.CurrentCompiled(ctx)
	if err != nil {
		return nil, err
	}
	last := map[int64]store.PinningRow{}
	if ok {
		pinnings, err := s.Store.Pinnings(ctx, m.ID)
		if err != nil {
			return nil, err
		}
		for _, p := range pinnings {
			if was, there := last[p.SongID]; !there || p.Added.After(was.Added) {
				last[p.SongID] = p
			}
		}
	}
	limited, cancel := context.WithTimeout(ctx, sortLimit)
	defer cancel()
	rows := make([]songRow, len(songs))
	for i, one := range songs {
		row := &rows[i]
		if row.songFacts, err = s.factsOf(ctx, one); err != nil {
			return nil, err
		}
		if p, set := last[one.ID]; set {
			row.LastSet, row.Pinning = p.Added, p.ID
		}
		if !ok || row.Unread {
			continue
		}
		if judge && limited.Err() == nil {
			_, _ = s.judgeSong(limited, m, one.ID) // one that was not judged in time comes last
		}
		row.Judged, row.Known = s.known.suitsKnown(judged{one.ID, m.ID, m.Revision})
	}
	return rows, nil
}

// sort sorts the list, which is by title as it comes.
func (p *listPage) sort() {
	by := map[string]func(a, b songRow) int{
		"length": func(a, b songRow) int { return cmp.Compare(a.Seconds, b.Seconds) },
		"bars":   func(a, b songRow) int { return a.Bars - b.Bars },
		"tempo":  func(a, b songRow) int { return cmp.Compare(a.LowBPM, b.LowBPM) },
		"suits":  func(a, b songRow) int { return cmp.Compare(b.suiting(), a.suiting()) },
		"set":    func(a, b songRow) int { return b.LastSet.Compare(a.LastSet) },
	}[p.Sort]
	if by == nil {
		p.Sort = "title"
		return
	}
	slices.SortStableFunc(p.Songs, by)
}

// suiting puts songs in order: those that are not judged last.
func (r songRow) suiting() float64 {
	switch {
	case !r.Known:
		return -2
	case r.Judged.Why != "":
		return -1
	}
	return r.Judged.Suits
}

// sortURL is the list sorted in another way.
func (p listPage) sortURL(by string) string {
	v := url.Values{"sort": {by}}
	if p.Search != "" {
		v.Set("q", p.Search)
	}
	return "/songs?" + v.Encode()
}

// listedIn is those songs whose ids a text lists.
func listedIn(ids string, rows []store.Song) (found []store.Song) {
	in := map[string]bool{}
	for id := range strings.SplitSeq(ids, ",") {
		in[id] = true
	}
	for _, row := range rows {
		if in[strconv.FormatInt(row.ID, 10)] {
			found = append(found, row)
		}
	}
	return found
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
	if len(added) == 1 && len(refused) == 0 {
		return page.Redirect(w, r, page.SongURL(added[0].ID))
	}
	ids := map[bool][]string{}
	for _, a := range added {
		ids[a.Already] = append(ids[a.Already], strconv.FormatInt(a.ID, 10))
	}
	news := url.Values{"added": {strings.Join(ids[false], ",")}, "here": {strings.Join(ids[true], ",")}}
	if len(refused) == 0 {
		return page.Redirect(w, r, "/songs?added="+news.Get("added")+"&here="+news.Get("here"))
	}
	view, err := s.listOf(r, news)
	if err != nil {
		return err
	}
	view.Refused = refused
	s.Show(w, r, status, listView(view))
	return nil
}

// refusals are the files that were not added, as warnings: the others are.
func (p listPage) refusals() (all []page.Warning) {
	for _, why := range p.Refused {
		all = append(all, page.Warning{Weight: page.Attention, Text: "Not added: " + why})
	}
	return all
}

// noneFoundWords say that a search found nothing.
func (p listPage) noneFoundWords() string {
	return fmt.Sprintf("No title and no file name contains “%s”.", say.Steady(p.Search))
}
