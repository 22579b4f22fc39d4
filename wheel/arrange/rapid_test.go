package arrange

import (
	"bytes"
	"fmt"
	"math"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel"
	"pinwright/wheel/file"
	"pinwright/wheel/song"
)

func drawMachine(t *rapid.T) *wheel.Machine {
	var rows []row
	for i := range rapid.IntRange(1, 6).Draw(t, "channels") {
		rows = append(rows, row{
			id:      fmt.Sprintf("c%d", i),
			keys:    rapid.SliceOfNDistinct(rapid.IntRange(60, 65), 0, 3, rapid.ID).Draw(t, "keys"),
			drum:    rapid.IntRange(0, 3).Draw(t, "drum") == 0,
			resting: rapid.IntRange(0, 4).Draw(t, "resting") == 0,
			reachMM: rapid.Float64Range(0, 5).Draw(t, "reach"),
			latchMS: rapid.Float64Range(0, 2000).Draw(t, "latch"),

			reloadMS: rapid.SampledFrom([]float64{0, 200, 500}).Draw(t, "reload"),
		})
	}
	m := machine(rapid.IntRange(4, 40).Draw(t, "steps"), rapid.IntRange(1, 6).Draw(t, "q"), rows...)
	for i := range m.Channels {
		m.Channels[i].Kind = rapid.SampledFrom([]wheel.ChannelKind{"bar", "tube"}).Draw(t, "kind")
	}
	return m
}

func drawSong(t *rapid.T) *song.Song {
	tpq := int64(4 * rapid.IntRange(1, 12).Draw(t, "tpq/4"))
	s := &song.Song{Title: "Mill Race", TicksPerQuarter: float64(tpq)}
	for range rapid.IntRange(1, 6).Draw(t, "bars") {
		s.Bars = bars(s.Bars, 1, rapid.IntRange(1, 6).Draw(t, "numerator"), 1<<rapid.IntRange(2, 4).Draw(t, "denominator"), tpq)
		if last := &s.Bars[len(s.Bars)-1]; rapid.IntRange(0, 5).Draw(t, "short") == 0 {
			last.Ticks = rapid.Int64Range(1, last.Ticks).Draw(t, "ticks")
		}
	}
	last := s.Bars[len(s.Bars)-1]
	s.EndTick = last.Tick + last.Ticks
	for range rapid.IntRange(1, 30).Draw(t, "notes") {
		s.Notes = append(s.Notes, song.Note{
			Tick: rapid.Int64Range(0, s.EndTick-1).Draw(t, "tick"), Ticks: 1, Velocity: 1,
			Key: uint8(rapid.OneOf(rapid.IntRange(55, 72), rapid.IntRange(0, 127)).Draw(t, "key")), Channel: uint8(rapid.SampledFrom([]int{1, 2, 10}).Draw(t, "channel")),
		})
	}
	slices.SortStableFunc(s.Notes, func(a, b song.Note) int { return int(a.Tick - b.Tick) })
	s.Tempos = []song.Tempo{{MicrosPerQuarter: 500_000}}
	for tick := int64(1); tick < s.EndTick; tick += rapid.Int64Range(1, 200).Draw(t, "until the next tempo") {
		s.Tempos = append(s.Tempos, song.Tempo{Tick: tick, MicrosPerQuarter: uint32(rapid.IntRange(100_000, 2_000_000).Draw(t, "tempo"))})
	}
	return s
}

func drawRequest(t *rapid.T, s *song.Song) Request {
	r := Request{
		Percussion: rapid.MapOfN(rapid.IntRange(55, 72), rapid.SampledFrom([]int{Silence, 60, 61, 62}), 0, 3).Draw(t, "percussion"),
		FromBar:    rapid.IntRange(0, len(s.Bars)).Draw(t, "from"),
		Repeat:     rapid.Bool().Draw(t, "repeat"),
		Advance:    rapid.Bool().Draw(t, "advance"),
		Transpose: Transpose{
			Auto:      rapid.Bool().Draw(t, "auto"),
			Semitones: rapid.OneOf(rapid.IntRange(-8, 8), rapid.IntRange(-127, 127)).Draw(t, "semitones"),
		},
		TempoBPM: rapid.SampledFrom([]float64{0, 60, 97.3}).Draw(t, "tempo"),
	}
	for _, part := range s.Parts() {
		if rapid.Bool().Draw(t, "ruled") {
			r.Parts = append(r.Parts, PartRule{
				Part:      part.Part,
				Off:       rapid.IntRange(0, 3).Draw(t, "off") == 0,
				Group:     rapid.SampledFrom([]wheel.ChannelKind{"", "bar", "tube"}).Draw(t, "group"),
				Octaves:   rapid.IntRange(-1, 1).Draw(t, "octaves"),
				SamePitch: rapid.Bool().Draw(t, "same pitch"),
				Octave:    rapid.Bool().Draw(t, "octave"),
			})
		}
	}
	return r
}

// TestSettingAgreesWithPlainCount holds every figure of a report against the
// second way, and the pinning against its own file format.
func TestSettingAgreesWithPlainCount(t *testing.T) {
	checked, refused := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		m, s := drawMachine(t), drawSong(t)
		r := drawRequest(t, s)
		w := compileRapid(t, m)
		p, report, err := Set(t.Context(), w, s, r)
		if err != nil {
			refused++
			t.Skip(err)
		}
		checked++
		sec, err := SectionOf(m, s, r.FromBar, r.Bars)
		if err != nil {
			t.Fatal(err)
		}
		second := plain{m, s, sec.Tick, sec.EndTick, r.Repeat, r.Parts, r.Percussion}
		notes := second.notes()
		transpose := r.Transpose.Semitones
		if r.Transpose.Auto {
			transpose = second.auto(notes, safeAt(w, s, r))
		}
		if report.Transpose != transpose {
			t.Fatalf("transposed by %d, want %d", report.Transpose, transpose)
		}
		want := second.count(notes, transpose)
		got := plainCount{report.Placed, report.Merged, report.Dropped, report.OutOfRange}
		if got != want || report.Notes != len(notes) {
			t.Fatalf("%d notes as %+v, want %d as %+v", report.Notes, got, len(notes), want)
		}
		if report.Notes != report.Placed+report.Dropped+report.OutOfRange+report.Merged {
			t.Fatalf("notes are lost: %+v", report)
		}
		if len(p.Pins) != report.Placed || len(report.Changes) != report.Dropped {
			t.Fatalf("%d pins and %d changes for %+v", len(p.Pins), len(report.Changes), report)
		}
		checkErrors(t, second, notes, transpose, report)
		checkPins(t, m, second, notes, transpose, p)
	})
	t.Logf("%d settings were checked, %d refused", checked, refused)
	if checked == 0 || refused > 3*checked { // about as many are refused as not
		t.Errorf("%d settings were checked and %d refused: too few to tell", checked, refused)
	}
}

func checkErrors(t *rapid.T, second plain, notes []plainNote, transpose int, report *Report) {
	worst, sum, n := 0.0, 0.0, 0
	for _, note := range notes {
		if playing, _ := second.channels(note, transpose); len(playing) > 0 {
			worst, sum, n = math.Max(worst, math.Abs(note.errMS)), sum+note.errMS*note.errMS, n+1
		}
	}
	rms := math.Sqrt(sum / math.Max(1, float64(n)))
	if math.Abs(report.WorstErrorMS-worst) > 1e-9 || math.Abs(report.RMSErrorMS-rms) > 1e-9 {
		t.Fatalf("errors %g and %g ms, want %g and %g", report.WorstErrorMS, report.RMSErrorMS, worst, rms)
	}
}

func checkPins(t *rapid.T, m *wheel.Machine, second plain, notes []plainNote, transpose int, p *wheel.Pinning) {
	if err := p.CheckOn(m).Err(); err != nil {
		t.Fatal(err)
	}
	n := m.Wheel.Steps
	for _, pin := range p.Pins {
		if got := p.Offset(pin, n); got != -float64(p.Advance[pin.Channel]) {
			t.Fatalf("pin %+v reads back %g steps from its aim; its advance is %d", pin, got, p.Advance[pin.Channel])
		}
		if aimless := pin.Step + p.Advance[pin.Channel]; pin.Aim.Given && pin.Aim.Step == float64(aimless) {
			t.Fatalf("pin %+v has an aim it does not need", pin)
		}
		aim, channel := p.AimOf(pin), m.Channel(pin.Channel)
		if !slices.ContainsFunc(notes, func(note plainNote) bool {
			playing, _ := second.channels(note, transpose)
			return float64(note.aim) == aim && slices.Contains(playing, channel)
		}) {
			t.Fatalf("pin %+v sounds no note of the song", pin)
		}
	}
	var text bytes.Buffer
	if _, err := file.Pinning(p).WriteTo(&text); err != nil {
		t.Fatal(err)
	}
	back, err := file.ReadPinning(text.Bytes())
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Pins) == 0 {
		p.Pins = nil
	}
	if !reflect.DeepEqual(p, back) {
		t.Fatalf("written and read again it is another pinning:\n%+v\n%+v", p, back)
	}
}

// TestMostNotesOfAStepFindAChannel crowds few steps with keys that several
// channels have, where places have to be changed in chains.
func TestMostNotesOfAStepFindAChannel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var rows []row
		for i := range rapid.IntRange(2, 6).Draw(t, "channels") {
			rows = append(rows, row{id: fmt.Sprint(i), keys: rapid.SliceOfNDistinct(rapid.IntRange(60, 65), 1, 3, rapid.ID).Draw(t, "keys")})
		}
		var notes []song.Note
		for range rapid.IntRange(1, 14).Draw(t, "notes") {
			notes = append(notes, note(120*rapid.Int64Range(0, 1).Draw(t, "step"), uint8(rapid.IntRange(59, 66).Draw(t, "key"))))
		}
		m, s := machine(16, 4, rows...), tune(1, notes...)
		auto := rapid.Bool().Draw(t, "auto")
		w := compileRapid(t, m)
		p, r, err := Set(t.Context(), w, s, Request{Transpose: Transpose{Auto: auto}})
		if err != nil {
			t.Fatal(err)
		}
		second := plain{m: m, s: s, until: 1920}
		want, transpose := second.notes(), 0
		if auto {
			transpose = second.auto(want, safeAt(w, s, Request{}))
		}
		if placed := second.count(want, transpose).placed; r.Transpose != transpose || r.Placed != placed {
			t.Fatalf("placed %d at %d semitones, want %d at %d", r.Placed, r.Transpose, placed, transpose)
		}
		checkPins(t, m, second, want, transpose, p)
	})
}

// TestAnyRequestIsRefusedOrAccountedFor asks for what no one would.
func TestAnyRequestIsRefusedOrAccountedFor(t *testing.T) {
	number := rapid.OneOf(rapid.IntRange(-3, 9), rapid.Int())
	rapid.Check(t, func(t *rapid.T) {
		m, s := drawMachine(t), drawSong(t)
		p, r, err := Set(t.Context(), compileRapid(t, m), s, Request{
			FromBar: number.Draw(t, "from"), Bars: number.Draw(t, "bars"),
			Repeat: rapid.Bool().Draw(t, "repeat"), Advance: rapid.Bool().Draw(t, "advance"),
			Transpose: Transpose{Auto: rapid.Bool().Draw(t, "auto"), Semitones: number.Draw(t, "semitones")},
			TempoBPM:  rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{0, 120, math.NaN(), math.Inf(-1)})).Draw(t, "tempo"),
		})
		switch {
		case err != nil && (p != nil || r != nil || err.Error() == ""):
			t.Fatalf("refused with %q and still %+v, %+v", err, p, r)
		case err == nil && r.Notes != r.Placed+r.Dropped+r.OutOfRange+r.Merged:
			t.Fatalf("notes are lost: %+v", r)
		}
	})
}
