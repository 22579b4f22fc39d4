package pinnings_test

import (
	"fmt"
	"strings"
	"testing"

	"pinwright/web"
	"pinwright/web/webtest"
	"pinwright/wheel"
	"pinwright/wheel/demo"
)

func TestFilesThatCannotBeKeptAreRefusedInWords(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	a.SetSong(t, "Nine Knocks", nil)
	knocks, machine := demo.Songs()[2].Bytes, webtest.MachineFile(t, nil)
	on := func(pins ...wheel.Pin) []byte {
		return webtest.PinningFile(t, &wheel.Pinning{Title: "Trial", Machine: "Hailstone", TempoBPM: 80, Pins: pins})
	}
	a.RefusesFile(t, "machine as a pinning", "/pinnings", machine, 422, "the-file", "pinwright-pinning/1")
	a.RefusesFile(t, "MIDI file as a pinning", "/pinnings", knocks, 422, "the-file is a MIDI file; a pinning file is JSON.")
	a.RefusesFile(t, "empty pinning", "/pinnings", nil, 422, "the-file")
	a.RefusesFile(t, "pin on a channel the machine lacks", "/pinnings", on(wheel.Pin{Channel: "bar-q9", Step: 3}), 422, "the-file", "pins[0].channel", "bar-q9")
	a.RefusesFile(t, "step past the turn", "/pinnings", on(wheel.Pin{Channel: "bar-c5", Step: 256}), 422, "the-file", "pins[0].step", "256", "255")
	a.RefusesFile(t, "pin twice", "/pinnings", on(wheel.Pin{Channel: "bar-c5", Step: 3}, wheel.Pin{Channel: "bar-c5", Step: 3}), 422, "the-file", "pins[1]", "bar-c5")
}

// A pinning file names its machine, which need not be the one chosen.
func TestAPinningFileGoesToTheMachineThatItNames(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	graupel := webtest.MachineFile(t, func(m *wheel.Machine) { m.Name = "Graupel" })
	if status, page := a.Bring(t, "/machines", "graupel.json", graupel); status != 303 {
		t.Fatalf("%d: %s", status, webtest.Said(page))
	}
	for machine, want := range map[string]string{"Hailstone": "1 pin on Hailstone", "Graupel": "1 pin on Graupel", "": "1 pin on Graupel"} {
		status, to := a.Bring(t, "/pinnings", "p.json", webtest.PinningFile(t, &wheel.Pinning{Title: "Trial", Machine: machine, TempoBPM: 80, Pins: []wheel.Pin{{Channel: "bar-c5"}}}))
		if status != 303 {
			t.Fatalf("%q: %d %s", machine, status, webtest.Said(to))
		}
		status, page := a.Get(t, to)
		webtest.Expect(t, status, page, 200, want)
	}
}

// A name with U+202E, RIGHT-TO-LEFT OVERRIDE, would turn all that follows in
// its sentence (Unicode Standard Annex 9).
func TestANameDoesNotTurnTheSentenceAroundIt(t *testing.T) {
	a := webtest.Start(t, web.New)
	a.Bring(t, "/machines", "m.json", webtest.MachineFile(t, func(m *wheel.Machine) {
		for i := range m.Channels {
			m.Channels[i].Name = fmt.Sprintf("\u202eraB\u2067 %d", i)
		}
	}))
	_, to := a.Bring(t, "/pinnings", "p.json", webtest.PinningFile(t, &wheel.Pinning{Title: "Trial", TempoBPM: 180, Pins: []wheel.Pin{{Channel: "bar-c5", Step: 1}, {Channel: "bar-c5", Step: 2}}}))
	status, page := a.Get(t, to)
	webtest.Expect(t, status, page, 200, "raB 5, bar 1 beat 1", "the gate needs 140 ms")
	if strings.ContainsAny(page, "\u202e\u2067") {
		t.Error("the page turns its text")
	}
}

// A part of a page is asked for with HX-Request; nothing stands around it.
func TestPartsOfPagesStandAlone(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	pinning := a.SetSong(t, "Nine Knocks", nil)
	for _, c := range []struct {
		path string
		want int
		says string
	}{
		{pinning + "/verdict", 200, "Keep below"},
		{pinning + "/verdict?tempo=", 200, "Keep below"},
		{pinning + "/verdict?tempo=fast", 422, `The tempo is "fast"; it should be a number of beats per minute from 1 to 1000.`},
		{pinning + "/verdict?tempo=0", 422, `The tempo is "0"`},
		{"/pinnings/99/verdict", 404, "pinning"},
	} {
		status, part := a.Part(t, c.path)
		webtest.Expect(t, status, part, c.want, c.says)
		if strings.Contains(part, "<html") || strings.Contains(part, "<main") {
			t.Errorf("%s: a whole page", c.path)
		}
	}
}
