package wheel

import (
	"reflect"
	"slices"
	"strconv"
	"strings"
)

// ChangedText is something of a machine that is no [Figure] and that a change
// made another: a name, a note, a route, a reason, what was measured, or a whole
// lane, channel, hopper or lift that came or went.
type ChangedText struct {
	Path     string // as that of a figure: lanes.chute-1.note, measured.wheel.radius_mm
	From, To string // empty where there was or is nothing
}

// texts is everything of a machine that is no figure, by path. A part of a list
// is there under its own path, with its name.
type texts struct {
	order []string
	says  map[string]string
}

func (t *texts) add(path, says string) {
	if _, twice := t.says[path]; says == "" || twice { // two ids with dots can make one path
		return
	}
	t.order = append(t.order, path)
	t.says[path] = says
}

// addAll adds all fields of a struct that are no figures. Lists of structs are
// left to the caller.
func (t *texts) addAll(prefix string, part reflect.Value) {
	for _, f := range reflect.VisibleFields(part.Type()) {
		key, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		path, v := prefix+key, part.FieldByIndex(f.Index)
		switch {
		case !f.IsExported() || f.Type == reflect.TypeFor[Maybe]():
		case f.Type.Kind() == reflect.Struct:
			t.addAll(path+".", v)
		case f.Type.Kind() == reflect.String:
			t.add(path, v.String())
		case f.Type.Kind() == reflect.Bool && v.Bool():
			t.add(path, "yes")
		case key == "row": // the one number that is no figure
			t.add(path, strconv.FormatInt(v.Int(), 10))
		case f.Type == reflect.TypeFor[[]string]():
			t.add(path, strings.Join(v.Interface().([]string), ", "))
		case f.Type == reflect.TypeFor[[]int]():
			var words []string
			for _, n := range v.Interface().([]int) {
				words = append(words, strconv.Itoa(n))
			}
			t.add(path, strings.Join(words, ", "))
		}
	}
}

func (m *Machine) texts() texts {
	t := texts{says: map[string]string{}}
	t.addAll("", reflect.ValueOf(m).Elem())
	for i := range m.Lanes {
		l := &m.Lanes[i]
		t.add("lanes."+l.ID, l.ID)
		t.addAll("lanes."+l.ID+".", reflect.ValueOf(l).Elem())
	}
	for i := range m.Channels {
		c := &m.Channels[i]
		t.add("channels."+c.ID, c.Name)
		t.addAll("channels."+c.ID+".", reflect.ValueOf(c).Elem())
	}
	for _, h := range m.Hoppers {
		t.add("hoppers."+h.ID, h.ID)
	}
	for i := range m.Lifts {
		l := &m.Lifts[i]
		t.add("lifts."+l.ID, l.ID)
		t.addAll("lifts."+l.ID+".", reflect.ValueOf(l).Elem())
	}
	for i := range m.Measured {
		t.add("measured."+m.Measured[i].Figure, m.Measured[i].words(m))
	}
	return t
}

// words is what was measured, on one line.
func (e *Measured) words(m *Machine) string {
	unit := ""
	if f, err := m.Figure(e.Figure); err == nil && f.Unit != "" {
		unit = " " + f.Unit
	}
	var words []string
	if e.N > 0 {
		words = append(words, "n "+strconv.Itoa(e.N))
	}
	if sd, ok := e.SD.Get(); ok {
		words = append(words, "spread "+Number(sd)+unit)
	}
	if u, ok := e.U.Get(); ok {
		words = append(words, "doubt "+Number(u)+unit)
	}
	for _, said := range []string{e.On, e.By, e.How} {
		if said != "" {
			words = append(words, said)
		}
	}
	return strings.Join(words, ", ")
}

// ChangedTexts is what of a machine, other than its figures, differs from a
// later state of it: what went or became another in the order of the file, then
// what came. Of a part that came or went, nothing inside it is listed.
func (m *Machine) ChangedTexts(after *Machine) []ChangedText {
	was, is := m.texts(), after.texts()
	var changed []ChangedText
	for _, path := range was.order {
		if is.says[path] != was.says[path] && !within(path, &was, &is) {
			changed = append(changed, ChangedText{path, was.says[path], is.says[path]})
		}
	}
	for _, path := range is.order {
		if _, there := was.says[path]; !there && !within(path, &is, &was) {
			changed = append(changed, ChangedText{path, "", is.says[path]})
		}
	}
	// A channel that is renamed is told once, by its name.
	return slices.DeleteFunc(changed, func(c ChangedText) bool { return c.From != "" && c.To != "" && isPart(c.Path, &was) })
}

// isPart reports whether a path is that of a part of a list: others lie within.
func isPart(path string, t *texts) bool {
	list, id, _ := strings.Cut(path, ".")
	switch list {
	case "lanes", "channels", "lifts":
		_, named := t.says[path+".id"]
		return id != "" && named
	}
	return false
}

// within reports whether a path lies within a part that only one state has.
func within(path string, here, there *texts) bool {
	for at := len(path) - 1; at > 0; at-- {
		if path[at] != '.' {
			continue
		}
		if part := path[:at]; isPart(part, here) && there.says[part+".id"] == "" {
			return true
		}
	}
	return false
}
