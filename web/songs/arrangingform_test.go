package songs

import (
	"net/url"
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"pinwright/wheel/arrange"
	"pinwright/wheel/song"
)

// What a form asks for is what its address asks for.
func TestAFormReadsBackFromItsAddress(t *testing.T) {
	text := rapid.OneOf(rapid.SampledFrom([]string{"", "1", "-1", "auto", "bar", "octave", "out", "38"}), rapid.StringMatching(`[!-~]{2,8}`))
	rapid.Check(t, func(t *rapid.T) {
		f := setForm{
			FromBar: text.Draw(t, "from"), Bars: text.Draw(t, "bars"), Tempo: text.Draw(t, "tempo"),
			Transpose: rapid.SampledFrom([]string{"auto", "-12", "5", "x"}).Draw(t, "transpose"),
			Repeat:    rapid.Bool().Draw(t, "repeat"), Advance: rapid.Bool().Draw(t, "advance"),
			Straighten: rapid.Bool().Draw(t, "straighten"), Ease: rapid.Bool().Draw(t, "ease"),
			Parts: map[song.Part]partForm{}, Percussion: map[int]string{},
		}
		for range rapid.IntRange(0, 3).Draw(t, "parts") {
			part := song.Part{Track: rapid.IntRange(0, 99).Draw(t, "track"), Channel: uint8(rapid.IntRange(1, 16).Draw(t, "channel"))}
			p := partForm{Off: rapid.Bool().Draw(t, "off"), Group: text.Draw(t, "group"), Octave: text.Draw(t, "octave"), Lack: text.Draw(t, "lack")}
			if p != (partForm{}) {
				f.Parts[part] = p
			}
		}
		for range rapid.IntRange(0, 3).Draw(t, "keys") {
			f.Percussion[rapid.IntRange(0, 127).Draw(t, "key")] = rapid.SampledFrom([]string{"out", "38"}).Draw(t, "to")
		}
		seen := map[string]bool{}
		for _, take := range []bool{true, false} {
			for range rapid.IntRange(0, 2).Draw(t, "decisions") {
				d := arrange.Decision{
					Kind: rapid.SampledFrom([]string{"shifted", "dropped", "moved"}).Draw(t, "kind"), Channel: rapid.String().Draw(t, "id"),
					Step: rapid.Int().Draw(t, "step"), ToChannel: rapid.String().Draw(t, "to"), ToStep: rapid.Int().Draw(t, "to step"),
				}
				if text := decisionText(d); !seen[text] {
					seen[text] = true
					d.Take = take
					f.Decisions = append(f.Decisions, d)
				}
			}
		}
		v, err := url.ParseQuery(f.query().Encode())
		if err != nil {
			t.Fatal(err)
		}
		if got := readSetForm(v); !reflect.DeepEqual(got, f) {
			t.Fatalf("%+v\nreads back as\n%+v", f, got)
		}
	})
}
