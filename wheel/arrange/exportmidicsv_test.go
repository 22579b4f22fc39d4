package arrange

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"pinwright/wheel/demo"
	"pinwright/wheel/song"
)

// midicsv lists a Standard MIDI File's events, with a reader that shares no
// code with ours: Debian's midicsv.
func midicsv(t *testing.T, file []byte) string {
	t.Helper()
	program, err := exec.LookPath("midicsv")
	if err != nil {
		if os.Getenv("PINWRIGHT_MIDICSV") == "required" {
			t.Fatal(`PINWRIGHT_MIDICSV is "required", but there is no midicsv`)
		}
		t.Skip("there is no midicsv, Debian's package of that name, to read the file with; PINWRIGHT_MIDICSV=required makes that a failure")
	}
	path := filepath.Join(t.TempDir(), "song.mid")
	if err := os.WriteFile(path, file, 0o644); err != nil {
		t.Fatal(err)
	}
	var stderr bytes.Buffer
	list := exec.Command(program, path)
	list.Stderr = &stderr
	out, err := list.Output()
	if err != nil || stderr.Len() > 0 {
		t.Fatalf("midicsv: %v\n%s", err, stderr.String())
	}
	return string(out)
}

func TestMidicsvReadsTheExportOfTheDemoAsTheStrikes(t *testing.T) {
	m := demo.Machine()
	w := compile(t, m)
	for _, file := range demo.Songs() {
		for _, asPlayed := range []bool{false, true} {
			t.Run(fmt.Sprintf("%s, as played %v", file.FileName, asPlayed), func(t *testing.T) {
				songs, err := song.Parse(file.Bytes, "")
				if err != nil {
					t.Fatal(err)
				}
				p, _ := set(t, m, songs[0], Request{Advance: true})
				const tempo = 120.5 // 60,000,000 / 120.5 = 497,925.3 µs
				s, err := Export(w, p, tempo, asPlayed, 2)
				if err != nil {
					t.Fatal(err)
				}
				rows := csv.NewReader(strings.NewReader(midicsv(t, written(t, s))))
				rows.TrimLeadingSpace, rows.FieldsPerRecord = true, -1
				records, err := rows.ReadAll()
				if err != nil {
					t.Fatal(err)
				}
				var division, micros float64
				var got []heard
				for _, r := range records {
					number := func(i int) float64 {
						v, err := strconv.ParseFloat(r[i], 64)
						if err != nil {
							t.Fatal(err)
						}
						return v
					}
					switch r[2] {
					case "Header":
						division = number(5)
					case "Tempo":
						micros = number(3)
					case "Note_on_c":
						got = append(got, heard{int(number(3)) + 1, int(number(4)), number(1) / division * micros / 1e6})
					}
				}
				if micros != 497_925 {
					t.Errorf("%v µs a quarter note", micros)
				}
				want, firstS := wanted(w, p, tempo, asPlayed, 2)
				within := 1e-4
				if !asPlayed { // half a µs a beat at the most, and half a tick
					within += 0.5e-6 * 2 * float64(m.Wheel.Steps/m.Wheel.StepsPerBeat)
				}
				compareHeard(t, got, want, firstS, 4*micros/1e6, within)
				if len(got) < 100 && p.Title == "Mill Race" {
					t.Errorf("only %d notes", len(got))
				}
			})
		}
	}
}

// Worked by hand. At 60 BPM a quarter note takes 1,000,000 µs; a tick of 0.2 ms
// would make 5,000 of it, and the next multiple of 2 × 12 is 5,016, so a step
// is 2,508 ticks and a turn of six beats 30,096. As written, bar and bar-2 both
// sound at step 4, tick 10,032, on one key, up to the next of it at step 5; the
// others last a beat, or to the turn's end. Percussion is on channel 10, which midicsv calls 9; a
// block without keys is a Side Stick, 37. The meter is 3/4, with the 24 clocks
// of a quarter note to a click.
func TestMidicsvListsASongWrittenByHand(t *testing.T) {
	s, err := Export(compile(t, band()), bandPinning(), 60, false, 1)
	if err != nil {
		t.Fatal(err)
	}
	want := `0, 0, Header, 1, 5, 5016
1, 0, Start_track
1, 0, Title_t, "Hail, twice"
1, 0, Time_signature, 3, 2, 24, 8
1, 0, Tempo, 1000000
1, 30096, End_track
2, 0, Start_track
2, 0, Title_t, "bar"
2, 10032, Note_on_c, 0, 60, 64
2, 10032, Note_on_c, 0, 60, 64
2, 12540, Note_off_c, 0, 60, 0
2, 12540, Note_off_c, 0, 60, 0
2, 12540, Note_on_c, 0, 60, 64
2, 17556, Note_off_c, 0, 60, 0
2, 17556, End_track
3, 0, Start_track
3, 0, Title_t, "bell"
3, 0, Note_on_c, 2, 84, 64
3, 5016, Note_off_c, 2, 84, 0
3, 5016, Note_on_c, 2, 84, 64
3, 10032, Note_off_c, 2, 84, 0
3, 10032, End_track
4, 0, Start_track
4, 0, Title_t, "block (percussion)"
4, 27588, Note_on_c, 9, 37, 64
4, 30096, Note_off_c, 9, 37, 0
4, 30096, End_track
5, 0, Start_track
5, 0, Title_t, "drum (percussion)"
5, 15048, Note_on_c, 9, 36, 64
5, 20064, Note_off_c, 9, 36, 0
5, 20064, End_track
0, 0, End_of_file
`
	if got := midicsv(t, written(t, s)); got != want {
		t.Errorf("midicsv lists\n%swant\n%s", got, want)
	}
}
