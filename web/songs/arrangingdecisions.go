package songs

import (
	"encoding/json"
	"fmt"
	"net/url"
	"slices"

	"pinwright/wheel/arrange"
	"pinwright/wheel/say"
)

// maxDecisions is how many decisions on changes a form may hold: more than a
// person makes.
const maxDecisions = 500

// readDecisions reads take and refuse; undo takes one of them back. What a button
// decides is named apart, take_this and refuse_this: htmx sends a button's value
// in place of the form's fields of the same name.
func (f *setForm) readDecisions(v url.Values) {
	of := func(field string) []string { return slices.Concat(v[field], v[field+"_this"]) }
	if n := len(of("take")) + len(of("refuse")); n > maxDecisions {
		f.wrong = append(f.wrong, fmt.Sprintf("There are %d decisions on changes; %d are the most.", n, maxDecisions))
		return
	}
	undone := map[string]bool{}
	for _, text := range v["undo"] {
		undone[text] = true
	}
	made := map[arrange.Decision]bool{} // whether it is taken
	for _, field := range []string{"take", "refuse"} {
		for _, text := range of(field) {
			d, ok := readDecision(text)
			if !ok {
				f.wrong = append(f.wrong, fmt.Sprintf(`A decision on a change is %q; it should be as in ["shifted","bar-c5",14,"bar-c5",15].`, say.Short(text)))
				return
			}
			if undone[text] {
				continue
			}
			take := field == "take"
			if took, again := made[d]; again {
				if took != take {
					f.wrong = append(f.wrong, fmt.Sprintf("The change of the note on %q, step %d, is both kept and refused; it can be one of them.", say.Short(d.Channel), d.Step))
					return
				}
				continue
			}
			made[d] = take
			d.Take = take
			f.Decisions = append(f.Decisions, d)
		}
	}
}

// decisionText is a change as a field of the form holds it. An id may have
// any character, so it is JSON.
func decisionText(d arrange.Decision) string {
	text, err := json.Marshal([]any{d.Kind, d.Channel, d.Step, d.ToChannel, d.ToStep})
	if err != nil {
		panic(err) // strings and whole numbers can be written
	}
	return string(text)
}

func readDecision(text string) (d arrange.Decision, ok bool) {
	fields := []any{&d.Kind, &d.Channel, &d.Step, &d.ToChannel, &d.ToStep}
	n := len(fields)
	err := json.Unmarshal([]byte(text), &fields)
	return d, err == nil && len(fields) == n && decisionText(d) == text
}
