package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"github.com/go-chi/chi/v5"

	"pinwright/store"
	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/arrange"
	"pinwright/wheel/place"
)

// programmePage is one programme, to be changed, and what it comes to.
type programmePage struct {
	frame
	store.Programme
	Old      bool // an earlier version, to look at
	Form     programmeForm
	Problem  []string
	Moved    int // the song that was moved last, from 1, for the focus; 0: none
	Up       bool
	Choices  []store.PinningRow
	Songs    []songLine
	Rate     string // of changeovers, in words
	Totals   dayTotals
	Wear     []wearLine
	Sharing  []string
	Join     []joinChoice
	Versions []store.ProgrammeVersion
}

// songLine is what one song of the programme comes to.
type songLine struct {
	ID       int64
	There    bool // its pinning is still kept
	Warnings []string
	Notes    []string
	Window   timing.Window
	Crank    timing.Cranking
	Play     timing.Played // one play
	Wear     []wearLine
	Tempo    float64
	CardOK   bool
}

type wearLine struct {
	Name           string
	Trips, Strikes int
}

// dayTotals is a whole day of a programme.
type dayTotals struct {
	Plays                                int
	PlayingS, RestS, PauseS              float64
	Turns, Marbles, Trips, Pulls, Drives int
}

func (d dayTotals) all() float64 { return d.PlayingS + d.RestS + d.PauseS }

// joinChoice is songs that could share one wheel.
type joinChoice struct{ Titles, IDs string }

// programmeForm is a programme as its fields have it, as they were typed.
type programmeForm struct {
	Base                 int
	Name, Call, Rate, By string
	Songs                []songForm
}

type songForm struct {
	ID                                      int64
	Title                                   string
	Tempo, Turns, Plays, Rest, Pause, Story string
}

func formOf(p *store.Programme) programmeForm {
	f := programmeForm{Base: p.Latest, Name: p.Body.Name, Call: p.Body.Call}
	if p.Body.PinsPerMin > 0 {
		f.Rate = trimmed(p.Body.PinsPerMin)
	}
	for _, song := range p.Body.Songs {
		f.Songs = append(f.Songs, songForm{
			ID: song.PinningID, Title: song.Title, Tempo: trimmed(song.TempoBPM), Turns: strconv.Itoa(song.Turns), Plays: strconv.Itoa(song.Plays),
			Rest: trimmed(song.RestMin), Pause: trimmed(song.PauseMin), Story: song.Story,
		})
	}
	return f
}

// readProgrammeForm takes the fields as they were typed. Each song has one of each.
func readProgrammeForm(v url.Values) programmeForm {
	f := programmeForm{Name: v.Get("name"), Call: v.Get("call"), Rate: v.Get("rate"), By: v.Get("by")}
	f.Base, _ = strconv.Atoi(v.Get("base"))
	at := func(name string, i int) string {
		if all := v[name]; i < len(all) {
			return all[i]
		}
		return ""
	}
	for i, text := range v["pinning"][:min(len(v["pinning"]), store.MaxProgrammeSongs+1)] {
		id, _ := strconv.ParseInt(text, 10, 64)
		f.Songs = append(f.Songs, songForm{
			ID: id, Title: at("title", i), Tempo: at("tempo", i), Turns: at("turns", i), Plays: at("plays", i),
			Rest: at("rest", i), Pause: at("pause", i), Story: strings.ReplaceAll(at("story", i), "\r\n", "\n"),
		})
	}
	return f
}

// body reads the fields. What is no number is listed, place by place.
func (f programmeForm) body() (store.ProgrammeBody, wheel.Problems) {
	var problems wheel.Problems
	number := func(place, what, text string) float64 {
		v, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), ",", ".", 1), 64)
		if err != nil {
			problems.Add(place, "%s is %q; it should be a number", what, clip(text))
		}
		return v
	}
	whole := func(place, what, text string) int {
		n, err := strconv.Atoi(strings.TrimSpace(text))
		if err != nil {
			problems.Add(place, "%s is %q; it should be a whole number", what, clip(text))
		}
		return n
	}
	b := store.ProgrammeBody{Name: strings.TrimSpace(f.Name), Call: strings.TrimSpace(f.Call)}
	if strings.TrimSpace(f.Rate) != "" {
		b.PinsPerMin = number("", "the rate of changeovers", f.Rate)
	}
	for i, song := range f.Songs {
		place := fmt.Sprintf("song %d, %s:", i+1, song.Title)
		b.Songs = append(b.Songs, store.ProgrammeSong{
			PinningID: song.ID, Title: song.Title, Story: song.Story,
			TempoBPM: number(place, "the tempo", song.Tempo), Turns: whole(place, "the number of turns", song.Turns), Plays: whole(place, "the number of plays", song.Plays),
			RestMin: number(place, "the rest between plays", song.Rest), PauseMin: number(place, "the pause before it", song.Pause),
		})
	}
	return b, problems
}

func (s *server) programme(w http.ResponseWriter, r *http.Request) error {
	p, err := s.askedProgramme(r)
	if err != nil {
		return err
	}
	page := programmePage{Programme: *p, Form: formOf(p), Old: p.Version != p.Latest}
	page.Moved, _ = strconv.Atoi(r.URL.Query().Get("moved"))
	// The focus stays with the song, on the button that can be pressed again. An
	// address with a fragment would take it away.
	page.Up = page.Moved > 1 && (r.URL.Query().Get("way") == "up" || page.Moved == len(p.Body.Songs))
	if err := s.fillProgramme(r, &page); err != nil {
		return err
	}
	s.show(w, r, http.StatusOK, programmeView(page))
	return nil
}

func (s *server) askedProgramme(r *http.Request) (*store.Programme, error) {
	id, err := idOf(r)
	if err != nil {
		return nil, err
	}
	version := 0
	if text := r.URL.Query().Get("version"); text != "" {
		if version, err = strconv.Atoi(text); err != nil || version < 1 {
			return nil, refuse(http.StatusUnprocessableEntity, "The version asked for is %q; it should be a number from 1.", clip(text))
		}
	}
	return s.Store.ProgrammeAt(r.Context(), id, version)
}

// changeProgramme does what a button of the page says: keep what was typed, or
// with it move, add or take out a song.
func (s *server) changeProgramme(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	if err := r.ParseMultipartForm(1 << 20); err != nil && err != http.ErrNotMultipart {
		return brokenOff(err)
	}
	now, err := s.Store.Programme(r.Context(), id)
	if err != nil {
		return err
	}
	form := readProgrammeForm(r.PostForm)
	words, anchor, err := s.act(r, now, &form)
	if err == nil {
		var problems wheel.Problems
		var body store.ProgrammeBody
		if body, problems = form.body(); len(problems) > 0 {
			err = problems.Err()
		} else {
			_, err = s.Store.ChangeProgramme(r.Context(), id, store.NewProgrammeVersion{Base: form.Base, By: strings.TrimSpace(form.By), Words: words, Body: body})
		}
	}
	if err == nil {
		return see(w, r, fmt.Sprintf("/programmes/%d%s", id, anchor))
	}
	// Nothing that was typed is lost: it comes back beside what is wrong with it.
	status, lines := s.explain(r, err)
	if status >= http.StatusInternalServerError {
		return err
	}
	if status == http.StatusConflict && form.Base != now.Version {
		lines = append(lines, fmt.Sprintf("Yours stands below. To keep it as the next version, keep it again; version %d stays in the history.", now.Version))
		form.Base = now.Version
	}
	page := programmePage{Programme: *now, Form: form, Problem: lines}
	if err := s.fillProgramme(r, &page); err != nil {
		return err
	}
	s.show(w, r, status, programmeView(page))
	return nil
}

// act changes the form's songs by the button that was pressed, and says in words
// what that does and where the page goes on.
func (s *server) act(r *http.Request, now *store.Programme, f *programmeForm) (words, anchor string, err error) {
	do, text, _ := strings.Cut(r.PostForm.Get("do"), " ")
	at, _ := strconv.Atoi(text)
	there := at >= 1 && at <= len(f.Songs)
	switch {
	case do == "" || do == "keep":
		return "change the programme", "", nil
	case do == "order":
		return "change the order", "", nil
	case do == "add":
		return s.addSong(r, now, f)
	case !there:
		return "", "", refuse(http.StatusUnprocessableEntity, "Song %d is asked for, and the programme has %s.", at, counted(len(f.Songs), "song", "songs"))
	case do == "remove":
		title := f.Songs[at-1].Title
		f.Songs = slices.Delete(f.Songs, at-1, at)
		return "take out " + title, "#songs", nil
	case do == "up" && at > 1:
		f.Songs[at-2], f.Songs[at-1] = f.Songs[at-1], f.Songs[at-2]
		return "move " + f.Songs[at-2].Title + " up", fmt.Sprintf("?moved=%d&way=up", at-1), nil
	case do == "down" && at < len(f.Songs):
		f.Songs[at-1], f.Songs[at] = f.Songs[at], f.Songs[at-1]
		return "move " + f.Songs[at].Title + " down", fmt.Sprintf("?moved=%d&way=down", at+1), nil
	}
	return "", "", refuse(http.StatusUnprocessableEntity, "Song %d cannot be moved there: it is at the end.", at)
}

// addSong puts a pinning at the end, at the middle of its window.
func (s *server) addSong(r *http.Request, now *store.Programme, f *programmeForm) (words, anchor string, err error) {
	id, err := strconv.ParseInt(r.PostForm.Get("add"), 10, 64)
	if err != nil {
		return "", "", refuse(http.StatusUnprocessableEntity, "No pinning was chosen; choose one to add.")
	}
	p, err := s.Store.Pinning(r.Context(), id)
	if err != nil {
		return "", "", err
	}
	m, err := s.worked(r.Context(), now.MachineID)
	if err != nil {
		return "", "", err
	}
	tempo := tempoOf(p, m)
	if p.MachineID == m.ID {
		turn, err := m.Turn(p.File)
		if err != nil {
			return "", "", err
		}
		visitors, err := s.Store.Visitors(r.Context())
		if err != nil {
			return "", "", err
		}
		if w := turn.Window(visitors.Margin); w.Open && !w.Holds(tempo) {
			tempo = min(max(tempo, w.FromBPM), w.ToBPM)
			if text := safeBPM(tempo); text != "" {
				tempo, _ = strconv.ParseFloat(text, 64)
			}
			if tempo < w.FromBPM {
				tempo, _ = strconv.ParseFloat(lowBPM(w.FromBPM), 64)
			}
		}
	}
	f.Songs = append(f.Songs, songForm{ID: id, Title: p.Title, Tempo: trimmed(tempo), Turns: "1", Plays: "1", Rest: "0", Pause: "0"})
	return "add " + p.Title, fmt.Sprintf("#song-%d", len(f.Songs)), nil
}

func (s *server) returnProgramme(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	if err := r.ParseForm(); err != nil {
		return brokenOff(err)
	}
	base, err1 := strconv.Atoi(r.PostForm.Get("base"))
	to, err2 := strconv.Atoi(r.PostForm.Get("to"))
	if err1 != nil || err2 != nil || to < 1 {
		return refuse(http.StatusUnprocessableEntity, "The page does not say which version to return to; open it again.")
	}
	if _, err := s.Store.ReturnProgramme(r.Context(), id, base, to, strings.TrimSpace(r.PostForm.Get("by"))); err != nil {
		return err
	}
	return see(w, r, fmt.Sprintf("/programmes/%d", id))
}

// fillProgramme works out what the programme that is kept comes to.
func (s *server) fillProgramme(r *http.Request, page *programmePage) error {
	ctx := r.Context()
	page.frame = s.frame(r, page.Name+", programme")
	page.frame.Machine, page.frame.At = page.MachineName, page.MachineID
	var err error
	if page.Versions, err = s.Store.ProgrammeVersions(ctx, page.ID); err != nil {
		return err
	}
	if page.MachineID == 0 {
		page.frame.Machine = ""
		page.Songs = make([]songLine, len(page.Body.Songs))
		return nil
	}
	m, err := s.worked(ctx, page.MachineID)
	if err != nil {
		return err
	}
	if page.Choices, err = s.Store.Pinnings(ctx, m.ID); err != nil {
		return err
	}
	visitors, err := s.Store.Visitors(ctx)
	if err != nil {
		return err
	}
	rate, err := s.changeoverRate(r, page)
	if err != nil {
		return err
	}
	kept := map[int64]*wheel.Pinning{}
	for _, row := range page.Choices {
		if !slices.ContainsFunc(page.Body.Songs, func(song store.ProgrammeSong) bool { return song.PinningID == row.ID }) {
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
	day := newDay(m, visitors.Margin, rate, kept)
	if on.Known && on.File.CheckOn(m.File).Err() == nil {
		day.onWheel = on.File
	}
	for _, song := range page.Body.Songs {
		line, err := day.add(song)
		if err != nil {
			return err
		}
		page.Songs = append(page.Songs, line)
	}
	page.Totals, page.Wear = day.totals, wearLines(m, day.wear)
	page.share(m, kept)
	return nil
}

// changeoverRate is the rate that changeovers are reckoned with: the programme's
// own or the crew's past one; 0 where there is neither.
func (s *server) changeoverRate(r *http.Request, page *programmePage) (float64, error) {
	if rate := page.Body.PinsPerMin; rate > 0 {
		page.Rate = fmt.Sprintf("Changeovers are reckoned at %s pins a minute, as typed here.", trimmed(rate))
		return rate, nil
	}
	rate, known, err := s.Store.PinsPerMin(r.Context(), page.MachineID)
	if err != nil {
		return 0, err
	}
	if !known {
		page.Rate = "No rate of changeovers is known yet: the crew has not pulled and driven enough pins by this program. Type one to reckon with."
		return 0, nil
	}
	page.Rate = fmt.Sprintf("Changeovers are reckoned at %s pins a minute, the crew's own past rate.", oneDecimal(rate))
	return min(rate, place.MaxPinsPerMin), nil
}

// programmeDay is a day of a programme, song by song.
type programmeDay struct {
	m       worked
	margin  float64
	rate    float64
	kept    map[int64]*wheel.Pinning
	turn    *timing.Turn
	onWheel *wheel.Pinning // on the wheel now, if that is known
	before  *wheel.Pinning // in the programme before the next song
	totals  dayTotals
	wear    []timing.Wear // by channel
}

func newDay(m worked, margin, rate float64, kept map[int64]*wheel.Pinning) *programmeDay {
	return &programmeDay{m: m, margin: margin, rate: rate, kept: kept, turn: m.NewTurn(), wear: make([]timing.Wear, len(m.File.Channels))}
}

func (d *programmeDay) add(song store.ProgrammeSong) (songLine, error) {
	line := songLine{ID: song.PinningID, Tempo: song.TempoBPM, Crank: timing.CrankAt(d.m.File.Wheel, song.TempoBPM)}
	p, there := d.kept[song.PinningID]
	d.totals.PauseS += song.PauseMin * 60
	if !there {
		line.Warnings = []string{fmt.Sprintf("The pinning %s was removed; take it out or put another in its place. It is not counted.", song.Title)}
		return line, nil
	}
	line.There = true
	if err := d.turn.Load(p); err != nil {
		return line, err
	}
	line.Window = d.turn.Window(d.margin)
	line.CardOK = line.Window.MaxSafeBPM > 0 && song.TempoBPM <= line.Window.MaxSafeBPM
	line.Warnings = d.tempoWarnings(line.Window, song.TempoBPM)
	var resting []string
	for i := range d.m.Channels {
		if d.m.Channels[i].Resting && d.turn.PinsOn(i) > 0 {
			resting = append(resting, d.m.File.Channels[i].Name)
		}
	}
	if len(resting) > 0 {
		line.Warnings = append(line.Warnings, restingWords(resting)+" Its pins there strike nothing.")
	}
	line.Play = d.turn.Play(song.TempoBPM, song.Turns)
	own := make([]timing.Wear, len(d.m.File.Channels))
	for _, w := range line.Play.Channels {
		own[w.Channel] = w
		d.wear[w.Channel].Trips += w.Trips * song.Plays
		d.wear[w.Channel].Strikes += w.Strikes * song.Plays
	}
	line.Wear = wearLines(d.m, own)
	d.totals.Plays += song.Plays
	d.totals.PlayingS += line.Play.Seconds * float64(song.Plays)
	d.totals.RestS += song.RestMin * 60 * float64(song.Plays-1)
	d.totals.Turns += song.Turns * song.Plays
	d.totals.Marbles += line.Play.Marbles * song.Plays
	d.totals.Trips += line.Play.Trips * song.Plays
	return line, d.changeover(p, song.PauseMin, &line)
}

func (d *programmeDay) tempoWarnings(w timing.Window, bpm float64) []string {
	switch {
	case w.Holds(bpm):
		return nil
	case !w.Open:
		return []string{d.m.ClosedSentence(w) + " " + d.m.HighSentence(w)}
	case bpm < w.FromBPM:
		return []string{fmt.Sprintf("%s BPM is below its window, %s to %s BPM. %s", bpmWords(bpm), lowBPM(w.FromBPM), safeBPM(w.ToBPM), d.m.LowSentence(w))}
	}
	return []string{fmt.Sprintf("%s BPM is above its window, %s to %s BPM. %s", bpmWords(bpm), lowBPM(w.FromBPM), safeBPM(w.ToBPM), d.m.HighSentence(w))}
}

// changeover is what has to be done before a song, and whether the pause is long
// enough for it.
func (d *programmeDay) changeover(p *wheel.Pinning, pauseMin float64, line *songLine) error {
	before := d.before
	d.before = p
	if before == nil {
		return d.first(p, line)
	}
	if before == p {
		return nil
	}
	plan, err := place.Changeover(d.m.File, before, p, place.Options{PinsPerMin: d.rate})
	if err != nil {
		return err
	}
	d.totals.Pulls += plan.Pulls
	d.totals.Drives += plan.Drives
	work := fmt.Sprintf("The changeover from %s takes %s and %s", before.Title, counted(plan.Pulls, "pull", "pulls"), counted(plan.Drives, "drive", "drives"))
	switch {
	case plan.Minutes == nil:
		line.Notes = append(line.Notes, work+"; without a rate there is no telling how long.")
	case *plan.Minutes > pauseMin:
		line.Warnings = append(line.Warnings, fmt.Sprintf("%s, about %s; the pause before it is %s.", work, place.MinutesText(*plan.Minutes), oneDecimal(pauseMin)))
	default:
		line.Notes = append(line.Notes, fmt.Sprintf("%s, about %s; the pause of %s is enough.", work, place.MinutesText(*plan.Minutes), oneDecimal(pauseMin)))
	}
	return nil
}

// first says what it takes to put the day's first song on the wheel as it is now.
func (d *programmeDay) first(p *wheel.Pinning, line *songLine) error {
	if d.onWheel == nil {
		return nil
	}
	plan, err := place.Changeover(d.m.File, d.onWheel, p, place.Options{PinsPerMin: d.rate})
	if err != nil {
		return err
	}
	switch {
	case len(plan.List) == 0:
		line.Notes = append(line.Notes, "It is on the wheel now.")
	case plan.Minutes == nil:
		line.Notes = append(line.Notes, fmt.Sprintf("On the wheel now is %s; to put this one on it takes %s and %s.", d.onWheel.Title, counted(plan.Pulls, "pull", "pulls"), counted(plan.Drives, "drive", "drives")))
	default:
		line.Notes = append(line.Notes, fmt.Sprintf("On the wheel now is %s; to put this one on it takes %s and %s, about %s.", d.onWheel.Title, counted(plan.Pulls, "pull", "pulls"), counted(plan.Drives, "drive", "drives"), place.MinutesText(*plan.Minutes)))
	}
	return nil
}

// versionWords is what a change did, and who made it.
func versionWords(v store.ProgrammeVersion) string {
	if v.By == "" {
		return v.Words
	}
	return v.Words + ", by " + v.By
}

func wearLines(m worked, wear []timing.Wear) (lines []wearLine) {
	for i, w := range wear {
		if w.Trips > 0 {
			lines = append(lines, wearLine{m.File.Channels[i].Name, w.Trips, w.Strikes})
		}
	}
	return lines
}

// line is what the song at a place of the form comes to, if that is what is
// kept there.
func (p programmePage) line(i int) *songLine {
	if i < len(p.Songs) && i < len(p.Form.Songs) && p.Songs[i].ID == p.Form.Songs[i].ID {
		return &p.Songs[i]
	}
	return nil
}

const shownPairs = 24

// share says which of the programme's songs could stand on one wheel together.
func (page *programmePage) share(m worked, kept map[int64]*wheel.Pinning) {
	var pinnings []*wheel.Pinning
	var ids []int64
	for _, song := range page.Body.Songs {
		if p, there := kept[song.PinningID]; there && !slices.Contains(ids, song.PinningID) {
			pinnings, ids = append(pinnings, p), append(ids, song.PinningID)
		}
	}
	if len(pinnings) < 2 {
		return
	}
	n := m.File.Wheel.Steps
	shared := arrange.ShareWheel(n, pinnings)
	for i, p := range pinnings {
		page.Sharing = append(page.Sharing, fmt.Sprintf("%s uses %d of %d steps.", p.Title, shared.Used[i], n))
	}
	say := func(set []int) {
		var titles []string
		var of []string
		sum := 0
		for _, i := range set {
			titles, of = append(titles, pinnings[i].Title), append(of, strconv.FormatInt(ids[i], 10))
			sum += shared.Used[i]
		}
		page.Sharing = append(page.Sharing, fmt.Sprintf("%s fit one turn together: %d of %d steps.", listed(titles), sum, n))
		page.Join = append(page.Join, joinChoice{listed(titles), strings.Join(of, " ")})
	}
	if len(shared.Most) > 2 {
		say(shared.Most)
	}
	for i, pair := range shared.Pairs {
		if i == shownPairs {
			page.Sharing = append(page.Sharing, fmt.Sprintf("And so do %s more.", counted(len(shared.Pairs)-i, "pair", "pairs")))
			break
		}
		say(pair[:])
	}
	if len(shared.Pairs) == 0 {
		page.Sharing = append(page.Sharing, "No two of them fit one turn together, so each change of song is a changeover.")
	}
}

// joinSongs keeps several songs of a programme as one pinning.
func (s *server) joinSongs(w http.ResponseWriter, r *http.Request) error {
	id, err := idOf(r)
	if err != nil {
		return err
	}
	if err := r.ParseForm(); err != nil {
		return brokenOff(err)
	}
	p, err := s.Store.Programme(r.Context(), id)
	if err != nil {
		return err
	}
	m, err := s.worked(r.Context(), p.MachineID)
	if err != nil {
		return err
	}
	var pinnings []*wheel.Pinning
	for text := range strings.FieldsSeq(r.PostForm.Get("ids")) {
		pinningID, err := strconv.ParseInt(text, 10, 64)
		if err != nil || len(pinnings) == store.MaxProgrammeSongs {
			return refuse(http.StatusUnprocessableEntity, "The songs to join are not told as the page tells them; open it again.")
		}
		one, err := s.Store.Pinning(r.Context(), pinningID)
		if err != nil {
			return err
		}
		pinnings = append(pinnings, one.File)
	}
	if len(pinnings) < 2 {
		return refuse(http.StatusUnprocessableEntity, "Two songs at least are needed to join.")
	}
	title := strings.TrimSpace(r.PostForm.Get("title"))
	joined, err := arrange.JoinOnWheel(m.File, title, pinnings)
	if err != nil {
		return refuse(http.StatusUnprocessableEntity, "%s", sentence(err))
	}
	kept, err := s.Store.AddPinning(r.Context(), m.ID, 0, joined)
	if err != nil {
		return err
	}
	return see(w, r, fmt.Sprintf("/pinnings/%d", kept))
}

// programmeCard is the crank card of one song of a programme, counted from 1.
func (s *server) programmeCard(w http.ResponseWriter, r *http.Request) error {
	p, song, m, turn, err := s.askedSong(r)
	if err != nil {
		return err
	}
	paper, err := place.ParseCardPaper(r.URL.Query().Get("paper"))
	if err != nil {
		return refuse(http.StatusUnprocessableEntity, "%s", sentence(err))
	}
	redLine, _ := turn.MaxSafe()
	card, err := place.CrankCard(m.File, place.CardOptions{
		Paper: paper, Song: song.Title, TempoBPM: song.TempoBPM, RedLineBPM: redLine, Call: p.Body.Call, Date: s.Now(),
	})
	if err != nil {
		return refuse(http.StatusUnprocessableEntity, "%s", sentence(err))
	}
	return takeSheet(w, fileName(song.Title, ".crank-card-"+string(paper)+".pdf"), "application/pdf", card.WritePDF)
}

// askedSong is a song of a programme, by its place from 1, with its pinning on
// the wheel.
func (s *server) askedSong(r *http.Request) (*store.Programme, store.ProgrammeSong, worked, *timing.Turn, error) {
	fail := func(err error) (*store.Programme, store.ProgrammeSong, worked, *timing.Turn, error) {
		return nil, store.ProgrammeSong{}, worked{}, nil, err
	}
	id, err := idOf(r)
	if err != nil {
		return fail(err)
	}
	p, err := s.Store.Programme(r.Context(), id)
	if err != nil {
		return fail(err)
	}
	n, err := strconv.Atoi(chi.URLParam(r, "n"))
	if err != nil || n < 1 || n > len(p.Body.Songs) {
		return fail(refuse(http.StatusNotFound, "The programme %s has no song %s; it has %s.", p.Name, clip(chi.URLParam(r, "n")), counted(len(p.Body.Songs), "song", "songs")))
	}
	song := p.Body.Songs[n-1]
	if p.MachineID == 0 {
		return fail(refuse(http.StatusNotFound, "The machine of this programme, %s, was removed.", p.MachineName))
	}
	m, err := s.worked(r.Context(), p.MachineID)
	if err != nil {
		return fail(err)
	}
	pinning, err := s.Store.Pinning(r.Context(), song.PinningID)
	if err != nil {
		return fail(refuse(http.StatusNotFound, "The pinning %s was removed; put another in its place in the programme %s.", song.Title, p.Name))
	}
	turn, err := m.Turn(pinning.File)
	if err != nil {
		return fail(err)
	}
	return p, song, m, turn, nil
}
