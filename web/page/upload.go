package page

import (
	"bytes"
	"errors"
	"io"
	"net/http"

	"pinwright/wheel"
	"pinwright/wheel/file"
)

// Upload is one file that a form brought.
type Upload struct {
	Name string
	Data []byte
}

// Uploads reads the files of a multipart form, each at most limit bytes. Only
// whole files come out: of a request that breaks off there are none.
func Uploads(r *http.Request, field string, limit int64) ([]Upload, error) {
	parts, err := r.MultipartReader()
	if err != nil {
		return nil, wheel.Refuse(wheel.ErrMalformed, "A file was expected here; choose one and send it again.")
	}
	var files []Upload
	for {
		part, err := parts.NextPart()
		if err == io.EOF { // one that is wrapped says that the end is missing
			break
		}
		if err != nil {
			return nil, Broken(err)
		}
		name := part.FileName()
		if part.FormName() != field || name == "" {
			continue
		}
		data, err := io.ReadAll(io.LimitReader(part, limit+1))
		if err != nil {
			return nil, Broken(err)
		}
		if int64(len(data)) > limit {
			return nil, wheel.Refuse(wheel.ErrTooLarge, "%s is larger than %d MiB; that is the most that is read.", name, limit>>20)
		}
		files = append(files, Upload{name, data})
	}
	if len(files) == 0 {
		return nil, wheel.Refuse(wheel.ErrMalformed, "No file was chosen; choose one and send it again.")
	}
	return files, nil
}

// UploadJSON reads the one file of a multipart form that is to be JSON, such as
// "a machine file".
func UploadJSON(r *http.Request, expected string) (Upload, error) {
	files, err := Uploads(r, "file", file.MaxBytes)
	if err != nil {
		return Upload{}, err
	}
	f := files[0]
	if bytes.HasPrefix(f.Data, []byte("MThd")) {
		return f, wheel.Refuse(wheel.ErrInvalid, "%s is a MIDI file; %s is JSON. Songs are added on the page Songs.", f.Name, expected)
	}
	return f, nil
}

// CarriedFile reads a file that a page carries in a field of its multipart form,
// at most limit bytes. The field is named for what is in it, such as "pinning".
func CarriedFile(r *http.Request, field string, limit int64) ([]byte, error) {
	parts, err := r.MultipartReader()
	if err != nil {
		return nil, wheel.Refuse(wheel.ErrMalformed, "The page did not send the %s along; bring its file again.", field)
	}
	for {
		part, err := parts.NextPart()
		if err == io.EOF {
			return nil, wheel.Refuse(wheel.ErrMalformed, "The page did not send the %s along; bring its file again.", field)
		}
		if err != nil {
			return nil, Broken(err)
		}
		if part.FormName() != field {
			continue
		}
		text, err := io.ReadAll(io.LimitReader(part, limit+1))
		if err != nil {
			return nil, Broken(err)
		}
		if int64(len(text)) > limit {
			return nil, wheel.Refuse(wheel.ErrTooLarge, "The %s is larger than %d MiB; that is the most that is read.", field, limit>>20)
		}
		return text, nil
	}
}

// InFile says before each problem which file it is in.
func InFile(name string, err error) error {
	var problems wheel.Problems
	if !errors.As(err, &problems) {
		return err
	}
	named := make(wheel.Problems, len(problems))
	for i, p := range problems {
		named[i] = wheel.Problem{Place: name + ":", Says: p.String()}
	}
	return named.Err()
}
