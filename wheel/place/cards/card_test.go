package cards

import (
	"bytes"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
	"pinwright/wheel/place/paper"
	"pinwright/wheel/place/placetest"
)

// upTo is a window whose top is the red line: no margin is kept. The bare limit
// is far above, and bears on nothing.
func upTo(bpm float64) wheel.TempoWindow { return redLine(bpm, bpm) }

func redLine(bpm, topBPM float64) wheel.TempoWindow {
	return wheel.TempoWindow{RedLineBPM: bpm, KeepBelowBPM: bpm, TopBPM: topBPM, MaxSafeBPM: 900}
}

func mustCard(t testing.TB, o Options) *paper.Document {
	t.Helper()
	m := placetest.Machine(256, 60)
	m.Wheel.CrankTurns = 8
	s, err := CrankCard(m, o)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// ISO 216:2007 gives A5 as 148 mm × 210 mm and A6 as 105 mm × 148 mm; a point is
// 1/72 inch, 25.4/72 mm.
func TestCrankCardIsOnePageOfItsPaper(t *testing.T) {
	for on, want := range map[paper.Paper]paper.Size{paper.A5: {W: 148, H: 210}, paper.A6: {W: 105, H: 148}} {
		s := mustCard(t, Options{Paper: on, Song: "Mill Race", TempoBPM: 52, Window: upTo(90), Date: placetest.Day})
		info := placetest.Tool(t, s, "pdfinfo")
		found := regexp.MustCompile(`Page size: +([0-9.]+) x ([0-9.]+) pts`).FindStringSubmatch(info)
		if found == nil || !strings.Contains(info, "Pages:           1\n") {
			t.Fatalf("%s: pdfinfo says\n%s", on, info)
		}
		for i, side := range []float64{want.W, want.H} {
			pt, err := strconv.ParseFloat(found[i+1], 64)
			if err != nil || math.Abs(pt*25.4/72-side) > 0.1 {
				t.Errorf("%s: a side is %s pt, want %g mm", on, found[i+1], side)
			}
		}
	}
}

// 256 steps at 4 to the beat and 8 turns of the crank are 8 beats a turn: 52 BPM
// are 6.5 turns a minute, one in 9.23 s, which is 9.3 on the safe side; 90.9 BPM
// are 11.3625, told as 11.3, one in 5.28 s, told as 5.3 (worked by hand).
func TestCrankCardSaysHowFastInTheCranksOwnUnits(t *testing.T) {
	s := mustCard(t, Options{Paper: paper.A6, Song: "Mill Race", TempoBPM: 52, Window: upTo(90.9), Call: "The workshop, 12", Date: placetest.Day})
	text := strings.Join(strings.Fields(placetest.Tool(t, s, "pdftotext", "-layout")), " ")
	for _, want := range []string{
		"Mill Race", "Turn the crank", "6.5", "times a minute", "once every 9.3 seconds", "52 beats a minute",
		"Never faster than 11.3 turns a minute", "one turn of the crank in 5.3 seconds, 90.9 beats a minute",
		"Stop turning", "The workshop, 12", "Local rules", "Hailstone", "2026-11-25",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("pdftotext does not read %q in\n%s", want, text)
		}
	}
	if strings.Contains(text, "…") {
		t.Errorf("something was cut: %s", text)
	}
}

// Where the file has no crank_turns, turns are the wheel's: 64 beats at 52 BPM
// take 73.85 s and there are 0.8125 in a minute (worked by hand).
func TestCrankCardCountsTheWheelWhereTheCrankIsNotGeared(t *testing.T) {
	s, err := CrankCard(placetest.Machine(256, 60), Options{Paper: paper.A5, Song: "Mill Race", TempoBPM: 52, Window: upTo(90), Date: placetest.Day})
	if err != nil {
		t.Fatal(err)
	}
	d := placetest.ReadPage(t, s, 1)
	for _, want := range []string{"Turn the wheel", "0.81", "once every 73.9 seconds"} {
		if !d.Says(want) {
			t.Errorf("the card does not say %q", want)
		}
	}
}

// Whatever it is told, all of a card stands on its paper.
func TestCrankCardStaysOnItsPaper(t *testing.T) {
	for _, on := range []paper.Paper{paper.A5, paper.A6} {
		for _, song := range []string{"Mill Race", strings.Repeat("Wide Waters ", 20), strings.Repeat("W", 200), "水車"} {
			s := mustCard(t, Options{Paper: on, Song: song, TempoBPM: 1, Window: upTo(1000), Call: string([]rune(song)[:min(len([]rune(song)), 60)]), Date: placetest.Day})
			d := placetest.ReadPage(t, s, 1)
			for _, text := range d.Texts {
				f := paper.Font{Bold: text.Bold, Pt: text.MM / paper.MMPerPoint}
				if text.X < 5 || text.X+f.Width(text.Text) > d.Width-5 || text.Y > d.Height-5 {
					t.Errorf("%s: %q at %.1f, %.1f is beyond the paper's free edge", on, text.Text, text.X, text.Y)
				}
			}
			for _, l := range d.Lines {
				if min(l.X1, l.X2, l.Y1, l.Y2) < 5 || max(l.X1, l.X2) > d.Width-5 || max(l.Y1, l.Y2) > d.Height-5 {
					t.Errorf("%s: a line %+v is beyond the paper's free edge", on, l)
				}
			}
		}
	}
}

func TestCrankCardRefusesWhatIsNotSafe(t *testing.T) {
	m := placetest.Machine(256, 60)
	for _, c := range []struct {
		o    Options
		says string
	}{
		{Options{Paper: paper.A4, TempoBPM: 50, Window: upTo(90)}, `the paper is "A4"; a crank card is made on A5 or A6`},
		{Options{Paper: paper.A5, TempoBPM: 0, Window: upTo(90)}, "the tempo is 0 BPM; it should be 1 to 1000"},
		{Options{Paper: paper.A5, TempoBPM: math.NaN(), Window: upTo(90)}, "the tempo is NaN BPM"},
		{Options{Paper: paper.A5, TempoBPM: 50}, "there is no safe tempo, so nobody can be asked"},
		{Options{Paper: paper.A5, TempoBPM: 91, Window: upTo(90)}, "the tempo, 91 BPM, is above the red line at 90 BPM; nobody is asked to turn faster than the machine can be trusted"},
		{Options{Paper: paper.A5, TempoBPM: 111.15, Window: upTo(111.1111111111111)}, "the tempo, 111.2 BPM, is above the red line at 111.1 BPM"},
		{Options{Paper: paper.A5, TempoBPM: 86, Window: redLine(90, 81)}, "the tempo, 86 BPM, is within the margin: visitors are asked to turn 81 BPM at most, and the red line is at 90 BPM"},
		{Options{Paper: paper.A5, TempoBPM: 50, Window: redLine(90, 0)}, "the margin leaves no tempo below the red line at 90 BPM"},
		{Options{Paper: paper.A5, TempoBPM: 50, Window: redLine(0, 0)}, "no tempo can be trusted, so nobody can be asked to turn this song"},
		{Options{Paper: paper.A5, TempoBPM: 50, Window: wheel.TempoWindow{Unknown: true, Fastest: "Measure first: the reload of Bar C5 is unknown."}}, "nobody can be asked to turn this song yet. Measure first: the reload of Bar C5 is unknown"},
		{Options{Paper: paper.A5, TempoBPM: 50, Window: upTo(90), Call: strings.Repeat("é", 111)}, "who to call has 111 characters; the crank card has room for 110"},
		{Options{Paper: paper.A5, TempoBPM: 50, Window: upTo(90), Call: strings.Repeat("W", 110)}, "who to call takes 5 lines on the crank card, which has room for 3; write it shorter (it has 110 characters)"},
	} {
		if _, err := CrankCard(m, c.o); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%+v: %v, want %q", c.o, err, c.says)
		}
	}
}

func TestCrankCardIsTheSameEveryTime(t *testing.T) {
	o := Options{Paper: paper.A5, Song: "Mill Race", TempoBPM: 52, Window: upTo(90), Date: placetest.Day}
	if !bytes.Equal(placetest.PDF(t, mustCard(t, o)), placetest.PDF(t, mustCard(t, o))) {
		t.Error("two cards of one song differ")
	}
}

// Someone stands beside a jammed machine and has to read it: all of who to call
// is there, in letters of 10 points or more (the least for running text in print:
// common practice).
func TestCrankCardNeverCutsWhoToCall(t *testing.T) {
	const call = "Front desk, extension 4711, or the duty technician in the workshop behind the mill race, extension 4712" // 103 characters
	for _, on := range []paper.Paper{paper.A5, paper.A6} {
		s := mustCard(t, Options{Paper: on, Song: "Mill Race", TempoBPM: 52, Window: upTo(90), Call: call, Date: placetest.Day})
		text := strings.Join(strings.Fields(placetest.Tool(t, s, "pdftotext", "-layout")), " ")
		if !strings.Contains(text, call) || strings.Contains(text, "…") {
			t.Errorf("%s: pdftotext does not read all of it in\n%s", on, text)
		}
		for _, line := range placetest.ReadPage(t, s, 1).Texts {
			if strings.Contains(call, line.Text) && line.MM/paper.MMPerPoint < 10-1e-3 {
				t.Errorf("%s: %q is set at %.1f points", on, line.Text, line.MM/paper.MMPerPoint)
			}
		}
	}
}

// Whatever is let in has room, in its box and whole.
func TestCrankCardHasRoomForAllThatItTakes(t *testing.T) {
	words := rapid.SliceOfN(rapid.StringOfN(rapid.RuneFrom([]rune("aimWÉ4—Ω,")), 1, 40, -1), 1, 20)
	rapid.Check(t, func(t *rapid.T) {
		call := strings.Join(words.Draw(t, "words"), " ")
		if CheckCall(call) != nil {
			return
		}
		lines, apart, pt := setCall(call)
		if len(lines) > callLines || pt < callLeastPt || apart*float64(len(lines)) > callHigh {
			t.Errorf("%q takes %d lines of %g points, %g mm apart", call, len(lines), pt, apart)
		}
		for _, line := range lines {
			if callFont(pt).Width(line) > callWide {
				t.Errorf("%q is too wide", line)
			}
		}
		if got := strings.ReplaceAll(strings.Join(lines, ""), " ", ""); got != strings.ReplaceAll(call, " ", "") {
			t.Errorf("%q is set as %q", call, lines)
		}
	})
}

// A machine's file does not say which way its crank turns. The dial is a whole
// circle with the crank in it and nothing that points along it. On A5 its middle
// is at 29, 53 and its radius 19 mm.
func TestCrankCardClaimsNoDirection(t *testing.T) {
	s := mustCard(t, Options{Paper: paper.A5, Song: "Mill Race", TempoBPM: 52, Window: upTo(90), Date: placetest.Day})
	d := placetest.ReadPage(t, s, 1)
	around := func(x, y float64) float64 { return math.Hypot(x-29, y-53) }
	rim, arms := 0, 0
	for _, l := range d.Lines {
		switch {
		case around(l.X1, l.Y1) > 25 || around(l.X2, l.Y2) > 25:
		case math.Abs(around(l.X1, l.Y1)-19) < 0.01 && math.Abs(around(l.X2, l.Y2)-19) < 0.01:
			rim++
		case around(l.X1, l.Y1) < 0.01:
			arms++
		default:
			t.Errorf("%+v is neither rim nor crank", l)
		}
	}
	if rim != 80 || arms != 1 {
		t.Errorf("%d strokes of the rim and %d cranks, want 80 all round and 1", rim, arms)
	}
	// 256 steps at 4 to the beat and 8 turns of the crank: 8 beats to a turn.
	beats := 0
	for _, at := range d.Discs(4) {
		if math.Abs(around(at.X, at.Y)-19) > 0.01 {
			t.Errorf("a beat at %v is not on the rim", at)
		}
		beats++
	}
	if beats != 8 {
		t.Errorf("there are %d beats round the dial, want 8", beats)
	}
	m := placetest.Machine(256, 60)
	m.Wheel.CrankTurns = 7 // 9 1/7 beats
	uneven, err := CrankCard(m, Options{Paper: paper.A5, Song: "Mill Race", TempoBPM: 52, Window: upTo(90), Date: placetest.Day})
	if err != nil {
		t.Fatal(err)
	}
	if got := placetest.ReadPage(t, uneven, 1).Discs(4); len(got) != 0 {
		t.Errorf("a turn of 9 1/7 beats shows %d of them", len(got))
	}
}

// From 30 to 180 BPM on 132 mm from 8 mm on: visitors' 90 BPM are at 60.8 mm, where
// the black ends, and the song's 75 BPM at 47.6 mm, where the marker's tip is
// (worked by hand). The bar's top is at 78.7 mm on A5.
func TestCrankCardShowsWhereItsTempoLies(t *testing.T) {
	m := placetest.Machine(256, 60)
	m.Limits.TempoMinBPM, m.Limits.TempoMaxBPM = 30, 180
	s, err := CrankCard(m, Options{Paper: paper.A5, Song: "Mill Race", TempoBPM: 75, Window: redLine(100, 90), Date: placetest.Day})
	if err != nil {
		t.Fatal(err)
	}
	d := placetest.ReadPage(t, s, 1)
	tips := 0
	for _, l := range d.Lines {
		if math.Hypot(l.X1-47.6, l.Y1-78.7) < 0.1 && l.Y2 < l.Y1 {
			tips++
		}
	}
	if tips != 2 {
		t.Errorf("%d strokes meet at the marker's tip, want 2", tips)
	}
	black := 0
	for _, f := range d.Fills {
		if math.Abs(f.X-8) < 0.1 && math.Abs(f.Y-78.7) < 0.1 && math.Abs(f.W-52.8) < 0.1 {
			black++
		}
	}
	if black != 1 {
		t.Errorf("%d black bars from 8 to 60.8 mm, want 1: %+v", black, d.Fills)
	}
	for _, want := range []string{"slow", "too fast", "90 beats a minute"} {
		if !d.Says(want) && !strings.Contains(placetest.Tool(t, s, "pdftotext", "-layout"), want) {
			t.Errorf("the card does not say %q", want)
		}
	}
}
