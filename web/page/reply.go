package page

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"regexp"
	"strings"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// Redirect answers a form that has been taken in with the page that shows what
// it did.
func Redirect(w http.ResponseWriter, r *http.Request, to string) error {
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// JSON answers with a value.
func JSON(w http.ResponseWriter, answer any) error {
	w.Header().Set("Content-Type", "application/json")
	return json.NewEncoder(w).Encode(answer)
}

// Download answers with a file to be saved.
func Download(w http.ResponseWriter, name, mediaType string, content io.WriterTo) error {
	w.Header().Set("Content-Type", mediaType)
	w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": name}))
	if _, err := content.WriteTo(w); err != nil {
		return fmt.Errorf("sending %s: %w", name, err)
	}
	return nil
}

// DownloadSheet answers with a sheet to be saved, whole or not at all.
func DownloadSheet(w http.ResponseWriter, name, mediaType string, draw func(io.Writer) error) error {
	var b bytes.Buffer
	if err := draw(&b); err != nil {
		return CannotDraw(err)
	}
	return Download(w, name, mediaType, &b)
}

// CannotDraw says why there is no sheet.
func CannotDraw(err error) error {
	var problems wheel.Problems
	if errors.As(err, &problems) {
		return err
	}
	return wheel.Refuse(wheel.ErrInvalid, "%s", say.Sentence(err))
}

var notInName = regexp.MustCompile(`[^\p{L}\p{N}._-]+`)

// mostInName keeps a name, with its ending and in UTF-8, below the 255 bytes
// that common file systems take.
const mostInName = 50

// FileName is the name of a file to be saved, made from a title.
func FileName(title, ending string) string {
	letters := []rune(notInName.ReplaceAllString(title, "-"))
	name := strings.Trim(string(letters[:min(len(letters), mostInName)]), "-.")
	if name == "" {
		name = "pinwright"
	}
	return name + ending
}
