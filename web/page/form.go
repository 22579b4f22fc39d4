package page

import (
	"errors"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// mostInMemory is how much of a form that was sent in parts is held in memory.
const mostInMemory = 1 << 20

// WithForm is a handler that finds the whole form of a request in r.PostForm.
// One that did not arrive whole is refused.
func WithForm(f Handler) Handler {
	return func(w http.ResponseWriter, r *http.Request) error {
		// ParseMultipartForm forgets what is wrong with a form that is not in parts.
		if err := r.ParseForm(); err != nil {
			return Broken(err)
		}
		if err := r.ParseMultipartForm(mostInMemory); err != nil && !errors.Is(err, http.ErrNotMultipart) {
			return Broken(err)
		}
		return f(w, r)
	}
}

// Form serves a page whose handler takes a form: see [WithForm].
func (k *Kit) Form(f Handler) http.HandlerFunc { return k.Page(WithForm(f)) }

// Form reads the fields of a form. It goes on after one that is wrong, so that
// whoever filled it in hears of all of them at once.
type Form struct {
	Values url.Values
	wrong  []wrongField
}

// wrongField is a sentence about a field, or about the form where it has no name.
type wrongField struct{ name, says string }

// Sent is the form that a request brought to a handler made by [WithForm].
func Sent(r *http.Request) *Form { return &Form{Values: r.PostForm} }

// Asked is what the query of a request's address says.
func Asked(r *http.Request) *Form { return &Form{Values: r.URL.Query()} }

// Text is a line of text.
func (f *Form) Text(name string) string { return strings.TrimSpace(f.Values.Get(name)) }

// Number reads a number from low to high. what names it as a sentence begins,
// "The wander", and unit says of what it is a number, "per cent".
func (f *Form) Number(name, what, unit string, low, high float64) float64 {
	v, err := ReadNumber(f.Text(name))
	if err != nil || !(v >= low && v <= high) {
		f.Wrong(name, what, fmt.Sprintf("a number of %s, %s to %s", unit, say.Number(low), say.Number(high)))
		return 0
	}
	return v
}

// Whole reads a whole number from low to high.
func (f *Form) Whole(name, what string, low, high int) int {
	n, err := strconv.Atoi(f.Text(name))
	if err != nil || n < low || n > high {
		f.Wrong(name, what, fmt.Sprintf("a whole number from %d to %d", low, high))
		return 0
	}
	return n
}

// Wrong notes that a field is wrong and what it should be.
func (f *Form) Wrong(name, what, should string) {
	is := "is missing"
	if text := f.Text(name); text != "" {
		is = fmt.Sprintf("is %q", say.Short(text))
	}
	f.wrong = append(f.wrong, wrongField{name, fmt.Sprintf("%s %s; it should be %s.", what, is, should)})
}

// Refuse notes what is wrong with a form, as a sentence.
func (f *Form) Refuse(sentence string) { f.wrong = append(f.wrong, wrongField{says: sentence}) }

// Field is a field as it was sent, with what is wrong with it.
func (f *Form) Field(name string) Field {
	field := Field{Text: f.Values.Get(name)}
	for _, w := range f.wrong {
		if w.name == name {
			field.Problem = w.says
		}
	}
	return field
}

// Tempo reads a tempo at which a machine turns.
func (f *Form) Tempo(name, what string, l wheel.Limits) float64 {
	bpm, err := ReadTempo(f.Text(name))
	if err != nil || !(bpm >= l.TempoMinBPM && bpm <= l.TempoMaxBPM) {
		f.Wrong(name, what, fmt.Sprintf("a tempo within the machine's range, %s to %s BPM", say.Number(l.TempoMinBPM), say.Number(l.TempoMaxBPM)))
		return 0
	}
	return bpm
}

// Note reads a number that the page itself put into the form, such as the
// revision that it was made from.
func (f *Form) Note(name, of string, low int64) int64 {
	n, err := strconv.ParseInt(f.Text(name), 10, 64)
	if err != nil || n < low {
		f.Refuse(fmt.Sprintf("The page's own note of %s (its field %s) is %q; it should be a whole number from %d. Open the page again.", of, name, say.Short(f.Text(name)), low))
		return 0
	}
	return n
}

// Revision is the state of a machine that a page was made from.
func (f *Form) Revision() int {
	n, err := strconv.Atoi(f.Text("revision"))
	if err != nil {
		f.Refuse("The page does not say which state of the machine it changes; open it again.")
	}
	return n
}

// Err is everything that is wrong with the fields read so far; nil where
// nothing is.
func (f *Form) Err() error {
	if len(f.wrong) == 0 {
		return nil
	}
	lines := make([]string, len(f.wrong))
	for i, w := range f.wrong {
		lines[i] = w.says
	}
	return wheel.Refuse(wheel.ErrInvalid, "%s", strings.Join(lines, "\n"))
}

// ReadNumber reads a number as people type it, with a point or a comma.
func ReadNumber(text string) (float64, error) {
	return strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), ",", ".", 1), 64)
}

// ReadTempo reads a tempo as people type it.
func ReadTempo(text string) (float64, error) {
	bpm, err := ReadNumber(text)
	if err != nil || math.IsNaN(bpm) || bpm < 1 || bpm > wheel.MaxTempoBPM {
		return 0, wheel.Refuse(wheel.ErrInvalid, "The tempo is %q; it should be a number of beats per minute from 1 to %d.", say.Short(text), wheel.MaxTempoBPM)
	}
	return bpm, nil
}
