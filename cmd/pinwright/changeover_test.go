package main

import (
	"os"
	"strings"
	"testing"

	"pinwright/wheel/place/sheets"
)

// next is a pinning with pins of bar-c5 at 0 and 1 and of bar-e5 at 26: all that
// is on the wheel, 14 steps early.
func (f folder) next() string {
	return f.write("next.json", `{"format": "pinwright-pinning/1", "title": "Nine Knocks", "machine": "Hailstone", "tempo_bpm": 84,
		"pins": [{"channel": "bar-c5", "step": 0}, {"channel": "bar-c5", "step": 1}, {"channel": "bar-e5", "step": 26}]}`)
}

// Worked by hand: as it stands all three are pulled and all three driven; 14
// steps on, nothing is. 6 moves at 4 a minute are 1.5 minutes.
func TestChangeoverAnswersInJSON(t *testing.T) {
	f := newFolder(t)
	on := func(flags ...string) map[string]any {
		t.Helper()
		r := call(append([]string{"changeover", "-machine", f.file("machine.json"), "-from", f.file("pinning.json"), "-to", f.next(), "-json"}, flags...)...)
		if r.status != done || r.err != "" {
			t.Fatalf("%q: status %d, errors %q", flags, r.status, r.err)
		}
		return object(t, r.out)
	}
	plan := on("-rate", "4", "-start", "20")
	wantKeys(t, "the plan", plan, "machine", "from", "to", "rotation_steps", "exchanged", "kept", "pulls", "drives", "list", "stock", "minutes", "saved")
	for key, want := range map[string]any{
		"machine": "Hailstone", "from": "Mill Race", "to": "Nine Knocks", "rotation_steps": 0.0, "kept": 0.0, "pulls": 3.0, "drives": 3.0, "minutes": 1.5, "saved": 0.0,
	} {
		if plan[key] != want {
			t.Errorf("%s is %v, want %v", key, plan[key], want)
		}
	}
	wantKeys(t, "the stock", plan["stock"], "have", "needed", "short", "left")
	list := plan["list"].([]any)
	wantKeys(t, "a move", list[0], "step", "bar", "beat", "row", "channel", "do")
	var steps []float64
	for _, move := range list {
		steps = append(steps, move.(map[string]any)["step"].(float64))
	}
	for i, want := range []float64{26, 40, 0, 1, 14, 15} {
		if steps[i] != want {
			t.Errorf("the list goes by steps %v", steps)
			break
		}
	}
	plan = on("-rotate")
	if plan["rotation_steps"] != 14.0 || plan["kept"] != 3.0 || plan["saved"] != 6.0 || plan["minutes"] != nil || len(plan["list"].([]any)) != 0 {
		t.Errorf("with -rotate: %v", plan)
	}
}

func TestChangeoverExchangesRowsOfEqualKeys(t *testing.T) {
	f := newFolder(t)
	machine := f.edited("machine.json", `"keys": [76]`, `"keys": [72]`)
	next := f.write("next.json", `{"format": "pinwright-pinning/1", "title": "B", "machine": "Hailstone", "tempo_bpm": 84,
		"pins": [{"channel": "bar-e5", "step": 14}, {"channel": "bar-e5", "step": 15}, {"channel": "bar-c5", "step": 40}]}`)
	out := f.file("stands.json")
	r := call("changeover", "-machine", machine, "-from", f.file("pinning.json"), "-to", next, "-exchange", "-out", out, "-json")
	plan := object(t, r.out)
	if r.status != done || plan["kept"] != 3.0 || len(plan["exchanged"].([]any)) != 2 {
		t.Fatalf("status %d, errors %q, %v", r.status, r.err, plan)
	}
	wantKeys(t, "an exchange", plan["exchanged"].([]any)[0], "channel", "to")
	// What is written is what will stand, to be checked again.
	p, err := readPinning(out)
	if err != nil || len(p.Pins) != 3 || p.Pins[0].Channel != "bar-c5" || p.Pins[0].Step != 14 {
		t.Errorf("the pinning is %+v, %v", p, err)
	}
	if r := call("check", "-machine", machine, "-pinning", out); r.status == refused {
		t.Errorf("check says %q", r.err)
	}
}

func TestChangeoverReportsToPeopleAndWritesLists(t *testing.T) {
	f := newFolder(t)
	on := func(out string) told {
		return call("changeover", "-machine", f.file("machine.json"), "-from", f.file("pinning.json"), "-to", f.next(), "-out", out)
	}
	csv := f.file("work.csv")
	r := on(csv)
	want := `From Mill Race to Nine Knocks on Hailstone

3 pulls and 3 drives; 0 pins stay in place.
One turn from step 0, always forwards.
3 pins are needed. The machine's file does not say how many there are.
Have 2 loose pins at hand at the start. After that, use the pins that were pulled.
No rate of work is given, so there is no estimate of the time.

As the wheel turns:
  drive step 0, bar 1 beat 1, row 0, Bar C5
  drive step 1, bar 1 beat 1 +1/4, row 0, Bar C5
  pull  step 14, bar 1 beat 4 +1/2, row 0, Bar C5
  pull  step 15, bar 1 beat 4 +3/4, row 0, Bar C5
  drive step 26, bar 2 beat 3 +1/2, row 1, Bar <E5> & more
  pull  step 40, bar 3 beat 3, row 1, Bar <E5> & more

Written to ` + csv + "\n"
	if r.status != done || r.err != "" || r.out != want {
		t.Errorf("status %d, errors %q, it says\n%s\nwant\n%s", r.status, r.err, r.out, want)
	}
	if got := f.read("work.csv"); !strings.HasPrefix(got, "step,bar,beat,row,channel,do\r\n0,1,1,0,bar-c5,drive\r\n") || strings.Count(got, "\r\n") != 7 {
		t.Errorf("the file is %q", got)
	}
	if r := on(f.file("work.pdf")); r.status != done || !sheets.Ours([]byte(f.read("work.pdf"))) {
		t.Errorf("status %d, errors %q", r.status, r.err)
	}
}

func TestChangeoverRefusesInWordsAndLosesNothing(t *testing.T) {
	f := newFolder(t)
	machine, from, to := f.file("machine.json"), f.file("pinning.json"), f.next()
	const more = " (see pinwright changeover -h)"
	on := func(flags ...string) told {
		return call(append([]string{"changeover", "-machine", machine, "-from", from, "-to", to, "-json"}, flags...)...)
	}
	for _, rate := range []string{"0", "-4", "NaN", "inf", "fast", "1001"} {
		on("-rate", rate).refuses(t, `pinwright changeover: -rate is "`+rate+`"; a rate is a number of pins a minute from 0.001 to 1000`+more)
	}
	on("-start", "-1").refuses(t, `pinwright changeover: -start is "-1"; a step is a whole number from 0 up`+more)
	on("-start", "256").refuses(t, "pinwright changeover: the start is step 256; the wheel of Hailstone has steps 0 to 255"+more)
	on("-out", "plan.txt").refuses(t, `pinwright changeover: -out is "plan.txt"; its name should end in .pdf, .csv or .json`+more)
	on("-paper", "roll").refuses(t, "pinwright changeover: -paper is roll; a list takes A4 or A3"+more)
	on("-out", from).refuses(t, from+": it is the same file as "+from+", which would be lost; name another")
	f.write("notes.pdf", "Ring the smith on Monday.")
	on("-out", f.file("notes.pdf")).refuses(t, f.file("notes.pdf")+": it is there already and was not written by this command; name another file or folder, or replace it with -force")
	if f.read("notes.pdf") != "Ring the smith on Monday." {
		t.Error("it was replaced")
	}
	// Made for another wheel: all that does not fit is listed, file by file.
	other := f.write("other.json", `{"format": "pinwright-pinning/1", "title": "B", "machine": "Hailstone", "tempo_bpm": 84,
		"pins": [{"channel": "bar-c5", "step": 300}, {"channel": "gong", "step": 3}]}`)
	call("changeover", "-machine", machine, "-from", other, "-to", other, "-out", f.file("none.pdf")).refuses(t,
		other+": pins[0].step is 300; the wheel of Hailstone has steps 0 to 255",
		other+`: pins[1].channel is "gong", and Hailstone has no such channel`,
		other+": pins[0].step is 300; the wheel of Hailstone has steps 0 to 255",
		other+`: pins[1].channel is "gong", and Hailstone has no such channel`)
	if _, err := os.Stat(f.file("none.pdf")); err == nil {
		t.Error("a list was written")
	}
}
