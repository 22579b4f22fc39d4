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
	maybe bool // a [Maybe]
	omits bool // 0 is not written
}

// Every number is a figure but a channel's row, which is where it is and not
// how it works. Lists are taken entry by entry, by id.
var (
	machineFields = fieldsOf(reflect.TypeFor[Machine]())
	laneFields    = fieldsOf(reflect.TypeFor[Lane]())
	liftFields    = fieldsOf(reflect.TypeFor[Lift]())
	channelFields = fieldsOf(reflect.TypeFor[Channel](), "row")
)

func fieldsOf(t reflect.Type, except ...string) []field {
	var all []field
	for _, f := range reflect.VisibleFields(t) {
		key, options, _ := strings.Cut(f.Tag.Get("json"), ",")
		switch kind := f.Type.Kind(); {
		case slices.Contains(except, key) || !f.IsExported():
		case f.Type == reflect.TypeFor[Maybe]():
			all = append(all, field{key: key, index: f.Index, maybe: true})
		case kind == reflect.Float64 || kind == reflect.Int:
			all = append(all, field{key: key, index: f.Index, whole: kind == reflect.Int, omits: strings.Contains(options, "omitzero")})
		case kind == reflect.Struct:
			for _, in := range fieldsOf(f.Type) {
				in.key, in.index = key+"."+in.key, slices.Concat(f.Index, in.index)
				all = append(all, in)
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
	"limits.ripple":           "ripple of the crank, as a fraction",
	"limits.house_bpm":        "house limit",
	"limits.spoilt_per_turn":  "spoilt notes allowed",
	"limits.jams_per_turn":    "jams allowed",
	"limits.unmeasured_u":     "doubt of unmeasured figures, as a fraction",
	"wheel.crank_marks":       "marks of the crank's sensor",
	"wheel.pin_sd_mm":         "spread of the pins' places",
	"wheel.inertia_kg_m2":     "moment of inertia",
	"frame.hz":                "frequency",
	"frame.hz_u":              "doubt of the frequency",
	"pockets_per_turn":        "pockets",
	"marbles_per_s":           "rate",
	"carry_ms":                "carrying time",
	"bore_mm":                 "bore of the pipe",
	"rod_mm":                  "diameter of the rods",
	"clear_gap_mm":            "gap between the rods",
	"ring_s":                  "ringing time",
	"mic_mm":                  "distance to the microphone",
	"trip.push_n":             "force on the lever",
	"trip.push_ns":            "blow of the lever",
	"queue.start":             "marbles in the queue at the start",
	"queue.slope_deg":         "slope of the queue",
	"queue.force_min_n":       "least force of the head",
	"queue.force_max_n":       "most force of the head",
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
	{"_kg_m3", "kg/m³"}, {"_kg_m2", "kg m²"}, {"_mm_s", "mm/s"}, {"_mm", "mm"}, {"_ms", "ms"}, {"_deg", "°"}, {"_bpm", "BPM"},
	{"_n", "N"}, {"_ns", "N s"}, {"hz", "Hz"}, {"hz_u", "Hz"}, {"marbles_per_s", "marbles/s"}, {"_per_s", "a second"}, {"ring_s", "s"},
}

// counted says what a figure counts where its key does not end in a unit.
var counted = map[string]string{
	"marble.stock":           "marbles",
	"wheel.steps":            "steps a turn",
	"wheel.steps_per_beat":   "steps",
	"wheel.beats_per_bar":    "beats",
	"wheel.pin_stock":        "pins",
	"wheel.crank_turns":      "to one of the wheel",
	"lift.pockets_per_turn":  "to a turn of the wheel",
	"lift.marbles_per_s":     "marbles/s",
	"limits.trips_at_once":   "levers",
	"limits.spoilt_per_turn": "a turn",
	"limits.jams_per_turn":   "a turn",
	"wheel.crank_marks":      "a turn of the crank",
	"queue.start":            "marbles",
	"pockets_per_turn":       "to a turn of the wheel",
	"queue.holds":            "marbles",
	"queue.least":            "marbles",
	"queue.most":             "marbles",
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
	part    reflect.Value
	path    string
	place   string // as a file's reader calls it: channels[3].gate.reload_ms
	of      string
	channel *Channel // whose figure it is, if a channel's
}

func (f figure) value() reflect.Value { return f.part.FieldByIndex(f.index) }

// number is the figure's value. given is false where the file leaves it out.
func (f figure) number() (value float64, given bool) {
	switch v := f.value(); {
	case f.maybe:
		return v.Addr().Interface().(*Maybe).Get()
	case f.whole:
		value = float64(v.Int())
	default:
		value = v.Float()
	}
	return value, value != 0 || !f.omits
}

// set changes the figure; ok is false for a number that it cannot be.
func (f figure) set(value float64) (ok bool) {
	value += 0 // no −0
	switch v := f.value(); {
	case f.maybe:
		*v.Addr().Interface().(*Maybe) = Known(value)
	case !f.whole:
		v.SetFloat(value)
	case value == math.Trunc(value) && math.Abs(value) <= 1e9:
		v.SetInt(int64(value))
	default:
		return false
	}
	return true
}

func (f figure) told() Figure {
	name, unit := f.words()
	t := Figure{Path: f.path, Name: name, Label: name, Unit: unit, Whole: f.whole}
	if f.of != "" {
		t.Label += " of " + f.of
	}
	t.Value, t.Given = f.number()
	return t
}

// at is the figure of a field of the machine itself.
func (m *Machine) at(f *field) figure {
	of := ""
	if part, _, _ := strings.Cut(f.key, "."); part != "limits" {
		of = "the " + part
	}
	return figure{field: f, part: reflect.ValueOf(m).Elem(), path: f.key, place: f.key, of: of}
}

func (m *Machine) atLane(i int, f *field) figure {
	l := &m.Lanes[i]
	return figure{field: f, part: reflect.ValueOf(l).Elem(), path: "lanes." + l.ID + "." + f.key, place: fmt.Sprintf("lanes[%d].%s", i, f.key), of: "lane " + l.ID}
}

func (m *Machine) atChannel(i int, f *field) figure {
	c := &m.Channels[i]
	return figure{field: f, part: reflect.ValueOf(c).Elem(), path: "channels." + c.ID + "." + f.key, place: fmt.Sprintf("channels[%d].%s", i, f.key), of: c.Name, channel: c}
}

func (m *Machine) atLift(i int, f *field) figure {
	l := &m.Lifts[i]
	return figure{field: f, part: reflect.ValueOf(l).Elem(), path: "lifts." + l.ID + "." + f.key, place: fmt.Sprintf("lifts[%d].%s", i, f.key), of: "lift " + l.ID}
}

// Figures lists every figure of the machine: its own, then those of its lanes,
// channels and lifts, each in the order of the file.
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
	for i := range m.Lifts {
		for j := range liftFields {
			all = append(all, m.atLift(i, &liftFields[j]).told())
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
// Of two values for one figure the later one counts. It is a trial: spread and
// doubt of a figure stay the numbers that they were, also where they were
// assumed as a fraction of its value.
func (m *Machine) WithSets(sets ...Set) (*Machine, error) {
	n := m.Clone()
	paths := make(map[string]string, len(sets)) // by place
	doubts := m.Doubts()
	for _, s := range sets {
		f, err := n.find(s.Path)
		if err != nil {
			return nil, err
		}
		if _, given := f.number(); given {
			if n.kept == nil {
				n.kept = map[string]Doubt{}
			}
			n.kept[f.path] = doubts.Of(f.path)
		}
		paths[f.place] = f.path
		if !f.set(s.Value) {
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

// part is a list of a machine's parts whose figures have paths.
type part struct {
	what   string // of one: lane
	fields []field
	n      int
	id     func(i int) string
	at     func(i int, f *field) figure
}

func (m *Machine) parts() []part {
	return []part{
		{"lane", laneFields, len(m.Lanes), func(i int) string { return m.Lanes[i].ID }, m.atLane},
		{"channel", channelFields, len(m.Channels), func(i int) string { return m.Channels[i].ID }, m.atChannel},
		{"lift", liftFields, len(m.Lifts), func(i int) string { return m.Lifts[i].ID }, m.atLift},
	}
}

func (m *Machine) find(path string) (figure, error) {
	list, rest, inside := strings.Cut(path, ".")
	for _, p := range m.parts() {
		if list != p.what+"s" || !inside {
			continue
		}
		if i, key := longest(rest, p.n, p.id); i >= 0 {
			if f := byKey(p.fields, key); f != nil {
				return p.at(i, f), nil
			}
			return figure{}, unknown(p.what+"s."+p.id(i)+".", key, p.fields)
		}
		ids := make([]string, p.n)
		for i := range ids {
			ids[i] = p.id(i)
		}
		return figure{}, unknownID(p.what, rest, ids, p.fields)
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
		return Refuse(ErrInvalid, "%s is a %s; name a figure of it, such as %s", IDText(what+"s."+rest), what, IDText(what+"s."+rest+"."+exampleKey(fields)))
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

// exampleKey is that of a figure on which times depend, or the first.
func exampleKey(fields []field) string {
	for _, f := range fields {
		if channelDoubts[f.key] != uNone || laneDoubts[f.key] != uNone {
			return f.key
		}
	}
	return fields[0].key
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
