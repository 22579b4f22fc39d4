package arrange

import (
	"bytes"
	"context"
	"errors"
	"strings"
	"testing"

	"pinwright/wheel/song"
)

// source is a song as a MIDI file.
func source(t testing.TB, name string, s *song.Song) Source {
	t.Helper()
	var b bytes.Buffer
	if err := song.Write(&b, s); err != nil {
		t.Fatal(err)
	}
	return Source{Name: name, Read: func() ([]byte, error) { return b.Bytes(), nil }}
}

func TestSurveyRanksByWhatSoundsHowFastAndHowNearTheGrid(t *testing.T) {
	m := machine(16, 4, row{id: "c", keys: []int{60}}, row{id: "e", keys: []int{64}, reloadMS: 900})
	w := compile(t, m)
	good := tune(1, note(0, 60), note(480, 60), note(960, 60))
	lost := tune(1, note(0, 60), note(480, 61), note(960, 66))
	// A sixteenth apart where the gate takes 900 ms, at 120 BPM: one of the two
	// has to be moved, and cannot be far enough.
	slow := tune(1, note(0, 60), note(240, 64), note(360, 64))
	astray := tune(1, note(60, 60), note(540, 60), note(1020, 60))
	sources := []Source{
		source(t, "slow.mid", slow), source(t, "lost.mid", lost), source(t, "good.mid", good), source(t, "astray.mid", astray),
		{Name: "away.mid", Read: func() ([]byte, error) { return nil, errors.New("no such file") }},
		{Name: "text.mid", Read: func() ([]byte, error) { return []byte("not MIDI"), nil }},
	}
	told := 0
	judged, unreadable, err := Survey(t.Context(), w, sources, SurveyOptions{Progress: func(done, all int) {
		if told++; done != told || all != len(sources) {
			t.Errorf("told %d of %d as number %d", done, all, told)
		}
	}})
	if err != nil || told != len(sources) {
		t.Fatal(told, err)
	}
	var order []string
	by := map[string]Judgement{}
	for _, j := range judged {
		order = append(order, j.File)
		by[j.File] = j
	}
	if got := strings.Join(order, " "); !strings.HasPrefix(got, "good.mid") || len(judged) != 4 {
		t.Errorf("ranked %q", got)
	}
	if j := by["good.mid"]; j.Suits != 1 || j.Share != 1 || j.Verdict != "suits well" {
		t.Errorf("the good one: %+v", j)
	}
	// Keys 60, 61 and 66 are 1, 5 and 6 apart, the channels' 60 and 64 are 4: one
	// can sound, wherever they are moved to.
	if j := by["lost.mid"]; j.Share != 1./3 {
		t.Errorf("the one that loses notes: %+v", j)
	}
	// Sixty ticks of 120 a step off: half a step, 62.5 ms at 120 BPM. Times √12
	// that is more than a step, so the grid counts ½, and all else is well.
	if j := by["astray.mid"]; j.WorstMS != 62.5 || j.RMSMS != 62.5 || j.Suits != 0.5 {
		t.Errorf("the one off the grid: %+v", j)
	}
	if len(unreadable) != 2 || unreadable[0].File != "away.mid" || unreadable[1].Why == "" {
		t.Errorf("unreadable: %+v", unreadable)
	}
	for _, j := range judged {
		if j.Suits < 0 || j.Suits > 1 || j.Verdict == "" {
			t.Errorf("%+v", j)
		}
	}
}

func TestJudgementIsThatOfSettingTheStretch(t *testing.T) {
	m := machine(32, 4, row{id: "c", keys: []int{60}, reloadMS: 200}, row{id: "d", keys: []int{62}, reloadMS: 400}, row{id: "e", keys: []int{64}})
	w := compile(t, m)
	s := tune(3, note(0, 72), note(120, 72), note(480, 74), note(600, 74), note(1920, 76), note(3840, 70), note(5000, 71))
	j, err := Judge(t.Context(), w, s, SurveyOptions{TempoBPM: 140})
	if err != nil {
		t.Fatal(err)
	}
	p, r := set(t, m, s, Request{
		FromBar: j.FromBar, Bars: j.Bars, Transpose: Transpose{Semitones: j.Transpose},
		TempoBPM: 140, Advance: true, Ease: true,
	})
	if r.Notes != j.Notes || r.MaxSafeBPM == nil || j.EasedBPM == nil || *r.MaxSafeBPM != *j.EasedBPM || r.Shifted != j.EasedNotes {
		t.Errorf("judged %+v, set %+v", j, r)
	}
	if bpm, ok := w.MaxSafe(p); !ok || bpm < 140 {
		t.Errorf("eased to 140 BPM and safe up to %g", bpm)
	}
}

func TestSurveyStopsWhenItIsTold(t *testing.T) {
	w := compile(t, machine(16, 4, row{id: "c", keys: []int{60}}))
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	if _, _, err := Survey(ctx, w, []Source{source(t, "a.mid", tune(1, note(0, 60)))}, SurveyOptions{}); !errors.Is(err, context.Canceled) {
		t.Errorf("it said %v", err)
	}
	if _, _, err := Survey(t.Context(), w, nil, SurveyOptions{TempoBPM: -3}); err == nil || !strings.Contains(err.Error(), "it should be 1 to 1000 BPM") {
		t.Errorf("a tempo of −3 gives %v", err)
	}
}
