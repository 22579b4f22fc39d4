package songs

import (
	"fmt"

	"pinwright/web/page"
	"pinwright/wheel/arrange"
	"pinwright/wheel/say"
	"pinwright/wheel/song"
)

// shownStretches is how many stretches a page proposes.
const shownStretches = 3

// stretchRow is a stretch of the song that could be set.
type stretchRow struct {
	arrange.Stretch
	Words string
	Seam  string
	URL   string // of the page with it set
	Now   bool   // it is the one that is set
}

// From is its first bar, as the field has it.
func (r stretchRow) From() string { return fmt.Sprint(r.Section.FromBar) }

// stretchRows are the best stretches of the song that do not overlap by half.
func stretchRows(m page.Compiled, s *song.Song, f *setForm, now arrange.Section, path string) (rows []stretchRow) {
	req, _ := f.request(s)
	stretches, err := arrange.Suggest(m.File, s, req)
	if err != nil {
		return nil // the setting has said why
	}
	for _, st := range stretches {
		if st.Placed == 0 || len(rows) == shownStretches {
			break
		}
		if overlaps(rows, st) {
			continue
		}
		asked := *f
		asked.FromBar, asked.Bars = fmt.Sprint(st.Section.FromBar), ""
		rows = append(rows, stretchRow{
			Stretch: st, Words: sectionWords(st, !req.Transpose.Auto), Seam: say.Capital(st.Seam.Text) + ".",
			URL: path + "?" + asked.query().Encode(),
			Now: st.Section.FromBar == now.FromBar && st.Section.Bars == now.Bars,
		})
	}
	return rows
}

func overlaps(rows []stretchRow, st arrange.Stretch) bool {
	for _, r := range rows {
		first := max(r.Section.FromBar, st.Section.FromBar)
		after := min(r.Section.FromBar+r.Section.Bars, st.Section.FromBar+st.Section.Bars)
		if 2*(after-first) > min(r.Section.Bars, st.Section.Bars) {
			return true
		}
	}
	return false
}

func sectionWords(st arrange.Stretch, fixed bool) string {
	words := fmt.Sprintf("%s: %d of %s placed", say.Capital(st.Section.String()), st.Placed, say.Count(st.Notes, "note", "notes"))
	if fixed && st.Transpose != 0 {
		words += ", " + transposeWords(st.Transpose)
	}
	return words
}

// takenBest reports whether the best stretch is the one that is set.
func (res *setResult) takenBest() bool { return len(res.Stretches) > 0 && res.Stretches[0].Now }

// takeBest chooses the best stretch of a song, where one can be set.
func (f *setForm) takeBest(m page.Compiled, s *song.Song) {
	req, wrong := f.request(s)
	if len(wrong) > 0 {
		return
	}
	if all, err := arrange.Suggest(m.File, s, req); err == nil && len(all) > 0 && all[0].Placed > 0 {
		f.FromBar = fmt.Sprint(all[0].Section.FromBar)
	}
}
