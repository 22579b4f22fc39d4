package web

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"pinwright/wheel"
	"regexp"
	"strings"
)

// upload is one file that a form brought.
type upload struct {
	Name string
	Data []byte
}

// uploads reads the files of a multipart form, each at most limit bytes. Only
// whole files come out: of a request that breaks off there are none.
func uploads(r *http.Request, field string, limit int64) ([]upload, error) {
	parts, err := r.MultipartReader()
	if err != nil {
		return nil, wheel.Refuse(wheel.ErrMalformed, "A file was expected here; choose one and send it again.")
	}
	var files []upload
	for {
		part, err := parts.NextPart()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, brokenOff(err)
		}
		name := part.FileName()
		if part.FormName() != field || name == "" {
			continue
		}
		data, err := io.ReadAll(io.LimitReader(part, limit+1))
		if err != nil {
			return nil, brokenOff(err)
		}
		if int64(len(data)) > limit {
			return nil, wheel.Refuse(wheel.ErrTooLarge, "%s is larger than %d MiB; that is the most that is read.", name, limit>>20)
		}
		files = append(files, upload{name, data})
	}
	if len(files) == 0 {
		return nil, wheel.Refuse(wheel.ErrMalformed, "No file was chosen; choose one and send it again.")
	}
	return files, nil
}

// notMIDI refuses a song where a file of another kind is expected.
func (f upload) notMIDI(expected string) error {
	if bytes.HasPrefix(f.Data, []byte("MThd")) {
		return wheel.Refuse(wheel.ErrInvalid, "%s is a MIDI file; %s is JSON. Songs are added on the page Songs.", f.Name, expected)
	}
	return nil
}

func brokenOff(err error) error {
	var large *http.MaxBytesError
	if errors.As(err, &large) {
		return err
	}
	return wheel.Refuse(wheel.ErrMalformed, "What was sent did not arrive whole; send it again.")
}

var notInName = regexp.MustCompile(`[^\p{L}\p{N}._-]+`)

// mostInName keeps a name, with its ending and in UTF-8, below the 255 bytes
// that common file systems take.
const mostInName = 50

// fileName makes a name for a file to take away of a title.
func fileName(title, ending string) string {
	letters := []rune(notInName.ReplaceAllString(title, "-"))
	name := strings.Trim(string(letters[:min(len(letters), mostInName)]), "-.")
	if name == "" {
		name = "pinwright"
	}
	return name + ending
}

// takeAway sends a file to be saved.
func takeAway(w http.ResponseWriter, name, mediaType string, write io.WriterTo) error {
	w.Header().Set("Content-Type", mediaType)
	w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
	if _, err := write.WriteTo(w); err != nil {
		return fmt.Errorf("sending %s: %w", name, err)
	}
	return nil
}
