package songs

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"maps"
	"slices"
	"time"

	"pinwright/timing"
	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/arrange"
	"pinwright/wheel/say"
	"pinwright/wheel/song"
)

// easeLimit is how long easing may look for a better answer while someone
// waits.
const easeLimit = 700 * time.Millisecond

// setResult is what a setting comes to, or why it cannot be done.
type setResult struct {
	Report     *arrange.Report
	Pinning    *wheel.Pinning
	Section    arrange.Section
	Verdict    *timing.Verdict
	Stop       string // what stops it from being faster, in words
	Wrong      []wrongField
	Stock      int // pins that the crew has; 0: not said
	Machine    *wheel.Machine
	Turn       *timing.Turn
	Moves      []moveRow
	MovesFail  string // why transpositions cannot be compared
	AutoMove   int    // what "auto" takes
	Melodic    bool   // some part that is played is not percussion
	Played     []played
	Percussion []percussionRow
	DrumKeys   []drumKey
	Stretches  []stretchRow
	Seam       string // how the end leads back into the beginning
	Easings    []easeRow
	Refused    []refusedRow
	SetAside   string // why decisions on changes were not followed
}

// moveRow is one transposition to choose.
type moveRow struct {
	arrange.Transposed
	Value  string // of the field
	Chosen bool
	Known  bool    // it has been worked out
	Rank   int     // 1 to 3 for the best three, else 0
	Wide   float64 // of its line of notes placed, 0 to 100
}

// set sets a song as a form asks for.
func set(ctx context.Context, m page.Compiled, s *song.Song, form *setForm) setResult {
	if form.suggest {
		form.suggestPercussion(m.File, s)
	}
	req, wrong := form.request(s)
	if len(wrong) > 0 {
		return setResult{Wrong: wrong}
	}
	fail := func(field string, err error) setResult {
		return setResult{Wrong: []wrongField{{field, say.Sentence(err)}}}
	}
	res := setResult{Stock: m.File.Wheel.PinStock, Machine: m.File}
	var err error
	if res.Section, err = arrange.SectionOf(m.File, s, max(req.FromBar, 1), req.Bars); err != nil {
		var length *arrange.LengthError
		if errors.As(err, &length) {
			return fail("bars", err)
		}
		return fail("from_bar", err)
	}
	res.Pinning, res.Report, err = arrange.Set(ctx, m.Works, s, req)
	if err != nil && len(req.Decisions) > 0 {
		// Decisions hold for the notes they were made on. Where other notes are
		// chosen they may make no sense, and the rest still does.
		res.SetAside = say.Sentence(err)
		req.Decisions, form.Decisions = nil, nil
		res.Pinning, res.Report, err = arrange.Set(ctx, m.Works, s, req)
	}
	if err != nil {
		return fail("", err)
	}
	m = m.CountedFor(res.Pinning)
	res.Machine = m.File
	if res.Turn, err = m.Turn(res.Pinning); err != nil {
		return fail("", err)
	}
	if res.Verdict, err = res.Turn.Verdict(res.Pinning.TempoBPM); err != nil {
		return fail("", err)
	}
	res.Stop = m.Works.StandingSentence(res.Turn.Standing())
	return res
}

// Problems are what is wrong with the form, a sentence for each.
func (res *setResult) Problems() (says []string) {
	for _, w := range res.Wrong {
		says = append(says, w.Says)
	}
	return says
}

// wrongOf is what is wrong with a field; empty where nothing is.
func (res *setResult) wrongOf(field string) string {
	for _, w := range res.Wrong {
		if w.Name == field {
			return w.Says
		}
	}
	return ""
}

// explain adds what only a reader of the page needs: what else could be done.
func (res *setResult) explain(ctx context.Context, m page.Compiled, s *song.Song, form *setForm, path string) {
	if res.Report == nil {
		return
	}
	for _, p := range res.Report.Parts {
		res.Melodic = res.Melodic || !p.Drum() && p.Notes > 0
	}
	res.Played = playedOf(m.File, s, form, res.Report)
	res.Percussion = percussionRows(m.File, s, form, res.Section)
	res.DrumKeys = drumKeys(m.File)
	if res.Report.Eased != nil {
		res.Easings, res.Refused = easeRows(res.Machine, form, res.Report.Eased)
	}
	if res.Melodic {
		res.compare(ctx, m, s, form)
	}
	if repeated := form.Repeat && 2*res.Section.Steps <= float64(m.File.Wheel.Steps); !repeated {
		res.Seam = say.Capital(arrange.SeamOf(m.File, s, res.Section, form.plays).Text) + "."
	}
	res.Stretches = stretchRows(m, s, form, res.Section, path)
}

func (res *setResult) compare(ctx context.Context, m page.Compiled, s *song.Song, form *setForm) {
	req, _ := form.request(s)
	rows, err := arrange.Compare(ctx, m.Works, s, req)
	if err != nil {
		res.MovesFail = say.Sentence(err)
		return
	}
	auto := req.Transpose.Auto
	found := auto
	for _, r := range rows {
		row := moveRow{Transposed: r, Value: fmt.Sprint(r.Semitones), Known: true, Chosen: !auto && r.Semitones == req.Transpose.Semitones}
		row.Wide = 100 * float64(r.Placed) / float64(max(1, r.Placed+r.Lost+r.Merged))
		found = found || row.Chosen
		if r.Auto {
			res.AutoMove = r.Semitones
		}
		res.Moves = append(res.Moves, row)
	}
	rank(res.Moves)
	if !found {
		n := req.Transpose.Semitones
		res.Moves = append(res.Moves, moveRow{Transposed: arrange.Transposed{Semitones: n}, Value: fmt.Sprint(n), Chosen: true})
	}
}

// rank marks the best three transpositions: the one that "auto" takes, then those
// that place most notes, of several the one with the highest tempo to keep below,
// then the smallest.
func rank(moves []moveRow) {
	order := make([]*moveRow, len(moves))
	for i := range moves {
		order[i] = &moves[i]
	}
	first := func(auto bool) int {
		if auto {
			return 0
		}
		return 1
	}
	slices.SortStableFunc(order, func(a, b *moveRow) int {
		return cmp.Or(first(a.Auto)-first(b.Auto), cmp.Compare(b.Placed, a.Placed), arrange.CompareTempos(b.KeepBelowBPM, b.MaxSafeBPM, a.KeepBelowBPM, a.MaxSafeBPM),
			max(a.Semitones, -a.Semitones)-max(b.Semitones, -b.Semitones))
	})
	for i, m := range order[:min(len(order), 3)] {
		m.Rank = i + 1
	}
}

func rankWords(rank int) string { return [...]string{"best", "second", "third"}[rank-1] }

// warnings are what has to be known before the setting is kept.
func (p songPage) warnings() (all []page.Warning) {
	r := p.Result.Report
	limits := p.Result.Machine.Limits
	v := p.Result.Verdict
	beyond := timing.BeyondWords(limits, r.TempoBPM)
	slower := func(to ...*float64) page.Link {
		for _, bpm := range to {
			if bpm != nil {
				return p.atTempo(min(max(r.TempoBPM, limits.TempoMinBPM), *bpm))
			}
		}
		return page.Link{}
	}
	switch tempo := say.Tempo(r.TempoBPM); {
	case v.Trust == timing.Unknown:
		all = append(all, page.Warning{Weight: page.Stop, Text: r.Unmeasured, Action: page.Link{Text: "Measure on the machine’s page", URL: page.MachineURL(p.Frame.At)}})
	case v.Trust == timing.NotSafe:
		all = append(all, page.Warning{Weight: page.Stop, Text: fmt.Sprintf("Not safe at %s BPM: %s.", tempo, say.Count(len(v.Findings), "finding", "findings")), Action: slower(v.RedLineBPM, v.MaxSafeBPM)})
	case beyond != "":
		all = append(all, page.Warning{Weight: page.Stop, Text: fmt.Sprintf("%s BPM is %s, %s to %s BPM.", tempo, beyond, say.Tempo(limits.TempoMinBPM), say.Tempo(limits.TempoMaxBPM)), Action: slower(v.RedLineBPM, v.MaxSafeBPM)})
	case v.Trust == timing.Close:
		all = append(all, page.Warning{Weight: page.Attention, Text: fmt.Sprintf("%s BPM is close: %s.", tempo, timing.FaultWords(*v.Faults)), Action: slower(v.RedLineBPM)})
	}
	if n := stockShort(p); n > 0 {
		all = append(all, page.Warning{Weight: page.Attention, Text: fmt.Sprintf("It needs %s more than there are in stock.", say.Count(n, "pin", "pins"))})
	}
	return all
}

// atTempo is the setting at another tempo.
func (p songPage) atTempo(bpm float64) page.Link {
	form := p.Form
	form.Tempo = say.TempoDown(bpm)
	return page.Link{Text: "Set " + form.Tempo + " BPM", URL: songPath(p) + "?" + form.query().Encode()}
}

// placesWords say which bars places on the wheel are counted in.
func (res *setResult) placesWords() string {
	return fmt.Sprintf("Places on the wheel are counted from its seam: bar 1 of the wheel is bar %d of the song. A bar has %s.",
		res.Section.FromBar, say.Count(res.Machine.Wheel.BeatsPerBar, "beat", "beats"))
}

// heldKeys are the percussion keys of which a form says something.
func heldKeys(f setForm) []int { return slices.Sorted(maps.Keys(f.Percussion)) }

// openKeys is up to how many keys of a part are shown without being asked for.
const openKeys = 6

// droppedWords says why notes that a channel has are not played.
func droppedWords(p songPage) string {
	why := "only a resting channel has it"
	if p.Form.Ease {
		why += ", or to ease it"
	}
	return why
}

// shownBeats is how many beats off the grid a page lists.
const shownBeats = 8

// stockShort is how many pins more than the crew has the setting takes.
func stockShort(p songPage) int {
	stock := p.Result.Stock
	if stock == 0 {
		return 0
	}
	return len(p.Result.Pinning.Pins) - stock
}
