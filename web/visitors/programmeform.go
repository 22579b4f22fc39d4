package visitors

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"pinwright/store"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/place/cards"
	"pinwright/wheel/programme"
	"pinwright/wheel/say"
)

// programmeForm is a programme as its fields have it, as they were typed.
type programmeForm struct {
	Base                 string // the version that was changed
	Name, Call, Rate, By string
	Songs                []songForm
}

type songForm struct {
	ID                                      int64
	Title                                   string
	Tempo, Turns, Plays, Rest, Pause, Story string
}

func formOf(p *store.Programme) programmeForm {
	f := programmeForm{Base: strconv.Itoa(p.Latest), Name: p.Body.Name, Call: p.Body.Call}
	if p.Body.PinsPerMin > 0 {
		f.Rate = say.Typed(p.Body.PinsPerMin)
	}
	for _, song := range p.Body.Songs {
		f.Songs = append(f.Songs, songForm{
			ID: song.PinningID, Title: song.Title, Tempo: say.Typed(song.TempoBPM), Turns: strconv.Itoa(song.Turns), Plays: strconv.Itoa(song.Plays),
			Rest: say.Typed(song.RestMin), Pause: say.Typed(song.PauseMin), Story: song.Story,
		})
	}
	return f
}

// readProgrammeForm takes the fields as they were typed. Each song has one of each.
func readProgrammeForm(v url.Values) programmeForm {
	f := programmeForm{Base: v.Get("base"), Name: v.Get("name"), Call: v.Get("call"), Rate: v.Get("rate"), By: v.Get("by")}
	at := func(name string, i int) string {
		if all := v[name]; i < len(all) {
			return all[i]
		}
		return ""
	}
	for i, text := range v["pinning"][:min(len(v["pinning"]), programme.MaxSongs+1)] {
		id, _ := strconv.ParseInt(text, 10, 64)
		f.Songs = append(f.Songs, songForm{
			ID: id, Title: at("title", i), Tempo: at("tempo", i), Turns: at("turns", i), Plays: at("plays", i),
			Rest: at("rest", i), Pause: at("pause", i), Story: strings.ReplaceAll(at("story", i), "\r\n", "\n"),
		})
	}
	return f
}

// read reads the fields, the latest version being known. The error names every
// field that is wrong; base is 0 where the version that was changed is none.
func (f programmeForm) read(latest int) (base int, b programme.Programme, err error) {
	form := &page.Form{Values: url.Values{"rate": {f.Rate}}}
	if base, err = strconv.Atoi(f.Base); err != nil || base < 1 || base > latest {
		base = 0
		form.Refuse(fmt.Sprintf("The page's own note of the version that it changes (its field base) is %q; it should be a whole number, 1 to %d.", say.Short(f.Base), latest))
	}
	b = programme.Programme{Name: strings.TrimSpace(f.Name), Call: strings.TrimSpace(f.Call)}
	if err := cards.CheckCall(b.Call); err != nil {
		form.Refuse(say.Sentence(err))
	}
	if form.Text("rate") != "" {
		b.PinsPerMin = form.Number("rate", "The rate of changeovers", "pins a minute", programme.MinPinsPerMin, programme.MaxPinsPerMin)
	}
	words := b // with what is not a number, which the form does not judge
	words.PinsPerMin = 0
	for i, song := range f.Songs {
		at := fmt.Sprintf("Song %d, %s: ", i+1, song.Title)
		form.Values = url.Values{"tempo": {song.Tempo}, "turns": {song.Turns}, "plays": {song.Plays}, "rest": {song.Rest}, "pause": {song.Pause}}
		b.Songs = append(b.Songs, programme.Song{
			PinningID: song.ID, Title: song.Title, Story: song.Story,
			TempoBPM: form.Number("tempo", at+"the tempo", "beats per minute", 1, wheel.MaxTempoBPM),
			Turns:    form.Whole("turns", at+"the number of turns in a play", 1, programme.MaxTurns),
			Plays:    form.Whole("plays", at+"the number of plays in a day", 1, programme.MaxPlays),
			RestMin:  form.Number("rest", at+"the rest between plays", "minutes", 0, programme.MaxPauseMin),
			PauseMin: form.Number("pause", at+"the pause before it", "minutes", 0, programme.MaxPauseMin),
		})
		words.Songs = append(words.Songs, programme.Song{Title: song.Title, Story: song.Story, TempoBPM: 1, Turns: 1, Plays: 1})
	}
	var problems wheel.Problems
	if errors.As(words.Check(), &problems) {
		for _, p := range problems {
			form.Refuse(say.Capital(p.String()) + ".")
		}
	}
	return base, b, form.Err()
}

// edit changes the form's songs by the button that was pressed, and says what
// that does and where the page goes on.
func (s *area) edit(r *http.Request, now *store.Programme, f *programmeForm) (text, anchor string, err error) {
	do, number, _ := strings.Cut(r.PostForm.Get("do"), " ")
	switch do {
	case "", "keep":
		return "change the programme", "?kept=yes", nil
	case "tempo", "pause":
		return f.resolve(do, number)
	case "add":
		return s.addSong(r, now, f)
	}
	at, _ := strconv.Atoi(number)
	e := programme.Edit{Do: programme.Do(do), Song: at}
	title := ""
	if at >= 1 && at <= len(f.Songs) {
		title = f.Songs[at-1].Title
	}
	songs, stands, err := programme.Apply(f.Songs, e)
	if err != nil {
		return "", "", err
	}
	f.Songs = songs
	switch anchor = fmt.Sprintf("?moved=%d", stands); e.Do {
	case programme.TakeOut:
		anchor = fmt.Sprintf("?at=%d", min(at, len(songs)))
	case programme.Up, programme.Down:
		anchor += "&way=" + do
	}
	return e.Text(title), anchor, nil
}

// resolve gives a song the tempo or the pause that resolves a warning: which
// reads "3 88.8" for song 3.
func (f *programmeForm) resolve(what, which string) (text, anchor string, err error) {
	number, value, _ := strings.Cut(which, " ")
	at, _ := strconv.Atoi(number)
	if _, err := page.ReadNumber(value); err != nil || at < 1 || at > len(f.Songs) {
		return "", "", wheel.Refuse(wheel.ErrInvalid, "The %s to set is %q; the page sends the number of a song and a value. Open the page again.", what, say.Short(which))
	}
	song := &f.Songs[at-1]
	anchor = fmt.Sprintf("?at=%d", at)
	if what == "pause" {
		song.Pause = value
		return "set the pause before " + song.Title + " to " + value + " minutes", anchor, nil
	}
	song.Tempo = value
	return "set the tempo of " + song.Title + " to " + value + " BPM", anchor, nil
}

// addSong puts a pinning at the end, at its own tempo, or where that is outside
// its window at the nearest inside.
func (s *area) addSong(r *http.Request, now *store.Programme, f *programmeForm) (text, anchor string, err error) {
	id, err := strconv.ParseInt(r.PostForm.Get("add"), 10, 64)
	if err != nil {
		return "", "", wheel.Refuse(wheel.ErrInvalid, "No pinning was chosen; choose one to add.")
	}
	p, err := s.Store.Pinning(r.Context(), id)
	if err != nil {
		return "", "", err
	}
	m, err := s.Compiled(r.Context(), now.MachineID)
	if err != nil {
		return "", "", err
	}
	var win wheel.TempoWindow
	if p.MachineID == m.ID {
		house, err := s.house(r.Context(), m)
		if err != nil {
			return "", "", err
		}
		if win, err = house.Window(p.File); err != nil {
			return "", "", err
		}
	}
	f.Songs = append(f.Songs, songForm{ID: id, Title: p.Title, Tempo: say.Typed(programme.TempoToAdd(win, page.TempoOf(p, m))), Turns: "1", Plays: "1", Rest: "0", Pause: "0"})
	return "add " + p.Title, fmt.Sprintf("?at=%d", len(f.Songs)), nil
}
