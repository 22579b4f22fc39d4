package file_test

import (
	"pinwright/wheel/file"
	"pinwright/wheel/file/filetest"
	"strconv"
	"strings"
	"testing"
)

// Every number of a machine file that is not what it can be is refused by
// itself, at its place, in a sentence that says what it can be.
func readMachine(text string) error {
	_, err := file.ReadMachine([]byte(text))
	return err
}

func readPinning(text string) error {
	_, err := file.ReadPinning([]byte(text))
	return err
}

func TestNegativeNumberIsRefusedWhereItStands(t *testing.T) {
	const (
		length = "; a length cannot be negative"
		time   = "; a time cannot be negative"
		speed  = "; a speed cannot be negative"
		count  = "; a count cannot be negative"
		atOnce = "; a count is at least 1"
	)
	says := map[string]string{
		"marble.diameter_mm":              length,
		"marble.clearance_mm":             length,
		"marble.density_kg_m3":            "; a density cannot be negative",
		"marble.stock":                    count,
		"wheel.radius_mm":                 length,
		"wheel.surface_radius_mm":         length,
		"wheel.steps":                     atOnce,
		"wheel.steps_per_beat":            atOnce,
		"wheel.beats_per_bar":             atOnce,
		"wheel.first_row_mm":              length,
		"wheel.row_pitch_mm":              length,
		"wheel.pin_diameter_mm":           length,
		"wheel.pin_stock":                 count,
		"wheel.pin_sd_mm":                 length,
		"wheel.crank_turns":               "; a gear ratio cannot be negative",
		"wheel.crank_marks":               count,
		"wheel.inertia_kg_m2":             "; a moment of inertia cannot be negative",
		"lanes[0].length_mm":              length,
		"lanes[0].keep":                   "; a fraction of speed kept cannot be negative",
		"lanes[1].length_mm":              length,
		"lanes[1].bore_mm":                length,
		"lanes[2].length_mm":              length,
		"lanes[2].slope_deg":              "", // it may lead up
		"lanes[2].rail_gap_mm":            length,
		"lanes[2].rolling":                "; a rolling resistance cannot be negative",
		"lanes[2].keep":                   "; a fraction of speed kept cannot be negative",
		"lanes[3].length_mm":              length,
		"lanes[3].slope_deg":              "", // it may lead up
		"lanes[3].clear_gap_mm":           length,
		"lanes[3].rod_mm":                 length,
		"lanes[3].friction":               "; a coefficient of friction cannot be negative",
		"lanes[3].keep":                   "; a fraction of speed kept cannot be negative",
		"lanes[4].length_mm":              length,
		"lanes[4].slope_deg":              "", // it may lead up
		"lanes[4].keep":                   "; a fraction of speed kept cannot be negative",
		"channels[0].row":                 "; a row cannot be negative",
		"channels[0].keys[0]":             "; a MIDI note number is 0 to 127",
		"channels[0].keys[1]":             "; a MIDI note number is 0 to 127",
		"channels[0].ring_s":              time,
		"channels[0].mic_mm":              length,
		"channels[0].trip.reach_mm":       length,
		"channels[0].trip.hold_mm":        length,
		"channels[0].trip.return_ms":      time,
		"channels[0].trip.latch_ms":       time,
		"channels[0].trip.jitter_ms":      time,
		"channels[0].trip.push_n":         "; a force cannot be negative",
		"channels[0].trip.push_ns":        "; a blow cannot be negative",
		"channels[0].gate.reload_ms":      time,
		"channels[0].gate.reload_sd_ms":   time,
		"channels[0].gate.feed_slope_deg": "; a feed's slope cannot be negative",
		"channels[0].gate.rolling":        "; a rolling resistance cannot be negative",
		"channels[0].gate.release_mm_s":   speed,
		"channels[0].strike.clear_ms":     time,
		"channels[0].strike.restitution":  "; a coefficient of restitution cannot be negative",
		"channels[0].exit_mm_s":           speed,
		"channels[0].queue.holds":         count,
		"channels[0].queue.least":         count,
		"channels[0].queue.most":          count,
		"channels[0].queue.start":         count,
		"channels[0].queue.slope_deg":     "; a slope cannot be negative",
		"channels[0].queue.force_min_n":   "; a force cannot be negative",
		"channels[0].queue.force_max_n":   "; a force cannot be negative",
		"channels[1].row":                 "; a row cannot be negative",
		"channels[1].trip.reach_mm":       length,
		"channels[1].trip.hold_mm":        length,
		"channels[1].trip.return_ms":      time,
		"channels[1].trip.latch_ms":       time,
		"channels[1].least_hold_ms":       time,
		"channels[1].least_rest_ms":       time,
		"lifts[0].pockets_per_turn":       "; a number of pockets cannot be negative",
		"lifts[0].carry_ms":               time,
		"lifts[1].marbles_per_s":          "; a rate cannot be negative",
		"lifts[1].carry_ms":               time,
		"frame.hz":                        "; a frequency cannot be negative",
		"frame.hz_u":                      "; a doubt cannot be negative",
		"frame.damping":                   "; a damping ratio cannot be negative",
		"measured[0].n":                   count,
		"measured[0].sd":                  "; a spread cannot be negative",
		"measured[0].u":                   "; a doubt cannot be negative",
		"limits.tempo_min_bpm":            "; a tempo is at least 1",
		"limits.tempo_max_bpm":            "; a tempo is at least 1",
		"limits.house_bpm":                "; a tempo is at least 1",
		"limits.flam_ms":                  time,
		"limits.trips_at_once":            count,
		"limits.wander":                   "; a fraction cannot be negative",
		"limits.ripple":                   "; a fraction cannot be negative",
		"limits.spoilt_per_turn":          "; a number cannot be negative",
		"limits.jams_per_turn":            "; a number cannot be negative",
		"limits.unmeasured_u":             "; a fraction cannot be negative",
	}
	text := filetest.Example(t, "every-key.json")
	for _, s := range filetest.Spans(t, text) {
		if s.Kind != '0' {
			continue
		}
		want, listed := says[s.Place]
		delete(says, s.Place)
		switch err := readMachine(s.With(text, "-5")); {
		case !listed:
			t.Errorf("%s is not in the table", s.Place)
		case want == "":
			filetest.WantProblems(t, err)
		default:
			filetest.WantProblems(t, err, s.Place+" is −5"+want)
		}
	}
	for place := range says {
		t.Errorf("%s is not in the file", place)
	}
}

// Every value of the files, put in the place of another, is refused there and
// nothing that follows from it is.
func TestWrongKindOfValueIsRefusedWhereItStands(t *testing.T) {
	right := map[byte]string{
		'{': "an object in braces", '[': "a list in square brackets", '"': "text in quotes", '0': "a number", 't': "true or false",
	}
	wrong := []struct {
		kind        byte
		value, says string
	}{
		{'{', "{}", "an object"}, {'[', "[]", "a list"}, {'"', `"4.5"`, `"4.5"`}, {'0', "-4.5", "−4.5"}, {'t', "true", "true"},
		{'n', "null", "null"},
	}
	for name, read := range map[string]func(string) error{
		"every-key.json": readMachine, filetest.MachineFile: readMachine, filetest.PinningFile: readPinning,
	} {
		text := filetest.Example(t, name)
		for _, s := range filetest.Spans(t, text) {
			for _, w := range wrong {
				if s.Kind == w.kind {
					continue
				}
				place := s.Place
				if place == "" {
					place = "the file"
				}
				t.Run(name+"/"+place+"="+w.value, func(t *testing.T) {
					filetest.WantProblems(t, read(s.With(text, w.value)), place+" is "+w.says+"; it should be "+right[s.Kind])
				})
			}
		}
	}
}

// 1e400 is larger than any float64 (IEEE 754: up to about 1.8e308).
func TestNumberOutOfFloatingPointIsRefused(t *testing.T) {
	for name, read := range map[string]func(string) error{"every-key.json": readMachine, filetest.PinningFile: readPinning} {
		text := filetest.Example(t, name)
		for _, s := range filetest.Spans(t, text) {
			if s.Kind != '0' {
				continue
			}
			filetest.WantProblems(t, read(s.With(text, "1e400")), s.Place+" is 1e400; it should be a number of ordinary size")
			filetest.WantProblems(t, read(s.With(text, "-1e400")), s.Place+" is −1e400; it should be a number of ordinary size")
		}
	}
}

func TestEveryUnknownKeyIsNamed(t *testing.T) {
	for name, read := range map[string]func(string) error{"every-key.json": readMachine, filetest.PinningFile: readPinning} {
		text := filetest.Example(t, name)
		for _, s := range filetest.Spans(t, text) {
			if s.Kind != '{' || s.Place == "advance" {
				continue
			}
			bad := text[:s.Start+1] + `"colour": {"deep": [1, {}]}, ` + text[s.Start+1:]
			filetest.WantProblems(t, read(bad), strings.TrimPrefix(s.Place+".colour", ".")+" is not a key this file can have")
		}
	}
}

func TestEveryDoubledKeyIsNamed(t *testing.T) {
	for name, read := range map[string]func(string) error{"every-key.json": readMachine, filetest.PinningFile: readPinning} {
		text := filetest.Example(t, name)
		for _, s := range filetest.Spans(t, text) {
			if s.Place == "" || strings.HasSuffix(s.Place, "]") {
				continue
			}
			key := s.Place[strings.LastIndexByte(s.Place, '.')+1:]
			bad := text[:s.End] + ", " + strconv.Quote(key) + ": " + text[s.Start:s.End] + text[s.End:]
			filetest.WantProblems(t, read(bad), s.Place+" stands twice; keep one of them")
		}
	}
}

func TestMachineFileIsRefused(t *testing.T) {
	for _, c := range []struct{ name, old, new, want string }{
		{"unknown key near a known one", `"reload_ms"`, `"relaod_ms"`,
			`channels[0].gate.relaod_ms is not a key this file can have; did you mean reload_ms?`},
		{"key in another case", `"stock": 900`, `"Stock": 900`,
			`marble.Stock is not a key this file can have; did you mean stock?`},
		{"odd key", `"stock": 900`, `"a\nb": 900`, `marble."a\nb" is not a key this file can have`},
		{"empty key", `"stock": 900`, `"": 900`, `marble."" is not a key this file can have`},
		{"another format", `machine/1`, `machine/2`,
			`format is "pinwright-machine/2"; a machine file has "pinwright-machine/1"`},
		{"no format", `"format": "pinwright-machine/1",`, ``, `format is missing; it cannot be empty`},
		{"no name", `"Hailstone"`, `" "`, `name is missing; it cannot be empty`},
		{"name of two lines", `"Hailstone"`, `"Hail\nstone"`, `name has control characters; only text can stand here`},
		{"name out of all proportion", `"Hailstone"`, `"` + strings.Repeat("é", 201) + `"`, `name has 201 characters; 200 at most`},
		{"note that rings", `"marble"`, `"note": "\u0007", "marble"`, `note has control characters; only text can stand here`},
		{"not whole", `"steps": 256`, `"steps": 256.5`, `wheel.steps is 256.5; it should be a whole number below a thousand million`},
		{"whole and far too large", `"stock": 900`, `"stock": 1e10`, `marble.stock is 1e10; it should be a whole number below a thousand million`},
		{"too large", `"radius_mm": 600`, `"radius_mm": 1e7`, `wheel.radius_mm is 10000000; a length is at most 1000000`},
		{"too long", `"latch_ms": 18`, `"latch_ms": 600001`, `channels[0].trip.latch_ms is 600001; a time is at most 600000`},
		{"too many steps", `"steps": 256`, `"steps": 65537`, `wheel.steps is 65537; a count is at most 65536`},
		{"no steps", `"steps": 256, `, ``, `wheel.steps is 0; a count is at least 1`},
		{"no radius", `"radius_mm": 600`, `"radius_mm": 0`, `wheel.radius_mm is 0; it has to be a length above 0`},
		{"lane without length", `"length_mm": 240`, `"length_mm": 0`, `lanes[0].length_mm is 0; it has to be a length above 0`},
		{"kind of lane", `"fall"`, `"slide"`, `lanes[0].kind is "slide"; it should be "fall" or "ramp"`},
		{"no kind of lane", `"kind": "fall", `, ``, `lanes[0].kind is ""; it should be "fall" or "ramp"`},
		{"steeper than upright", `"slope_deg": 11`, `"slope_deg": 91`, `lanes[1].slope_deg is 91; a slope is at most 90`},
		{"steeper than upright, upwards", `"slope_deg": 11`, `"slope_deg": -90.5`, `lanes[1].slope_deg is −90.5; a slope is at least −90`},
		{"marble falls between the rails", `"rail_gap_mm": 7`, `"rail_gap_mm": 12`,
			`lanes[1].rail_gap_mm is 12; a marble of 12 mm would fall through, so it has to be smaller`},
		{"more speed kept than there was", `"keep": 0.6`, `"keep": 1.1`, `lanes[1].keep is 1.1; a fraction of speed kept is at most 1`},
		{"two lanes with one id", `"id": "chute"`, `"id": "drop-high"`,
			`lanes[1].id is "drop-high", which lanes[0] is called already; every lane needs an id of its own` + "\n" +
				`channels[0].exit[0] is "chute", and no lane has that id`},
		{"id with a space", `"bar-c5"`, `"bar c5"`, `channels[0].id is "bar c5"; an id has no spaces`},
		{"id out of all proportion", `"bar-c5"`, `"` + strings.Repeat("x", 65) + `"`, `channels[0].id has 65 bytes; an id has 64 at most`},
		{"no id", `"id": "bar-c5", `, ``, `channels[0].id is missing; it cannot be empty`},
		{"kind of channel", `"kind": "bar"`, `"kind": "gong"`,
			`channels[0].kind is "gong"; it should be one of bar, tube, bell, block, drum, string, other`},
		{"service", `"playing"`, `"broken"`, `channels[0].service is "broken"; it should be "playing" or "resting"`},
		{"key that MIDI has not", `[72]`, `[72, 128]`, `channels[0].keys[1] is 128; a MIDI note number is 0 to 127`},
		{"key twice", `[72]`, `[72, 71, 72]`, `channels[0].keys[2] is 72, which this channel has already`},
		{"lane that is not there", `["drop-high"]`, `["drop-low"]`, `channels[0].path[0] is "drop-low", and no lane has that id`},
		{"lane twice on a path", `["drop-high"]`, `["drop-high", "drop-high"]`,
			`channels[0].path[1] is "drop-high", which channels[0].path[0] is already; a route takes a lane once`},
		{"lane on path and exit", `["chute"]`, `["chute", "drop-high"]`,
			`channels[0].exit[1] is "drop-high", which channels[0].path[0] is already; a route takes a lane once`},
		{"long wrong word", `"cascade"`, `"` + strings.Repeat("w", 1000) + `"`,
			`lift.share is "` + strings.Repeat("w", 40) + `…"; it should be "cascade", "neediest" or "even"`},
		{"gate that never turns", `"least": 4`, `"least": 21`, `channels[0].queue.least is 21, more than most, 20; the gate would never turn`},
		{"lift of no drive", `"drive": "wheel"`, `"drive": "horse"`, `lift.drive is "horse"; it should be "wheel" or "motor"`},
		{"wheel-driven lift without pockets", `"pockets_per_turn": 480, `, ``,
			`lift.pockets_per_turn is missing; a lift driven by the wheel needs it`},
		{"motor lift without rate", `"drive": "wheel"`, `"drive": "motor"`, `lift.marbles_per_s is missing; a lift driven by a motor needs it`},
		{"sharing", `"cascade"`, `"fairly"`, `lift.share is "fairly"; it should be "cascade", "neediest" or "even"`},
		{"tempos the wrong way round", `"tempo_max_bpm": 180`, `"tempo_max_bpm": 30`,
			`limits.tempo_max_bpm is 30; it has to be above tempo_min_bpm, 30`},
		{"wander", `"wander": 0.02`, `"wander": 2`, `limits.wander is 2; a fraction is at most 0.5`},
	} {
		t.Run(c.name, func(t *testing.T) {
			filetest.WantProblems(t, readMachine(filetest.Edit(t, filetest.Example(t, filetest.MachineFile), c.old, c.new)), strings.Split(c.want, "\n")...)
		})
	}
}

func TestChannelsOnOneRowOrWithOneIDAreRefused(t *testing.T) {
	text := filetest.Edit(t, filetest.Example(t, filetest.MachineFile), `"channels": [`, `"channels": [
		{"id": "bar-d5", "name": "Bar D5", "row": 0, "kind": "bar"}, {"id": "bar-c5", "name": "Bar E5", "row": 1, "kind": "bar"},`)
	filetest.WantProblems(t, readMachine(text),
		`channels[2].id is "bar-c5", which channels[1] is called already; every channel needs an id of its own`,
		`channels[2].row is 0, the row of channels[0] (bar-d5) already; every channel needs a row of its own`)
}

func TestMachineNeedsAChannel(t *testing.T) {
	const says = "channels is empty; a machine has at least one channel"
	text := filetest.Example(t, filetest.MachineFile)
	for _, s := range filetest.Spans(t, text) {
		if s.Place == "channels" {
			filetest.WantProblems(t, readMachine(s.With(text, "[]")), says)
			filetest.WantProblems(t, readMachine(text[:s.Start-len(`"channels": `)]+text[s.End+1:]), says)
		}
	}
}

func TestPinningFileIsRefused(t *testing.T) {
	const pin = `{"channel": "bar-c5", "step": 14, "aim": 16}`
	for _, c := range []struct{ name, old, new, want string }{
		{"pin twice", pin, pin + `, {"channel": "bar-d5", "step": 14}, {"channel": "bar-c5", "step": 14}`,
			`pins[2] is at step 14 of bar-c5, where pins[0] is already; a hole takes one pin`},
		{"negative step", `"step": 14`, `"step": -1`, `pins[0].step is −1; steps count from 0`},
		{"step that is not whole", `"step": 14`, `"step": 14.5`, `pins[0].step is 14.5; it should be a whole number below a thousand million`},
		{"pin of no channel", `"channel": "bar-c5", `, ``, `pins[0].channel is missing; it cannot be empty`},
		{"aim far off any wheel", `"aim": 16`, `"aim": 262145`, `pins[0].aim is 262145; it should be a step of the wheel`},
		{"unknown key of a pin", `"aim"`, `"aims"`, `pins[0].aims is not a key this file can have; did you mean aim?`},
		{"advance past any wheel", `{"bar-c5": 2}`, `{"bar-c5": 65537}`, `advance.bar-c5 is 65537; an advance is −65536 to 65536 steps`},
		{"advance that is not whole", `{"bar-c5": 2}`, `{"bar-c5": 0.5}`, `advance.bar-c5 is 0.5; it should be a whole number below a thousand million`},
		{"advance of an odd id", `{"bar-c5": 2}`, `{"bar c5": "2"}`, `advance."bar c5" is "2"; it should be a number`},
		{"another format", `pinning/1`, `machine/1`, `format is "pinwright-machine/1"; a pinning file has "pinwright-pinning/1"`},
		{"no title", `"title": "Mill Race", `, ``, `title is missing; it cannot be empty`},
		{"title of two lines", `"Mill Race"`, `"Mill\r\nRace"`, `title has control characters; only text can stand here`},
		{"tempo below all", `"tempo_bpm": 84`, `"tempo_bpm": 0.5`, `tempo_bpm is 0.5; a tempo is at least 1`},
		{"tempo above all", `"tempo_bpm": 84`, `"tempo_bpm": 1001`, `tempo_bpm is 1001; a tempo is at most 1000`},
		{"bars of no beats", `"tempo_bpm": 84`, `"tempo_bpm": 84, "beats_per_bar": 0`, `beats_per_bar is 0; it should be a whole number of at least 1, or left out`},
		{"bars of fewer than none", `"tempo_bpm": 84`, `"tempo_bpm": 84, "beats_per_bar": -3`, `beats_per_bar is −3; a count is at least 1`},
		{"bars past any music", `"tempo_bpm": 84`, `"tempo_bpm": 84, "beats_per_bar": 65`, `beats_per_bar is 65; a count is at most 64`},
		{"bars of part of a beat", `"tempo_bpm": 84`, `"tempo_bpm": 84, "beats_per_bar": 3.5`, `beats_per_bar is 3.5; it should be a whole number below a thousand million`},
		{"beats of too many steps", `"tempo_bpm": 84`, `"tempo_bpm": 84, "steps_per_beat": 97`, `steps_per_beat is 97; a count is at most 96`},
		{"negative tempo", `"tempo_bpm": 84`, `"tempo_bpm": -84`, `tempo_bpm is −84; a tempo is at least 1`},
	} {
		t.Run(c.name, func(t *testing.T) {
			filetest.WantProblems(t, readPinning(filetest.Edit(t, filetest.Example(t, filetest.PinningFile), c.old, c.new)), c.want)
		})
	}
}

// Of the two kinds of file one is easily taken for the other. All else in it
// is then out of place, and not worth a line.
func TestFileOfTheOtherKindIsRefusedInOneSentence(t *testing.T) {
	filetest.WantProblems(t, readMachine(filetest.Example(t, filetest.PinningFile)), `format is "pinwright-pinning/1"; a machine file has "pinwright-machine/1"`)
	filetest.WantProblems(t, readPinning(filetest.Example(t, filetest.MachineFile)), `format is "pinwright-machine/1"; a pinning file has "pinwright-pinning/1"`)
	filetest.WantProblems(t, readPinning(`{"format": "pinwright-machine/1", "format": "pinwright-machine/1", "title": "x"}`), `format stands twice; keep one of them`)
}

func TestAllProblemsAreListedAtOnce(t *testing.T) {
	text := filetest.Example(t, filetest.MachineFile)
	for _, e := range [][2]string{
		{`"name": "Hailstone"`, `"name": 7`},
		{`"reload_ms": 140`, `"reload_ms": -5`},
		{`"radius_mm": 600`, `"radius_mn": 600`},
		{`"length_mm": 240`, `"length_mm": "240"`},
		{`"drop-high"],`, `"drop-low"],`},
		{`"tempo_min_bpm": 30`, `"tempo_min_bpm": "30"`},
		{`"tempo_max_bpm": 180`, `"tempo_max_bpm": 20`},
	} {
		text = filetest.Edit(t, text, e[0], e[1])
	}
	filetest.WantProblems(t, readMachine(text),
		`name is 7; it should be text in quotes`,
		`wheel.radius_mn is not a key this file can have; did you mean radius_mm?`,
		`lanes[0].length_mm is "240"; it should be a number`,
		`limits.tempo_min_bpm is "30"; it should be a number`,
		`wheel.radius_mm is 0; it has to be a length above 0`,
		`channels[0].gate.reload_ms is −5; a time cannot be negative`,
		`channels[0].path[0] is "drop-low", and no lane has that id`)
}

// What could not be read is no ground for saying more: neither that a lane is
// not there, nor that a row is taken.
func TestWhatWasNotReadHasNoConsequences(t *testing.T) {
	text := filetest.Edit(t, filetest.Example(t, filetest.MachineFile), `"channels": [`, `"channels": [
		{"id": 5, "name": "A", "row": "0", "kind": "bar"}, {"id": 6, "name": "B", "row": null, "kind": "bar"},`)
	text = filetest.Edit(t, text, `"id": "drop-high"`, `"id": 7`)
	text = filetest.Edit(t, text, `"diameter_mm": 12`, `"diameter_mm": "12"`)
	filetest.WantProblems(t, readMachine(text),
		`marble.diameter_mm is "12"; it should be a number`,
		`lanes[0].id is 7; it should be text in quotes`,
		`channels[0].id is 5; it should be text in quotes`,
		`channels[0].row is "0"; it should be a number`,
		`channels[1].id is 6; it should be text in quotes`,
		`channels[1].row is null; it should be a number`)

	text = filetest.Edit(t, filetest.Example(t, filetest.PinningFile), `"pins": [`, `"pins": [{"channel": "a", "step": null}, {"channel": "a", "step": "0"}, {"channel": "a"},`)
	filetest.WantProblems(t, readPinning(text),
		`pins[0].step is null; it should be a number`,
		`pins[1].step is "0"; it should be a number`)
}

func TestListOfProblemsHasAnEnd(t *testing.T) {
	for name, text := range map[string]string{
		"unread":  `{` + strings.Repeat(`"x": 0, `, 500) + `"pins": []}`,
		"wrong":   `{"format": "pinwright-pinning/1", "title": "x", "pins": [` + strings.Repeat(`{},`, 500) + `{}]}`,
		"of both": `{` + strings.Repeat(`"x": 0, `, 98) + `"format": "pinwright-pinning/1", "pins": [{}, {}]}`,
	} {
		t.Run(name, func(t *testing.T) {
			problems := filetest.ProblemsOf(t, readPinning(text))
			if n := len(problems); n != 101 {
				t.Fatalf("%d lines", n)
			}
			if got, want := problems[100].String(), "these are the first 100 problems; there are more"; got != want {
				t.Errorf("the last line is %q, want %q", got, want)
			}
		})
	}
	exactly := `{` + strings.Repeat(`"x": 0, `, 98) + `"format": "pinwright-pinning/1", "pins": [{}]}`
	if n := len(filetest.ProblemsOf(t, readPinning(exactly))); n != 100 {
		t.Errorf("%d lines of 100 problems", n)
	}
}
