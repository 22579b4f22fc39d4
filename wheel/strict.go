package wheel

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"reflect"
	"strconv"
	"strings"
	"unicode/utf8"
)

// MaxFileBytes is the largest machine or pinning file that is read.
const MaxFileBytes = 8 << 20

// maxProblems ends the list of a file that is wrong everywhere.
const maxProblems = 100

// defaulter is a value whose fields are not all 0 when left out.
type defaulter interface{ setDefaults() }

// strict reads JSON into a value of ours and notes every problem with its
// place: unknown and doubled keys, wrong kinds of value, numbers that are not
// whole or not finite.
type strict struct{ problems Problems }

// decode reads one JSON value, and nothing after it, into v.
func decode(data []byte, v any) Problems {
	var s strict
	switch {
	case len(data) > MaxFileBytes:
		s.problems.Add("", "the file is larger than %d MiB; a machine or pinning file is far smaller", MaxFileBytes>>20)
	case !utf8.Valid(data):
		s.problems.Add("", "the file is not UTF-8 text; save it as UTF-8")
	case len(bytes.TrimSpace(data)) == 0:
		s.problems.Add("", "the file is empty")
	default:
		data = bytes.TrimPrefix(data, []byte("\ufeff"))
		if err := syntax(data); err != nil {
			s.problems.Add("", "%s", err)
			break
		}
		s.value("", data, reflect.ValueOf(v).Elem())
	}
	return s.problems
}

// syntax checks that data is one JSON value, and says by line and column
// where it is not.
func syntax(data []byte) error {
	dec := json.NewDecoder(bytes.NewReader(data))
	var raw json.RawMessage
	err := dec.Decode(&raw)
	if err == nil {
		if _, err = dec.Token(); err == io.EOF {
			return nil
		}
		return fmt.Errorf("%s: there is more after the end of the file's object", lineColumn(data, dec.InputOffset()))
	}
	var se *json.SyntaxError
	if errors.As(err, &se) && se.Offset > 0 {
		at := se.Offset - 1
		rest := data[at:]
		for _, word := range []string{"NaN", "Infinity", "-Infinity", "Inf", "-Inf"} {
			if bytes.HasPrefix(rest, []byte(word)) {
				return fmt.Errorf("%s: %s is not a number that can be used here", lineColumn(data, at), word)
			}
		}
		return fmt.Errorf("%s: not JSON (%s)", lineColumn(data, at), se)
	}
	if errors.Is(err, io.ErrUnexpectedEOF) {
		return errors.New("the file breaks off before its end")
	}
	return fmt.Errorf("not JSON (%w)", err)
}

func lineColumn(data []byte, offset int64) string {
	before := data[:min(int(offset), len(data))]
	line := bytes.Count(before, []byte("\n")) + 1
	column := utf8.RuneCount(before[bytes.LastIndexByte(before, '\n')+1:]) + 1
	return fmt.Sprintf("line %d, column %d", line, column)
}

func (s *strict) add(place, format string, args ...any) {
	if len(s.problems) < maxProblems {
		s.problems.Add(place, format, args...)
	}
}

func (s *strict) value(place string, raw json.RawMessage, v reflect.Value) {
	raw = bytes.TrimSpace(raw)
	if d, ok := v.Addr().Interface().(defaulter); ok {
		d.setDefaults()
	}
	if u, ok := v.Addr().Interface().(json.Unmarshaler); ok {
		if raw[0] != '-' && (raw[0] < '0' || raw[0] > '9') || u.UnmarshalJSON(raw) != nil {
			s.add(place, "is %s; it should be a number", short(raw))
		}
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		s.object(place, raw, v)
	case reflect.Map:
		s.table(place, raw, v)
	case reflect.Slice:
		s.list(place, raw, v)
	case reflect.String:
		if raw[0] != '"' || json.Unmarshal(raw, v.Addr().Interface()) != nil {
			s.add(place, "is %s; it should be text in quotes", short(raw))
		}
	case reflect.Bool:
		if json.Unmarshal(raw, v.Addr().Interface()) != nil || raw[0] == 'n' {
			s.add(place, "is %s; it should be true or false", short(raw))
		}
	case reflect.Float64:
		if f, ok := s.number(place, raw); ok {
			v.SetFloat(f)
		}
	case reflect.Int:
		f, ok := s.number(place, raw)
		switch {
		case !ok:
		case f != math.Trunc(f) || math.Abs(f) > 1e9:
			s.add(place, "is %s; it should be a whole number below a thousand million", short(raw))
		default:
			v.SetInt(int64(f))
		}
	default:
		panic("wheel: no reader for " + v.Type().String())
	}
}

func (s *strict) number(place string, raw json.RawMessage) (float64, bool) {
	if raw[0] != '-' && (raw[0] < '0' || raw[0] > '9') {
		s.add(place, "is %s; it should be a number", short(raw))
		return 0, false
	}
	f, err := strconv.ParseFloat(string(raw), 64)
	if err != nil {
		s.add(place, "is %s; it should be a number of ordinary size", short(raw))
		return 0, false
	}
	return f, true
}

// members calls each for every key of an object, in file order, and notes
// doubled keys.
func (s *strict) members(place string, raw json.RawMessage, each func(key, place string, raw json.RawMessage)) {
	if raw[0] != '{' {
		s.add(place, "is %s; it should be an object in braces", short(raw))
		return
	}
	seen := map[string]bool{}
	dec := json.NewDecoder(bytes.NewReader(raw))
	_, _ = dec.Token()
	for dec.More() {
		token, _ := dec.Token()
		key := token.(string)
		var member json.RawMessage
		_ = dec.Decode(&member) // the whole text has been through syntax
		at := key
		if place != "" {
			at = place + "." + key
		}
		if seen[key] {
			s.add(at, "stands twice; keep one of them")
			continue
		}
		seen[key] = true
		each(key, at, member)
	}
}

func (s *strict) object(place string, raw json.RawMessage, v reflect.Value) {
	fields := v.Type()
	s.members(place, raw, func(key, at string, member json.RawMessage) {
		for i := range fields.NumField() {
			if name, _, _ := strings.Cut(fields.Field(i).Tag.Get("json"), ","); name == key {
				s.value(at, member, v.Field(i))
				return
			}
		}
		s.add(at, "is not a key this file can have%s", nearest(key, fields))
	})
}

func (s *strict) table(place string, raw json.RawMessage, v reflect.Value) {
	if v.IsNil() {
		v.Set(reflect.MakeMap(v.Type()))
	}
	s.members(place, raw, func(key, at string, member json.RawMessage) {
		e := reflect.New(v.Type().Elem()).Elem()
		s.value(at, member, e)
		v.SetMapIndex(reflect.ValueOf(key), e)
	})
}

func (s *strict) list(place string, raw json.RawMessage, v reflect.Value) {
	if raw[0] != '[' {
		s.add(place, "is %s; it should be a list in square brackets", short(raw))
		return
	}
	dec := json.NewDecoder(bytes.NewReader(raw))
	_, _ = dec.Token()
	for i := 0; dec.More(); i++ {
		var member json.RawMessage
		_ = dec.Decode(&member)
		e := reflect.New(v.Type().Elem()).Elem()
		s.value(fmt.Sprintf("%s[%d]", place, i), member, e)
		v.Set(reflect.Append(v, e))
	}
}

// short shows a wrong value as it stands in the file, cut where it is long.
func short(raw json.RawMessage) string {
	const most = 40
	text := string(raw)
	switch {
	case text == "null":
		return "null"
	case text[0] == '{':
		return "an object"
	case text[0] == '[':
		return "a list"
	case utf8.RuneCountInString(text) > most:
		return string([]rune(text)[:most]) + "…"
	case text[0] == '-':
		return "−" + text[1:]
	}
	return text
}

// nearest suggests the key that was probably meant.
func nearest(key string, fields reflect.Type) string {
	best, least := "", 4
	for i := range fields.NumField() {
		name, _, _ := strings.Cut(fields.Field(i).Tag.Get("json"), ",")
		if d := changes(key, name); d < least && d < len(name) {
			best, least = name, d
		}
	}
	if best == "" {
		return ""
	}
	return fmt.Sprintf("; did you mean %s?", best)
}

// changes counts the single letters to put in, take out or replace to make b
// of a (Levenshtein 1965).
func changes(a, b string) int {
	if len(a) > 64 {
		return len(a)
	}
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diagonal := row[0]
		row[0] = i + 1
		for j := range len(b) {
			cost := diagonal
			if a[i] != b[j] {
				cost++
			}
			diagonal = row[j+1]
			row[j+1] = min(cost, row[j]+1, diagonal+1)
		}
	}
	return row[len(b)]
}
