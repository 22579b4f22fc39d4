package machines_test

import (
	"testing"

	"pinwright/web"
	"pinwright/web/webtest"
	"pinwright/wheel"
	"pinwright/wheel/demo"
	"pinwright/wheel/file"
)

func TestFilesThatCannotBeKeptAreRefusedInWords(t *testing.T) {
	a := webtest.StartDemo(t, web.New)
	a.SetSong(t, "Nine Knocks", nil)
	knocks, machine := demo.Songs()[2].Bytes, webtest.MachineFile(t, nil)
	pinning := webtest.PinningFile(t, &wheel.Pinning{Title: "Trial", Machine: "Hailstone", TempoBPM: 80})
	a.RefusesFile(t, "MIDI file as a machine", "/machines", knocks, 422, "the-file is a MIDI file; a machine file is JSON.")
	a.RefusesFile(t, "pinning as a machine", "/machines", pinning, 422, "the-file", "pinwright-machine/1")
	a.RefusesFile(t, "truncated machine", "/machines", machine[:len(machine)/2], 422, "the-file")
	a.RefusesFile(t, "empty machine", "/machines", nil, 422, "the-file")
	a.RefusesFile(t, "machine of the same name", "/machines", machine, 409, "Hailstone", "name")
	a.RefusesFile(t, "machine too large", "/machines", make([]byte, file.MaxBytes+1), 413, "the-file is larger than 8 MiB")
}
