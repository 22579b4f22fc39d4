package limits

import (
	"fmt"
	"strings"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

type figureGroup struct {
	Name    string
	Figures []wheel.Figure
}

// figureGroups lists a machine's figures under what they belong to.
func figureGroups(m *wheel.Machine) []figureGroup {
	var groups []figureGroup
	for _, f := range m.Figures() {
		name := groupName(m, f.Path)
		if n := len(groups); n == 0 || groups[n-1].Name != name {
			groups = append(groups, figureGroup{Name: name})
		}
		g := &groups[len(groups)-1]
		g.Figures = append(g.Figures, f)
	}
	return groups
}

// bearing parts groups of figures into those that the lowest limit depends on and
// the others: the figures that mend a listed limit, and those of the channels and
// the lane that the lowest limit is of.
func bearing(m *wheel.Machine, groups []figureGroup, rungs []rungLine) (those, others []figureGroup) {
	mends, owners := map[string]bool{}, map[string]bool{}
	for i, r := range rungs {
		for _, m := range r.Mends {
			for _, set := range m.Sets {
				mends[set.Path] = true
			}
		}
		if i > 0 {
			continue
		}
		for _, c := range []int{r.Channel, r.Other} {
			if c >= 0 {
				owners["channels."+m.Channels[c].ID+"."] = true
			}
		}
		if r.Lane >= 0 {
			owners["lanes."+m.Lanes[r.Lane].ID+"."] = true
		}
	}
	bears := func(f wheel.Figure) bool {
		if mends[f.Path] {
			return true
		}
		for owner := range owners {
			if f.Given && strings.HasPrefix(f.Path, owner) && !strings.Contains(f.Path, ".queue.") {
				return true
			}
		}
		return false
	}
	for _, g := range groups {
		bear, not := figureGroup{Name: g.Name}, figureGroup{Name: g.Name}
		for _, f := range g.Figures {
			if bears(f) {
				bear.Figures = append(bear.Figures, f)
			} else {
				not.Figures = append(not.Figures, f)
			}
		}
		if len(bear.Figures) > 0 {
			those = append(those, bear)
		}
		if len(not.Figures) > 0 {
			others = append(others, not)
		}
	}
	return those, others
}

// figureCount is how many figures groups hold.
func figureCount(groups []figureGroup) (n int) {
	for _, g := range groups {
		n += len(g.Figures)
	}
	return n
}

func groupName(m *wheel.Machine, path string) string {
	head, rest, _ := strings.Cut(path, ".")
	switch head {
	case "channels":
		for i := range m.Channels {
			if strings.HasPrefix(rest, m.Channels[i].ID+".") {
				return m.Channels[i].Name
			}
		}
	case "lanes":
		for _, l := range m.Lanes {
			if strings.HasPrefix(rest, l.ID+".") {
				return "Lane " + l.ID
			}
		}
	}
	return say.Capital(head)
}

func figureWords(f wheel.Figure) string {
	if !f.Given {
		return f.Label + ", not given"
	}
	words := fmt.Sprintf("%s, %s", f.Label, wheel.Number(f.Value))
	if f.Unit != "" {
		words += " " + f.Unit
	}
	return words
}

type triedFigure struct {
	wheel.Figure // as it is
	To           float64
}

// figure is a figure of the page's machine by its path.
func (p timingPage) figure(path string) (wheel.Figure, bool) {
	for _, g := range p.Figures {
		for _, f := range g.Figures {
			if f.Path == path {
				return f, true
			}
		}
	}
	return wheel.Figure{}, false
}

// triedLabel names a figure on trial, and what it is without the trial.
func triedLabel(p timingPage, s setText) string {
	if f, ok := p.figure(s.Path); ok {
		return say.Capital(figureWords(f)) + " now; try"
	}
	return say.Short(s.Path)
}

// triedName names a figure on trial.
func triedName(p timingPage, s setText) string {
	if f, ok := p.figure(s.Path); ok {
		return f.Label
	}
	return say.Short(s.Path)
}

func triedWords(t triedFigure) string {
	from := wheel.Number(t.Value)
	if !t.Given {
		from = "not given"
	}
	words := fmt.Sprintf("%s from %s to %s", t.Label, from, wheel.Number(t.To))
	if t.Unit != "" {
		words += " " + t.Unit
	}
	return words
}
