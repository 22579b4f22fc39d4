package file_test

import (
	"pinwright/wheel/file"
	"pinwright/wheel/file/filetest"
	"runtime"
	"strings"
	"testing"
	"unicode/utf16"
)

// utf16File is text as UTF-16, little-endian, with a byte order mark
// (Unicode 15, section 2.6).
func utf16File(text string) string {
	b := []byte{0xff, 0xfe}
	for _, u := range utf16.Encode([]rune(text)) {
		b = append(b, byte(u), byte(u>>8))
	}
	return string(b)
}

// A file that is not one JSON value is refused in one sentence, with the line
// and column where it ceases to be one, counted by hand.
func TestFileThatIsNotOneJSONValueIsRefused(t *testing.T) {
	machine := filetest.Example(t, filetest.MachineFile)
	for _, c := range []struct{ name, text, want string }{
		{"empty", "", "the file is empty"},
		{"blank", " \r\n\t\n", "the file is empty"},
		{"byte order mark alone", "\ufeff", "the file is empty"},
		{"not UTF-8", "{\"name\": \"M\xfchle\"}", "the file is not UTF-8 text; save it as UTF-8"}, // ISO 8859-1
		{"UTF-16", utf16File(machine), "the file is not UTF-8 text; save it as UTF-8"},
		{"too large", strings.Repeat(" ", file.MaxBytes+1), "the file is larger than 8 MiB; a machine or pinning file is far smaller"},
		{"cut short", machine[:strings.Index(machine, "\n  \"marble\"")], "line 3, column 23: the file breaks off here, before its end"},
		{"cut in a word", "{\n  \"na", "line 2, column 6: the file breaks off here, before its end"},
		{"only opened", "{", "line 1, column 2: the file breaks off here, before its end"},
		{"more after the end", "{}\n\n x", "line 3, column 2: there is more after the end of the file's object"},
		{"twice", "{}{}", "line 1, column 3: there is more after the end of the file's object"},
		{"bracket too many", "{\n}}", "line 2, column 2: there is more after the end of the file's object"},
		{"NaN", "{\"radius_mm\": NaN}", "line 1, column 15: NaN is not a number that can be used here"},
		{"negative infinity", "{\"ä\":\n-Infinity}", "line 2, column 2: Infinity is not a number that can be used here"},
		{"comment", "{} // a comment", "line 1, column 4: there is more after the end of the file's object"},
		{"comma too many", "{\"a\": 1,}", "line 1, column 9: the file is not JSON (invalid character '}' looking for beginning of object key string)"},
		{"single quotes", "{'a': 1}", "line 1, column 2: the file is not JSON (invalid character '\\'' looking for beginning of object key string)"},
		{"leading zero", "{\"a\": 007}", "line 1, column 8: the file is not JSON (invalid character '0' after object key:value pair)"},
		{"line end in a text", "{\"a\": \"b\nc\"}", "line 1, column 9: the file is not JSON (invalid character '\\n' in string literal)"},
		{"nested too deep", strings.Repeat("[", 1e6), "line 1, column 10001: brackets are nested too deep here; no machine or pinning file nests so"},
		{"nested too deep in objects", strings.Repeat(`{"a":`, 1e6), "line 1, column 50001: brackets are nested too deep here; no machine or pinning file nests so"},
		{"nested deep and in order", strings.Repeat("[", 9999) + strings.Repeat("]", 9999), "the file is a list; it should be an object in braces"},
		{"another value", "12", "the file is 12; it should be an object in braces"},
		{"null", "null", "the file is null; it should be an object in braces"},
	} {
		t.Run(c.name, func(t *testing.T) {
			filetest.WantProblems(t, readMachine(c.text), c.want)
			filetest.WantProblems(t, readPinning(c.text), c.want)
		})
	}
}

// RFC 8259, section 8.1: a reader may pass over a byte order mark.
func TestByteOrderMarkIsPassedOver(t *testing.T) {
	filetest.WantProblems(t, readMachine("\ufeff"+filetest.Example(t, filetest.MachineFile)))
	filetest.WantProblems(t, readPinning("\ufeff"+filetest.Example(t, filetest.PinningFile)))
}

// RFC 8259, section 7: any character of a string may be escaped.
func TestEscapedTextIsReadAsWhatItStandsFor(t *testing.T) {
	text := filetest.Edit(t, filetest.Example(t, filetest.PinningFile), `"Mill Race"`, `"Mill \u0052\u0061ce \"\\\/ \ud834\udd1e"`)
	text = filetest.Edit(t, text, `"title"`, `"t\u0069tle"`)
	p, err := file.ReadPinning([]byte(text))
	if err != nil {
		t.Fatal(err)
	}
	if want := `Mill Race "\/ 𝄞`; p.Title != want { // U+1D11E, musical symbol G clef
		t.Errorf("the title is %q, want %q", p.Title, want)
	}
	text = filetest.Edit(t, text, `"tempo_bpm"`, `"\u0074itle": "x", "tempo_bpm"`)
	filetest.WantProblems(t, readPinning(text), "title stands twice; keep one of them")
}

// hostile makes files of so many bytes that have no place in a workshop. A
// reader that looked at them again at every bracket, or held what it will
// refuse, would take gigabytes for the largest.
func hostile(bytes int) map[string]string {
	fill := func(before, again, after string) string {
		return before + strings.Repeat(again, (bytes-len(before)-len(after))/len(again)) + after
	}
	return map[string]string{
		"channels":      fill(`{"channels": [`, `{},`, `{}]}`),
		"lanes":         fill(`{"lanes": [`, `{},`, `{}]}`),
		"keys":          fill(`{"channels": [{"keys": [`+strings.Repeat("200,", bytes/8), `5,`, `5]}]}`),
		"path":          fill(`{"channels": [{"path": [`, `"",`, `""]}]}`),
		"paths":         fill(`{"channels": [`, `{"path": [`+strings.Repeat(`"x",`, 1900)+`"x"]},`, `{}]}`),
		"empty pins":    fill(`{"pins": [`, `{},`, `{}]}`),
		"pins":          fill(`{"pins": [`, `{"channel":"a","step":1},`, `{}]}`),
		"advance":       fill(`{"advance": {`, `"a":1,`, `"b":1}}`),
		"unknown keys":  fill(`{`, `"a":1,`, `"b":1}`),
		"misspelt keys": fill(`{`, `"tempo_bmp":1,`, `"b":1}`),
		"long key":      fill(`{"`, `\n`, `": 1}`),
		"long text":     fill(`{"format": "`, `\u0041`, `"}`),
		"digits":        fill(`{"tempo_bpm": 0.`, `1`, `}`),
		"nested":        fill(`{"a": [`, strings.Repeat("[", 900)+strings.Repeat("]", 900)+`,`, `1]}`),
	}
}

func TestHostileFileTakesMemoryInProportion(t *testing.T) {
	const size = 1 << 20
	for name, text := range hostile(size) {
		t.Run(name, func(t *testing.T) {
			data := []byte(text)
			for _, read := range []func(){
				func() { _, _ = file.ReadMachine(data) },
				func() { _, _ = file.ReadPinning(data) },
			} {
				var before, after runtime.MemStats
				runtime.ReadMemStats(&before)
				read()
				runtime.ReadMemStats(&after)
				if got := after.TotalAlloc - before.TotalAlloc; got > 32*size {
					t.Errorf("took %d KiB for a file of %d KiB", got>>10, len(data)>>10)
				}
			}
		})
	}
}
