package page

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"reflect"
	"strings"

	"pinwright/wheel"
	"pinwright/wheel/say"
)

// Broken says that a body did not arrive as it was sent. A body that is too
// large stays what it is.
func Broken(err error) error {
	var large *http.MaxBytesError
	if errors.As(err, &large) {
		return err
	}
	return wheel.Refuse(wheel.ErrMalformed, "What was sent did not arrive whole; send it again.")
}

// DecodeJSON reads the one JSON value in body into v. A field that v does not
// have is refused, as is more than one value. What is wrong is said in the
// words of the page that sent it: none of Go's types is named.
func DecodeJSON(body io.Reader, v any) error {
	dec := json.NewDecoder(body)
	dec.DisallowUnknownFields()
	err := dec.Decode(v)
	if err == nil {
		if _, err = dec.Token(); errors.Is(err, io.EOF) {
			return nil
		}
		if err == nil {
			err = errMore
		}
	}
	var large *http.MaxBytesError
	if errors.As(err, &large) {
		return err
	}
	return wheel.Refuse(wheel.ErrMalformed, "The page sent what this program cannot read: %s. Load the page again.", wrongJSON(err))
}

var errMore = errors.New("more than one value")

func wrongJSON(err error) string {
	var kind *json.UnmarshalTypeError
	var syntax *json.SyntaxError
	switch {
	case errors.Is(err, errMore):
		return "there is more than one value"
	case errors.Is(err, io.EOF):
		return "there is nothing in it"
	case errors.As(err, &kind):
		return wrongKind(kind)
	case errors.As(err, &syntax), errors.Is(err, io.ErrUnexpectedEOF):
		return "it is not whole JSON"
	}
	// encoding/json has no type for this error.
	if name, ok := strings.CutPrefix(err.Error(), "json: unknown field "); ok {
		return fmt.Sprintf("there is no field %s", say.Short(name))
	}
	if strings.HasPrefix(err.Error(), "json: ") {
		return "it is not whole JSON"
	}
	return err.Error() // of a type of ours, which reads itself
}

func wrongKind(kind *json.UnmarshalTypeError) string {
	where := "it"
	if kind.Field != "" {
		where = fmt.Sprintf("%q", say.Short(kind.Field))
	}
	is, literal, isNumber := strings.Cut(kind.Value, " ")
	switch wanted := wantedWords(kind.Type); {
	case isNumber && strings.ContainsAny(literal, ".eE") && wanted == "a whole number":
		return fmt.Sprintf("%s is %s; it should be a whole number", where, say.Short(literal))
	case isNumber: // the kind is right, so the size is not
		return fmt.Sprintf("%s is %s; it should be %s of ordinary size", where, say.Short(literal), wanted)
	default:
		return fmt.Sprintf("%s is %s; it should be %s", where, jsonWords(is), wanted)
	}
}

// jsonWords is a kind of JSON value (RFC 8259, 3) as a sentence has it.
func jsonWords(kind string) string {
	switch kind {
	case "object", "array":
		return "an " + kind
	case "bool":
		return "true or false"
	}
	return "a " + kind
}

// wantedWords is the kind of JSON value that a Go type is read from.
func wantedWords(t reflect.Type) string {
	switch t.Kind() {
	case reflect.Pointer:
		return wantedWords(t.Elem())
	case reflect.Bool:
		return "true or false"
	case reflect.String:
		return "a string"
	case reflect.Float32, reflect.Float64:
		return "a number"
	case reflect.Slice, reflect.Array:
		return "an array"
	case reflect.Map, reflect.Struct:
		return "an object"
	}
	return "a whole number"
}
