package visitors

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"pinwright/store"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/place/cards"
	"pinwright/wheel/programme"
	"pinwright/wheel/say"
)

// programmePage is the form of one programme, beside what its day adds up to.
type programmePage struct {
	page.Frame
	store.Programme
	Old      bool // an earlier version, to look at
	Form     programmeForm
	Problem  []string
	Warnings []page.Warning
	Moved    int // the song that was moved last, from 1, for the focus; 0: none
	Up       bool
	At       int  // the song that was added or set last, from 1, for the focus; 0: none
	Kept     bool // the programme was kept just now
	Choices  []store.PinningRow
	Apart    map[int64]string // of choices, see [namesakes]
	Songs    []songLine
	Rate     string // of changeovers, in words
	NoCall   string // why no crank card has room for who to call
	Totals   programme.Totals
	Wear     []wearLine
	Sharing  []string
	Join     []joinChoice
	Versions []store.ProgrammeVersion
}

func (s *area) programme(w http.ResponseWriter, r *http.Request) error {
	p, err := s.programmeAt(r)
	if err != nil {
		return err
	}
	view := programmePage{Programme: *p, Form: formOf(p), Old: p.Version != p.Latest}
	asked := r.URL.Query()
	view.Moved, _ = strconv.Atoi(asked.Get("moved"))
	view.At, _ = strconv.Atoi(asked.Get("at"))
	view.Kept = asked.Get("kept") != ""
	// The focus stays with the song, on the button that can be pressed again. An
	// address with a fragment would take it away.
	view.Up = view.Moved > 1 && (asked.Get("way") == "up" || view.Moved == len(p.Body.Songs))
	if err := s.fillProgramme(r, &view); err != nil {
		return err
	}
	s.Show(w, r, http.StatusOK, programmeView(view))
	return nil
}

// changeProgramme does what a button of the page says: keep what was typed, or
// with it move, add or take out a song.
func (s *area) changeProgramme(w http.ResponseWriter, r *http.Request) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	now, err := s.Store.Programme(r.Context(), id)
	if err != nil {
		return err
	}
	form := readProgrammeForm(r.PostForm)
	text, anchor, err := s.edit(r, now, &form)
	base, body, wrong := form.read(now.Latest)
	if err == nil {
		err = wrong
	}
	if err == nil {
		_, err = s.Store.ChangeProgramme(r.Context(), id, programme.Change{Base: base, By: strings.TrimSpace(form.By), Text: text, Programme: body})
	}
	if err == nil {
		return page.Redirect(w, r, page.ProgrammeURL(id)+anchor)
	}
	// Nothing that was typed is lost: it comes back beside what is wrong with it.
	status, lines := s.Explain(r, err)
	if status >= http.StatusInternalServerError {
		return err
	}
	if latest := strconv.Itoa(now.Latest); form.Base != latest && (status == http.StatusConflict || base == 0) {
		lines = append(lines, fmt.Sprintf("Your changes are still below. To keep them as the next version, keep the programme again. Version %s stays in the history.", latest))
		form.Base = latest
	}
	view := programmePage{Programme: *now, Form: form, Problem: lines}
	if err := s.fillProgramme(r, &view); err != nil {
		return err
	}
	s.Show(w, r, status, programmeView(view))
	return nil
}

func (s *area) returnProgramme(w http.ResponseWriter, r *http.Request) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	f := page.Sent(r)
	base, to := f.Note("base", "the latest version", 1), f.Note("to", "the version to return to", 1)
	if err := f.Err(); err != nil {
		return err
	}
	if _, err := s.Store.ReturnProgramme(r.Context(), id, int(base), int(to), f.Text("by")); err != nil {
		return err
	}
	return page.Redirect(w, r, page.ProgrammeURL(id))
}

func (s *area) removeProgramme(w http.ResponseWriter, r *http.Request) error {
	id, err := page.ID(r)
	if err != nil {
		return err
	}
	if err := s.Store.RemoveProgramme(r.Context(), id); err != nil {
		return err
	}
	return page.Redirect(w, r, "/programmes")
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
			return wheel.Refuse(wheel.ErrInvalid, "The page sends the numbers of the songs to join, and these are none. Open the page again.")
		}
		one, err := s.Store.Pinning(r.Context(), pinningID)
		if err != nil {
			return err
		}
		pinnings = append(pinnings, one.File)
	}
	if len(pinnings) < 2 {
		return wheel.Refuse(wheel.ErrInvalid, "Joining needs at least two songs.")
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

// programmeCard is the crank card of one song of a programme, counted from 1.
func (s *area) programmeCard(w http.ResponseWriter, r *http.Request) error {
	at, err := s.songAt(r)
	if err != nil {
		return err
	}
	paper, err := cards.ParsePaper(r.URL.Query().Get("paper"))
	if err != nil {
		return wheel.Refuse(wheel.ErrInvalid, "%s", say.Sentence(err))
	}
	card, err := cards.CrankCard(at.machine.File, cards.Options{
		Paper: paper, Song: at.song.Title, TempoBPM: at.song.TempoBPM, Window: at.window.TempoWindow, Call: at.programme.Body.Call, Date: s.Now(),
	})
	if err != nil {
		return wheel.Refuse(wheel.ErrInvalid, "%s", say.Sentence(err))
	}
	return page.DownloadSheet(w, page.FileName(at.song.Title, ".crank-card-"+string(paper)+".pdf"), "application/pdf", card.WritePDF)
}

// fillProgramme adds to a view what the programme adds up to as it is kept.
func (s *area) fillProgramme(r *http.Request, view *programmePage) error {
	ctx := r.Context()
	view.Frame = s.Frame(r, view.Name).Under(page.Link{Text: "Programmes", URL: "/programmes"})
	view.Frame.Machine, view.Frame.At = view.MachineName, view.MachineID
	var err error
	if view.Versions, err = s.Store.ProgrammeVersions(ctx, view.ID); err != nil {
		return err
	}
	if view.MachineID == 0 {
		view.Frame.Machine = ""
		view.Songs = make([]songLine, len(view.Body.Songs))
		return nil
	}
	m, err := s.Compiled(ctx, view.MachineID)
	if err != nil {
		return err
	}
	if view.Choices, err = s.Store.Pinnings(ctx, m.ID); err != nil {
		return err
	}
	view.Apart = page.Namesakes(view.Choices)
	house, err := s.house(ctx, m)
	if err != nil {
		return err
	}
	crew, known, err := s.Store.PinsPerMin(ctx, m.ID)
	if err != nil {
		return err
	}
	if !known {
		crew = 0
	}
	o := programme.DayOptions{}
	o.PinsPerMin, view.Rate = programme.Rate(view.Body.PinsPerMin, crew)
	kept := map[int64]*wheel.Pinning{}
	for _, row := range view.Choices {
		if !slices.ContainsFunc(view.Body.Songs, func(song programme.Song) bool { return song.PinningID == row.ID }) {
			continue
		}
		p, err := s.Store.Pinning(ctx, row.ID)
		if err != nil {
			return err
		}
		kept[row.ID] = p.File
	}
	on, err := s.Store.OnWheel(ctx, m.ID)
	if err != nil {
		return err
	}
	if on.Known && on.File.CheckOn(m.File).Err() == nil {
		o.OnWheel = on.File
	}
	day, err := programme.DayOf(house, view.Body.Songs, kept, o)
	if err != nil {
		return err
	}
	for _, line := range day.Lines {
		view.Songs = append(view.Songs, songLineOf(m, line))
		if p, there := kept[line.Song.PinningID]; there {
			turn, err := m.Turn(p)
			if err != nil {
				return err
			}
			view.Songs[len(view.Songs)-1].Strip = page.StripOf(m.CountedFor(p).Works, turn).WithWindow(line.Window)
		}
	}
	view.Warnings = view.warnings()
	if err := cards.CheckCall(view.Body.Call); err != nil {
		view.NoCall = err.Error()
	}
	view.Totals, view.Wear = day.Totals, wearLines(m, day.Wear)
	view.share(m, kept)
	return nil
}

// versionWords is what a change did, and who made it.
func versionWords(v store.ProgrammeVersion) string {
	if v.By == "" {
		return v.Text
	}
	return v.Text + ", by " + v.By
}

// line is what a song of the form adds up to, or nil where another song is kept in
// its place.
func (p programmePage) line(i int) *songLine {
	if i < len(p.Songs) && i < len(p.Form.Songs) && p.Songs[i].Song.PinningID == p.Form.Songs[i].ID {
		return &p.Songs[i]
	}
	return nil
}
