package page

import (
	"fmt"
	"slices"
	"strings"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// ChangeWords says what a change of a machine did, a line for each figure and
// each text. A reason that is the change's own is not said twice. m is the
// machine as it is now.
func ChangeWords(m *wheel.Machine, c wheel.MachineChange) []string {
	var lines []string
	for _, f := range c.Figures {
		lines = append(lines, changedFigure(m, f))
	}
	for _, t := range c.Texts {
		if t.To != "" && t.To == c.Reason {
			continue
		}
		lines = append(lines, say.Steady(changedText(m, t)))
	}
	return lines
}

func changedFigure(m *wheel.Machine, c wheel.ChangedFigure) string {
	label, unit := labelOf(m, c.Path), ""
	if f, err := m.Figure(c.Path); err == nil && f.Unit != "" {
		unit = " " + f.Unit
	}
	given := func(v wheel.Maybe) string {
		if value, ok := v.Get(); ok {
			return wheel.Number(value)
		}
		return "not given"
	}
	words := fmt.Sprintf("%s from %s to %s", label, given(c.From), given(c.To))
	if c.To.IsKnown() {
		words += unit
	}
	return words
}

// labelOf names a figure of the machine; one that it no longer has is named by
// its path.
func labelOf(m *wheel.Machine, path string) string {
	if f, err := m.Figure(path); err == nil {
		return f.Label
	}
	return path
}

// textWords says what a text of a machine is, by the end of its path.
var textWords = map[string]string{
	"name": "name", "note": "note", "kind": "kind", "file": "file of marbles", "row": "row", "keys": "keys", "drum": "drum keys",
	"service": "service", "plate": "plate", "path": "path", "exit": "exit", "hopper": "hopper", "works": "work", "damps": "list of what it damps",
	"from": "start", "to": "end", "drive": "drive", "share": "sharing", "serves": "list of channels served", "id": "id", "house_why": "reason",
}

func changedText(m *wheel.Machine, c wheel.ChangedText) string {
	list, rest, _ := strings.Cut(c.Path, ".")
	if list == "measured" {
		label := labelOf(m, rest)
		switch {
		case c.To == "":
			return fmt.Sprintf("what was measured of the %s no longer counts: %s", label, c.From)
		case c.From == "":
			return fmt.Sprintf("the %s was measured: %s", label, c.To)
		}
		return fmt.Sprintf("the %s was measured again: %s; before: %s", label, c.To, c.From)
	}
	var of string
	switch list {
	case "lanes", "channels", "lifts", "hoppers":
		what := strings.TrimSuffix(list, "s")
		dot := strings.LastIndexByte(rest, '.')
		if textWords[rest[dot+1:]] == "" || dot < 0 { // the part itself
			if c.To == "" {
				return fmt.Sprintf("%s %s was removed", what, c.From)
			}
			return fmt.Sprintf("%s %s is new", what, c.To)
		}
		of, rest = " of "+what+" "+rest[:dot], rest[dot+1:]
		if i := m.Channel(strings.TrimPrefix(of, " of channel ")); list == "channels" && i >= 0 {
			of = " of " + m.Channels[i].Name
		}
	case "lift":
		of = " of the lift"
	case "limits":
		of = " of the house limit"
	default:
		of, rest = " of the machine", c.Path
	}
	word := textWords[rest]
	if word == "" {
		word = rest
	}
	switch {
	case c.From == "":
		return fmt.Sprintf("%s%s: “%s”", word, of, c.To)
	case c.To == "":
		return fmt.Sprintf("%s%s removed: “%s”", word, of, c.From)
	}
	return fmt.Sprintf("%s%s from “%s” to “%s”", word, of, c.From, c.To)
}

// How many lines of a change are shown before it is opened.
const changeLines = 6

// parted is the lines of a change that are shown, and the others.
func parted(m *wheel.Machine, c wheel.MachineChange) (shown, more []string) {
	lines := ChangeWords(m, c)
	n := min(len(lines), changeLines)
	if len(lines) == changeLines+1 {
		n = len(lines)
	}
	return slices.Clip(lines[:n]), lines[n:]
}
