package wheel

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
)

// Figure is one number of a machine that can be changed for a trial.
type Figure struct {
	Path  string // as on the command line: channels.bar-c5.gate.reload_ms
	Name  string // what it is, in words: "reload"
	Label string // and of what: "reload of Bar C5"
	Unit  string // "mm", "ms", "°", "mm/s", "BPM", "marbles", …; empty for a pure number
	Value float64
	Whole bool // whole numbers only
	Given bool // the file says it; one that it leaves out is 0
}

// Set is a value for the figure at a path.
type Set struct {
	Path  string
	Value float64
}

// field is a number in one of the structs of a machine file.
type field struct {
	key   string // path from the struct: gate.reload_ms
	index []int  // for reflection
	whole bool
	omits bool // 0 is not written
}

// Every number is a figure but a channel's row, which is where it is and not
// how it works. Lists are taken entry by entry, by id.
var (
	machineFields = fieldsOf(reflect.TypeFor[Machine]())
	laneFields    = fieldsOf(reflect.TypeFor[Lane]())
	channelFields = fieldsOf(reflect.TypeFor[Channel](), "row")
)

func fieldsOf(t reflect.Type, except ...string) []field {
	var all []field
	for _, f := range reflect.VisibleFields(t) {
		key, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		switch kind := f.Type.Kind(); {
		case slices.Contains(except, key):
		case kind == reflect.Float64 || kind == reflect.Int:
			all = append(all, field{key, f.Index, kind == reflect.Int, strings.Contains(options, "omitzero")})
		case kind == reflect.Struct:
			for _, in := range fieldsOf(f.Type) {
				all = append(all, field{key + "." + in.key, slices.Concat(f.Index, in.index), in.whole, in.omits})
			}
		}
	}
	return all
}

// figureWords says what a figure is where its key does not say it well.
var figureWords = map[string]string{
	"marble.stock":            "number in stock",
	"wheel.surface_radius_mm": "radius of the surface",
	"wheel.first_row_mm":      "distance of the first row",
	"wheel.steps_per_beat":    "steps to the beat",
	"wheel.beats_per_bar":     "beats to the bar",
	"wheel.pin_stock":         "stock of pins",
	"wheel.crank_turns":       "turns of the crank",
	"lift.pockets_per_turn":   "pockets",
	"lift.marbles_per_s":      "rate",
	"lift.carry_ms":           "carrying time",
	"limits.tempo_min_bpm":    "lowest tempo",
	"limits.tempo_max_bpm":    "highest tempo",
	"limits.flam_ms":          "widest flam",
	"limits.trips_at_once":    "most trips at once",
	"limits.wander":           "wander of the crank, as a fraction",
	"keep":                    "fraction of speed kept",
	"rolling":                 "rolling resistance",
	"trip.return_ms":          "lever's return",
	"gate.reload_sd_ms":       "deviation of reload",
	"gate.feed_slope_deg":     "feed's slope",
	"gate.rolling":            "feed's rolling resistance",
	"gate.release_mm_s":       "speed at release",
	"strike.clear_ms":         "time to clear",
	"exit_mm_s":               "speed off the plate",
	"queue.holds":             "room in the queue",
	"queue.least":             "least in the queue",
	"queue.most":              "most in the queue",
}

// units are told from the ends of keys; the first that fits counts.
var units = []struct{ end, unit string }{
	{"_kg_m3", "kg/m³"}, {"_mm_s", "mm/s"}, {"_mm", "mm"}, {"_ms", "ms"}, {"_deg", "°"}, {"_bpm", "BPM"},
}

// counted says what a figure counts where its key does not end in a unit.
var counted = map[string]string{
	"marble.stock":          "marbles",
	"wheel.steps":           "steps a turn",
	"wheel.steps_per_beat":  "steps",
	"wheel.beats_per_bar":   "beats",
	"wheel.pin_stock":       "pins",
	"wheel.crank_turns":     "to one of the wheel",
	"lift.pockets_per_turn": "to a turn of the wheel",
	"lift.marbles_per_s":    "marbles/s",
	"limits.trips_at_once":  "levers",
	"queue.holds":           "marbles",
	"queue.least":           "marbles",
	"queue.most":            "marbles",
}

func (f *field) words() (name, unit string) {
	for _, u := range units {
		if strings.HasSuffix(f.key, u.end) {
			name, unit = strings.TrimSuffix(f.key, u.end), u.unit
			break
		}
	}
	if name == "" {
		name, unit = f.key, counted[f.key]
	}
	if words, is := figureWords[f.key]; is {
		return words, unit
	}
	name = name[strings.LastIndexByte(name, '.')+1:]
	return strings.ReplaceAll(name, "_", " "), unit
}

// figure is a field of one part of a machine.
type figure struct {
	*field
	part  reflect.Value
	path  string
	place string // as a file's reader calls it: channels[3].gate.reload_ms
	of    string
}

func (f figure) value() reflect.Value { return f.part.FieldByIndex(f.index) }

func (f figure) told() Figure {
	name, unit := f.words()
	t := Figure{Path: f.path, Name: name, Label: name, Unit: unit, Whole: f.whole}
	if f.of != "" {
		t.Label += " of " + f.of
	}
	if v := f.value(); f.whole {
		t.Value = float64(v.Int())
	} else {
		t.Value = v.Float()
	}
	t.Given = t.Value != 0 || !f.omits
	return t
}

// at is the figure of a field of the machine itself.
func (m *Machine) at(f *field) figure {
	of := ""
	if part, _, _ := strings.Cut(f.key, "."); part != "limits" {
		of = "the " + part
	}
	return figure{f, reflect.ValueOf(m).Elem(), f.key, f.key, of}
}

func (m *Machine) atLane(i int, f *field) figure {
	l := &m.Lanes[i]
	return figure{f, reflect.ValueOf(l).Elem(), "lanes." + l.ID + "." + f.key, fmt.Sprintf("lanes[%d].%s", i, f.key), "lane " + l.ID}
}

func (m *Machine) atChannel(i int, f *field) figure {
	c := &m.Channels[i]
	return figure{f, reflect.ValueOf(c).Elem(), "channels." + c.ID + "." + f.key, fmt.Sprintf("channels[%d].%s", i, f.key), c.Name}
}

// Figures lists every figure of the machine: its own, then those of its lanes
// and channels, each in the order of the file.
func (m *Machine) Figures() []Figure {
	all := make([]Figure, 0, len(machineFields)+len(m.Lanes)*len(laneFields)+len(m.Channels)*len(channelFields))
	for i := range machineFields {
		all = append(all, m.at(&machineFields[i]).told())
	}
	for i := range m.Lanes {
		for j := range laneFields {
			all = append(all, m.atLane(i, &laneFields[j]).told())
		}
	}
	for i := range m.Channels {
		for j := range channelFields {
			all = append(all, m.atChannel(i, &channelFields[j]).told())
		}
	}
	return all
}

// Figure is the figure at a path. Lanes and channels are named by id, in which
// dots may stand: of two ids that fit, the longer one is meant. The error of a
// path that is none says so and suggests the nearest.
func (m *Machine) Figure(path string) (Figure, error) {
	f, err := m.find(path)
	if err != nil {
		return Figure{}, err
	}
	return f.told(), nil
}

// With is a changed copy of the machine: value at the figure at path. Its error
// is that of [Machine.Figure], or the [Problems] of [Machine.Check], in
// which the figure itself is called by its path.
func (m *Machine) With(path string, value float64) (*Machine, error) {
	return m.WithSets(Set{path, value})
}

// WithSets is [Machine.With] for several figures, which are judged together.
// Of two values for one figure the later one counts.
func (m *Machine) WithSets(sets ...Set) (*Machine, error) {
	n := m.Clone()
	paths := make(map[string]string, len(sets)) // by place
	for _, s := range sets {
		f, err := n.find(s.Path)
		if err != nil {
			return nil, err
		}
		paths[f.place] = f.path
		switch v := f.value(); {
		case !f.whole:
			v.SetFloat(s.Value + 0) // no −0
		case s.Value == math.Trunc(s.Value) && math.Abs(s.Value) <= 1e9:
			v.SetInt(int64(s.Value))
		default:
			return nil, Problems{{f.path, "is " + Number(s.Value) + "; it should be a whole number below a thousand million"}}.Err()
		}
	}
	problems := n.Check()
	for i, p := range problems {
		if path, is := paths[p.Place]; is {
			problems[i].Place = path
		}
	}
	if err := problems.Err(); err != nil {
		return nil, err
	}
	return n, nil
}

func (m *Machine) find(path string) (figure, error) {
	list, rest, inside := strings.Cut(path, ".")
	switch {
	case list == "lanes" && inside:
		if i, key := longest(rest, len(m.Lanes), func(i int) string { return m.Lanes[i].ID }); i >= 0 {
			if f := byKey(laneFields, key); f != nil {
				return m.atLane(i, f), nil
			}
			return figure{}, unknown("lanes."+m.Lanes[i].ID+".", key, laneFields)
		}
		ids := make([]string, len(m.Lanes))
		for i := range ids {
			ids[i] = m.Lanes[i].ID
		}
		return figure{}, unknownID("lane", rest, ids, laneFields)
	case list == "channels" && inside:
		if i, key := longest(rest, len(m.Channels), func(i int) string { return m.Channels[i].ID }); i >= 0 {
			if f := byKey(channelFields, key); f != nil {
				return m.atChannel(i, f), nil
			}
			return figure{}, unknown("channels."+m.Channels[i].ID+".", key, channelFields)
		}
		ids := make([]string, len(m.Channels))
		for i := range ids {
			ids[i] = m.Channels[i].ID
		}
		return figure{}, unknownID("channel", rest, ids, channelFields)
	}
	if f := byKey(machineFields, path); f != nil {
		return m.at(f), nil
	}
	return figure{}, unknown("", path, machineFields)
}

// longest is the entry with the longest id that path begins with, and what
// follows the id; −1 where there is none.
func longest(path string, n int, id func(int) string) (best int, key string) {
	best, length := -1, -1
	for i := range n {
		if rest, is := strings.CutPrefix(path, id(i)); is && strings.HasPrefix(rest, ".") && len(id(i)) > length {
			best, length, key = i, len(id(i)), rest[1:]
		}
	}
	return best, key
}

func byKey(fields []field, key string) *field {
	if i := slices.IndexFunc(fields, func(f field) bool { return f.key == key }); i >= 0 {
		return &fields[i]
	}
	return nil
}

// unknown is the error of a key that is none after what comes before it.
func unknown(before, key string, fields []field) error {
	return Refuse(ErrInvalid, "%s is no figure of the machine%s", IDText(before+key), didYouMeanPath(before, nearestKey(key, fields)))
}

// unknownID is the error of a lane or channel that is not there.
func unknownID(what, rest string, ids []string, fields []field) error {
	if slices.Contains(ids, rest) {
		return Refuse(ErrInvalid, "%s is a %s; name a figure of it, such as %s", IDText(what+"s."+rest), what, IDText(what+"s."+rest+"."+fields[0].key))
	}
	id, key, _ := strings.Cut(rest, ".")
	for _, f := range fields {
		if cut, is := strings.CutSuffix(rest, "."+f.key); is && len(f.key) >= len(key) {
			id, key = cut, f.key
		}
	}
	suggested := ""
	if near, nearKey := Nearest(id, ids), nearestKey(key, fields); near != "" && nearKey != "" {
		suggested = didYouMeanPath(what+"s."+near+".", nearKey)
	}
	return Refuse(ErrInvalid, "%s is no figure of the machine: it has no %s %s%s", IDText(what+"s."+rest), what, IDText(id), suggested)
}

// nearestKey is the key that was probably meant: it itself, the nearest, one
// that ends so, or one that is called so.
func nearestKey(key string, fields []field) string {
	keys := make([]string, len(fields))
	for i, f := range fields {
		keys[i] = f.key
	}
	if slices.Contains(keys, key) {
		return key
	}
	if near := Nearest(key, keys); near != "" {
		return near
	}
	end := key[strings.LastIndexByte(key, '.')+1:]
	for i := range fields {
		if name, _ := fields[i].words(); name == end || strings.HasSuffix(keys[i], "."+end) {
			return keys[i]
		}
	}
	return ""
}

func didYouMeanPath(before, key string) string {
	if key == "" {
		return ""
	}
	return "; did you mean " + before + key + "?"
}
