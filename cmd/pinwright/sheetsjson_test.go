package main

import "testing"

// Programs read this JSON: its keys, their order and its numbers stay as they
// are. The texts are what the program printed when this was written. What can be
// followed by hand: once round is 2π × 590 mm = 3707.079 mm and 2π × 600 mm =
// 3769.911 mm; A4 has 210 × 297 mm (ISO 216). Without a distance from row to row
// there is no template.
func TestTheSheetsJSONStaysAsItIsToTheByte(t *testing.T) {
	f := newFolder(t)
	on := func(machine, out string, flags ...string) told {
		return call(append([]string{"sheets", "-machine", machine, "-pinning", f.file("pinning.json"), "-out", f.file(out), "-json"}, flags...)...)
	}
	on(f.pitched(), "roll", "-svg", "-paper", "roll", "-roll-width", "600").answers(t, done,
		`{"machine":"Hailstone","pinning":"Mill Race","pins":3,"paper":"roll","roll_width_mm":600,"radius":"surface","radius_mm":590,`+
			`"round_mm":3707.079331235956,"pages":2,"files":[`+
			`{"file":"template.pdf","pages":1,"width_mm":3855.079331235956,"height_mm":600},`+
			`{"file":"template.svg","pages":1,"width_mm":3855.079331235956,"height_mm":600},`+
			`{"file":"pins.pdf","pages":1,"width_mm":210,"height_mm":297},`+
			`{"file":"pins.svg","pages":1,"width_mm":210,"height_mm":297},`+
			`{"file":"pins.csv","pages":null,"width_mm":null,"height_mm":null}],"missing":[]}`)
	on(f.file("machine.json"), "list").answers(t, done,
		`{"machine":"Hailstone","pinning":"Mill Race","pins":3,"paper":"A4","roll_width_mm":null,"radius":"tips","radius_mm":600,`+
			`"round_mm":3769.9111843077517,"pages":1,"files":[`+
			`{"file":"pins.pdf","pages":1,"width_mm":210,"height_mm":297},`+
			`{"file":"pins.csv","pages":null,"width_mm":null,"height_mm":null}],`+
			`"missing":[{"file":"template.pdf","why":"wheel.row_pitch_mm is 0; a template needs the distance from row to row"}]}`)
}
