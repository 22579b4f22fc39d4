package songs

import (
	"fmt"
	"io"
	"mime"
	"mime/multipart"
	"net/http"
	"strings"
	"unicode"

	"pinwright/web/page"
	"pinwright/wheel"
	"pinwright/wheel/song"
)

// surveyForm is the form as it was sent. Names are paths in the folder, and no
// two are the same.
type surveyForm struct {
	machine, tempo string
	files          []page.Upload // no more than surveyFiles
	count          int           // of MIDI files by their names
	others         int           // files that by their names are not
}

func readSurveyForm(r *http.Request) (form surveyForm, err error) {
	parts, err := r.MultipartReader()
	if err != nil {
		return form, wheel.Refuse(wheel.ErrMalformed, "Files were expected here; choose a folder or files and send them again.")
	}
	names := map[string]bool{}
	for {
		part, err := parts.NextPart()
		if err == io.EOF { // one that is wrapped says that the end is missing
			return form, nil
		}
		if err != nil {
			return form, page.Broken(err)
		}
		switch field, name := part.FormName(), pathOf(part); {
		case field == "machine":
			form.machine, err = readField(part)
		case field == "tempo":
			form.tempo, err = readField(part)
		case field != "file" || name == "":
		case !song.NamedSo(name):
			form.others++
		default:
			if form.count++; form.count > surveyFiles {
				continue
			}
			f := page.Upload{Name: unusedName(name, names)}
			f.Data, err = io.ReadAll(io.LimitReader(part, song.MaxBytes+1))
			form.files = append(form.files, f)
		}
		if err != nil {
			return form, page.Broken(err)
		}
	}
}

// readField reads a line of text, as much of it as any has that is right.
func readField(part *multipart.Part) (string, error) {
	text, err := io.ReadAll(io.LimitReader(part, 100))
	return strings.TrimSpace(strings.ToValidUTF8(string(text), "")), err
}

// mostPath is how many characters of a path are shown.
const mostPath = 300

// inFileName undoes how a form writes a file's name (HTML Standard, 4.10.21.8,
// multipart form data).
var inFileName = strings.NewReplacer("%22", `"`, "%0A", " ", "%0D", " ")

// pathOf is the name of a file as it was sent: where a folder was chosen, its
// path in there. [multipart.Part.FileName] would leave the folders out.
func pathOf(part *multipart.Part) string {
	_, params, err := mime.ParseMediaType(part.Header.Get("Content-Disposition"))
	if err != nil {
		return part.FileName()
	}
	path := strings.Map(func(r rune) rune {
		if !unicode.IsGraphic(r) || r == unicode.ReplacementChar {
			return -1
		}
		return r
	}, inFileName.Replace(params["filename"]))
	if letters := []rune(path); len(letters) > mostPath {
		path = "…" + string(letters[len(letters)-mostPath+1:])
	}
	return strings.TrimSpace(path)
}

// unusedName is a name that no file before has, and takes it.
func unusedName(name string, taken map[string]bool) string {
	free := name
	for n := 2; taken[free]; n++ {
		free = fmt.Sprintf("%s (%d)", name, n)
	}
	taken[free] = true
	return free
}
