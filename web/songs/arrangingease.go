package songs

import (
	"fmt"
	"hash/fnv"
	"slices"
	"strconv"

	"pinwright/timing"
	"pinwright/wheel"
	"pinwright/wheel/arrange"
	"pinwright/wheel/say"
)

// shownEasings is how many changes a page lists; deciding on some changes the
// rest.
const shownEasings = 60

// easeRow is a change that easing made, and what was decided on it.
type easeRow struct {
	arrange.EaseChange
	Field string // names it in the form
	ID    string // and on the page, whatever stands around it
	Kept  bool   // by decision
}

// easeRows are the changes made, and in words those that were refused.
func easeRows(m *wheel.Machine, f *setForm, e *arrange.Eased) (made []easeRow, refused []refusedRow) {
	taken := map[string]bool{}
	for _, d := range f.Decisions {
		if d.Take {
			taken[decisionText(d)] = true
		} else {
			refused = append(refused, refusedRow{refusedWords(m, d), decisionText(d), changeID(decisionText(d))})
		}
	}
	for _, c := range e.Changes {
		field := decisionText(arrange.Decision{Channel: c.Channel, Step: c.FromStep, Kind: c.Kind, ToChannel: c.ToChannel, ToStep: c.ToStep})
		made = append(made, easeRow{c, field, changeID(field), taken[field]})
	}
	// What was decided is in sight, however long the list is.
	slices.SortStableFunc(made, func(a, b easeRow) int {
		switch {
		case a.Kept == b.Kept:
			return 0
		case a.Kept:
			return -1
		}
		return 1
	})
	return made, refused
}

// refusedRow is a change that was refused.
type refusedRow struct{ Words, Field, ID string }

// changeID is a change's field as an id: a channel's id may have any character,
// an id on the page no space.
func changeID(field string) string {
	h := fnv.New64a()
	_, _ = h.Write([]byte(field))
	return strconv.FormatUint(h.Sum64(), 36)
}

func refusedWords(m *wheel.Machine, d arrange.Decision) string {
	words := fmt.Sprintf("%s: %s must not ", m.Wheel.PlaceText(m.Wheel.Wrap(d.Step)), channelNamed(m, d.Channel))
	to := m.Wheel.PlaceText(m.Wheel.Wrap(d.ToStep))
	switch d.Kind {
	case "dropped":
		return words + "be left out"
	case "moved":
		return words + fmt.Sprintf("move to %s at %s", channelNamed(m, d.ToChannel), to)
	}
	return words + "sound at " + to
}

// changesWords say how many changes easing made.
func changesWords(n int) string {
	return "Review " + say.Count(n, "change", "changes")
}

// easeHint says what easing does, or that it has nothing to do.
func (p songPage) easeHint() string {
	tempo := say.Tempo(p.Result.Report.TempoBPM)
	if !p.Form.Ease && p.Result.Verdict.Trust == timing.Trusted {
		return tempo + " BPM can be trusted without easing."
	}
	return "Changes as few notes as possible until " + tempo + " BPM can be trusted."
}

// costWords is a cost of easing: a note weighs 1 to 3.
func costWords(c float64) string {
	if c == 0 {
		return "free"
	}
	return "costs " + say.Rounded(c, 2)
}

// easeWhy says what a change costs and what it is for.
func easeWhy(c easeRow) string {
	if c.Why == "" {
		return say.Capital(costWords(c.Cost)) + "."
	}
	return say.Capital(costWords(c.Cost)) + ": " + say.Steady(c.Why) + "."
}

func tempoOrNone(bpm *float64) string {
	if bpm == nil {
		return "none"
	}
	return say.TempoDown(*bpm) + " BPM"
}

// followerWords says how to adjust a lever so that what remains goes.
func followerWords(mm float64) string {
	switch text := say.Rounded(max(mm, -mm), 2); {
	case text == "0":
		return "stays"
	case mm > 0:
		return text + " mm nearer"
	default:
		return text + " mm farther"
	}
}
