package main

import "testing"

// Programs read this JSON: its keys, their order and its numbers stay as they
// are. Worked by hand: as it stands all three pins are pulled and all three
// driven, 6 moves, 2 minutes at 3 a minute; 14 steps on, nothing
// is, and of the 3 pins that it needs 1 is missing. Where both bars have the same
// key, exchanging them leaves nothing to do.
func TestTheChangeoversJSONStaysAsItIsToTheByte(t *testing.T) {
	f := newFolder(t)
	exchanged := f.write("exchanged.json", `{"format": "pinwright-pinning/1", "title": "B", "machine": "Hailstone", "tempo_bpm": 84,
		"pins": [{"channel": "bar-e5", "step": 14}, {"channel": "bar-e5", "step": 15}, {"channel": "bar-c5", "step": 40}]}`)
	on := func(machine, to string, flags ...string) told {
		return call(append([]string{"changeover", "-machine", machine, "-from", f.file("pinning.json"), "-to", to, "-json"}, flags...)...)
	}
	plain := `{"machine":"Hailstone","from":"Mill Race","to":"Nine Knocks","rotation_steps":0,"exchanged":[],"kept":0,"pulls":3,"drives":3,` +
		`"list":[{"step":26,"bar":2,"beat":3.5,"row":1,"channel":"bar-e5","do":"drive"},` +
		`{"step":40,"bar":3,"beat":3,"row":1,"channel":"bar-e5","do":"pull"},` +
		`{"step":0,"bar":1,"beat":1,"row":0,"channel":"bar-c5","do":"drive"},` +
		`{"step":1,"bar":1,"beat":1.25,"row":0,"channel":"bar-c5","do":"drive"},` +
		`{"step":14,"bar":1,"beat":4.5,"row":0,"channel":"bar-c5","do":"pull"},` +
		`{"step":15,"bar":1,"beat":4.75,"row":0,"channel":"bar-c5","do":"pull"}],` +
		`"stock":{"have":null,"needed":3,"short":null,"left":null},`
	on(f.file("machine.json"), f.next(), "-start", "20").answers(t, done, plain+`"minutes":null,"saved":0}`)
	on(f.file("machine.json"), f.next(), "-start", "20", "-rate", "3").answers(t, done, plain+`"minutes":2,"saved":0}`)
	on(f.edited("machine.json", `"steps": 256`, `"pin_stock": 2, "steps": 256`), f.next(), "-rotate").answers(t, done,
		`{"machine":"Hailstone","from":"Mill Race","to":"Nine Knocks","rotation_steps":14,"exchanged":[],"kept":3,"pulls":0,"drives":0,"list":[],`+
			`"stock":{"have":2,"needed":3,"short":1,"left":0},"minutes":null,"saved":6}`)
	on(f.edited("machine.json", `"keys": [76]`, `"keys": [72]`), exchanged, "-exchange", "-rate", "4").answers(t, done,
		`{"machine":"Hailstone","from":"Mill Race","to":"B","rotation_steps":0,`+
			`"exchanged":[{"channel":"bar-c5","to":"bar-e5"},{"channel":"bar-e5","to":"bar-c5"}],"kept":3,"pulls":0,"drives":0,"list":[],`+
			`"stock":{"have":null,"needed":3,"short":null,"left":null},"minutes":0,"saved":6}`)
}
