package songs

import (
	"fmt"
	"net/url"
	"strconv"
	"strings"

	"pinwright/web/page"
	"pinwright/wheel/arrange"
	"pinwright/wheel/say"
	"pinwright/wheel/song"
)

// setForm is the form as filled in: words, until they are read.
type setForm struct {
	FromBar, Bars, Transpose, Tempo string

	Repeat, Advance, Straighten, Ease bool

	Parts      map[song.Part]partForm
	Percussion map[int]string // by General MIDI key
	Decisions  []arrange.Decision

	FromSurvey bool // the page was come to from the survey, and leads back there

	suggest bool     // fill the percussion table
	best    bool     // take the best stretch
	wrong   []string // what of the form could not be taken as it came
}

// readSetForm takes the form as it was sent. A page that was opened without
// one gets the usual choices.
func readSetForm(v url.Values) setForm {
	text := func(name string) string { return strings.TrimSpace(v.Get(name)) }
	f := setForm{
		FromBar: text("from_bar"), Bars: text("bars"), Transpose: text("transpose"), Tempo: text("tempo"),
		Repeat: v.Get("repeat") == "on", Advance: v.Get("advance") == "on",
		Straighten: v.Get("straighten") == "on", Ease: v.Get("ease") == "on",
		Parts: map[song.Part]partForm{}, Percussion: map[int]string{},
		FromSurvey: v.Get("via") == "survey",
		suggest:    v.Get("suggest") == "percussion",
	}
	if !v.Has("from_bar") {
		f.FromBar, f.Advance = "1", true
	}
	if f.Transpose == "" {
		f.Transpose = "auto"
	}
	f.readParts(v)
	f.readPercussion(v)
	f.readDecisions(v)
	return f
}

// wrongField is a field of the form that cannot be taken as it is, and what
// would be right; the name is empty for what no one field is to blame for.
type wrongField struct{ Name, Says string }

// request is the form read. It says of every field that cannot be read what
// would be right.
func (f *setForm) request(s *song.Song) (req arrange.Request, wrong []wrongField) {
	add := func(name, says string) { wrong = append(wrong, wrongField{name, says}) }
	for _, says := range f.wrong {
		add("", says)
	}
	whole := func(name, text, what string) int {
		if text == "" {
			return 0
		}
		n, err := strconv.Atoi(text)
		if err != nil || n < 1 || n > 1e6 {
			add(name, fmt.Sprintf("%s is %q; it should be a whole number from 1.", what, say.Short(text)))
		}
		return n
	}
	req = arrange.Request{
		FromBar: whole("from_bar", f.FromBar, "From bar"), Bars: whole("bars", f.Bars, "Number of bars"),
		Repeat: f.Repeat, Advance: f.Advance, Straighten: f.Straighten,
		Ease: f.Ease, EaseLimit: easeLimit, Decisions: f.Decisions,
	}
	var err error
	if req.Transpose, err = arrange.ParseTranspose(f.Transpose); err != nil {
		add("", say.Sentence(err))
	}
	if f.Tempo != "" {
		if req.TempoBPM, err = page.ReadTempo(f.Tempo); err != nil {
			add("tempo", err.Error())
		}
	}
	parts, problems := f.partRules(s)
	percussion, more := f.percussionTable()
	req.Parts, req.Percussion = parts, percussion
	wrong = append(wrong, problems...)
	for _, says := range more {
		add("", says)
	}
	return req, wrong
}

// query is the form as an address holds it: what is as usual is left out.
func (f *setForm) query() url.Values {
	v := url.Values{"from_bar": {f.FromBar}, "transpose": {f.Transpose}}
	set := func(name, value string) {
		if value != "" {
			v.Set(name, value)
		}
	}
	set("bars", f.Bars)
	set("tempo", f.Tempo)
	for name, on := range map[string]bool{"repeat": f.Repeat, "advance": f.Advance, "straighten": f.Straighten, "ease": f.Ease} {
		if on {
			v.Set(name, "on")
		}
	}
	if f.FromSurvey {
		v.Set("via", "survey")
	}
	for part, p := range f.Parts {
		name := partName(part)
		if p.Off {
			v.Set("play_"+name, "off")
		}
		set("group_"+name, p.Group)
		set("lack_"+name, p.Lack)
		if p.Octave != "0" {
			set("octave_"+name, p.Octave)
		}
	}
	for key, value := range f.Percussion {
		set(fmt.Sprintf("perc_%d", key), value)
	}
	for _, d := range f.Decisions {
		if d.Take {
			v.Add("take", decisionText(d))
		} else {
			v.Add("refuse", decisionText(d))
		}
	}
	return v
}

// plays reports whether the form plays a note.
func (f *setForm) plays(n song.Note) bool { return !f.Parts[n.Part()].Off }

// checkedFields are the fields of the form that have their own place for what is
// wrong with them.
func checkedFields(p songPage) []string {
	names := []string{"from_bar", "bars", "tempo"}
	for _, part := range p.Parts {
		if !part.Drum() {
			names = append(names, "octave_"+part.Field)
		}
		names = append(names, "lack_"+part.Field)
	}
	return names
}

// isWrong is the state of a field for aria-invalid.
func isWrong(p songPage, field string) string {
	return strconv.FormatBool(p.Result.wrongOf(field) != "")
}
