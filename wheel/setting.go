package wheel

import (
	"math"
	"slices"
	"strconv"
	"strings"
)

// Setting is a value for a figure, or for that figure of every part of a group,
// as people write it: channels.bar-c5.gate.reload_ms=120, kind:bar.gate.reload_ms*=0.9.
type Setting struct {
	// Path is that of a figure, as [Machine.Figure] takes it, or of a group:
	// channels.*.KEY, lanes.*.KEY, lifts.*.KEY, or kind:KIND.KEY for the channels
	// of a kind.
	Path  string
	Times bool // Value multiplies what the figure is
	Value float64
}

// ParseSet reads a setting. Its error says what is wrong with the text.
func ParseSet(text string) (Setting, error) {
	at := strings.LastIndexByte(text, '=') // an id may have one, a number has none
	path, times := text[:max(at, 0)], false
	if cut, is := strings.CutSuffix(path, "*"); is {
		path, times = cut, true
	}
	if path == "" {
		return Setting{}, Refuse(ErrInvalid, "it should be a figure's path and its value, such as channels.bar-c5.gate.reload_ms=120 or lanes.*.rolling=0.003")
	}
	v, err := strconv.ParseFloat(text[at+1:], 64)
	switch {
	case err != nil:
		return Setting{}, Refuse(ErrInvalid, "what stands after = should be a number, with a point for decimals")
	case times && (math.IsNaN(v) || math.IsInf(v, 0)):
		return Setting{}, Refuse(ErrInvalid, "what stands after *= should be a finite number")
	}
	return Setting{path, times, v}, nil
}

// String writes the setting as [ParseSet] reads it.
func (s Setting) String() string {
	if s.Times {
		return s.Path + "*=" + strconv.FormatFloat(s.Value, 'f', -1, 64)
	}
	return s.Path + "=" + strconv.FormatFloat(s.Value, 'f', -1, 64)
}

// GroupSet is what a setting comes to on a machine.
type GroupSet struct {
	Setting
	Name     string // of the figure, in words: "reload"
	Of       string // whose: "14 bars"; empty for a single figure
	Unit     string
	Sets     []Set
	NotGiven int // figures of the group that the machine leaves out and that a factor cannot change
}

// Resolve says what settings come to on the machine, one after the other: a
// factor multiplies what an earlier setting has made of a figure. Its error is a
// sentence that names the path: no such figure, nothing in the group, or nothing
// to multiply.
func (m *Machine) Resolve(settings ...Setting) ([]GroupSet, error) {
	now := map[string]float64{} // what was set so far, by path
	var all []GroupSet
	for _, s := range settings {
		figures, g, err := m.group(s.Path)
		if err != nil {
			return nil, err
		}
		g.Setting = s
		for _, f := range figures {
			v, given := now[f.path]
			if !given {
				v, given = f.number()
			}
			switch {
			case !s.Times:
				v = s.Value
			case !given:
				g.NotGiven++
				continue
			default:
				v *= s.Value
			}
			now[f.path] = v
			g.Sets = append(g.Sets, Set{f.path, v})
		}
		switch {
		case len(g.Sets) > 0:
		case g.Of == "":
			return nil, Refuse(ErrInvalid, "%s is not given, so it cannot be multiplied; give it a value with =", IDText(s.Path))
		default:
			return nil, Refuse(ErrInvalid, "%s cannot be multiplied: the machine gives none of these %d figures; give them a value with =", IDText(s.Path), g.NotGiven)
		}
		all = append(all, g)
	}
	return all, nil
}

// SetsOf is the figures that settings change, in the order of [Machine.Resolve].
func SetsOf(groups []GroupSet) []Set {
	var sets []Set
	for _, g := range groups {
		sets = append(sets, g.Sets...)
	}
	return sets
}

// group is the figures that a path means: one, or one of each part of a group.
func (m *Machine) group(path string) ([]figure, GroupSet, error) {
	one, err := m.find(path)
	if err == nil {
		told := one.told()
		return []figure{one}, GroupSet{Name: told.Label, Unit: told.Unit}, nil
	}
	list, key, kind, isGroup := cutGroup(path)
	if !isGroup {
		return nil, GroupSet{}, err
	}
	of := func(i int) bool { return true }
	if kind != "" {
		if !slices.Contains(ChannelKinds, ChannelKind(kind)) {
			return nil, GroupSet{}, Refuse(ErrInvalid, "%s names no kind of channel; it should be one of %s", IDText(path), kindNames())
		}
		of = func(i int) bool { return m.Channels[i].Kind == ChannelKind(kind) }
	}
	for _, p := range m.parts() {
		if p.what+"s" != list {
			continue
		}
		field := byKey(p.fields, key)
		if field == nil {
			before := strings.TrimSuffix(path, key)
			return nil, GroupSet{}, Refuse(ErrInvalid, "%s is no figure of a %s%s", IDText(path), p.what, didYouMeanPath(before, nearestKey(key, p.fields)))
		}
		var figures []figure
		for i := range p.n {
			if f := p.at(i, field); of(i) && m.has(list, i, key) {
				figures = append(figures, f)
			}
		}
		if len(figures) == 0 {
			return nil, GroupSet{}, Refuse(ErrInvalid, "%s matches nothing: the machine has no %s with such a figure", IDText(path), partWord(p.what, kind))
		}
		name, unit := field.words()
		return figures, GroupSet{Name: name, Of: groupWords(p.what, kind, len(figures)), Unit: unit}, nil
	}
	return nil, GroupSet{}, err
}

// cutGroup takes the path of a group apart: the list of parts, the figure's key,
// and the kind of channel, if only one is meant.
func cutGroup(path string) (list, key, kind string, ok bool) {
	if rest, is := strings.CutPrefix(path, "kind:"); is {
		kind, key, _ = strings.Cut(rest, ".")
		return "channels", key, kind, true
	}
	list, key, ok = strings.Cut(path, ".*.")
	return list, key, "", ok
}

// has reports whether a part of the machine can have a figure: a lever that only
// holds has no gate, a fall no slope.
func (m *Machine) has(list string, i int, key string) bool {
	switch list {
	case "channels":
		ofHold := key == "least_hold_ms" || key == "least_rest_ms"
		if m.Channels[i].Holds() {
			return ofHold || strings.HasPrefix(key, "trip.")
		}
		return !ofHold
	case "lanes":
		if m.Lanes[i].Kind == Ramp {
			return key != "bore_mm"
		}
		return key == "length_mm" || key == "keep" || key == "bore_mm"
	}
	return true
}

func kindNames() string {
	names := make([]string, len(ChannelKinds))
	for i, k := range ChannelKinds {
		names[i] = string(k)
	}
	return strings.Join(names, ", ")
}

func partWord(what, kind string) string {
	if kind == "" || kind == "other" {
		return what
	}
	return kind
}

// groupWords counts the parts of a group: "14 bars", "1 lane".
func groupWords(what, kind string, n int) string {
	word := partWord(what, kind)
	if n != 1 {
		word += "s"
	}
	return strconv.Itoa(n) + " " + word
}
