package file

import (
	"fmt"
	"math"
	"pinwright/wheel"
	"reflect"
	"strconv"
	"strings"
)

// defaulter is a value whose fields are not all 0 when left out.
type defaulter interface{ SetDefaults() }

// strict reads JSON into a value of ours, in one pass, and notes every problem
// with its place: unknown and doubled keys, wrong kinds of value, numbers that
// are not whole or not finite, lists longer than they may be.
type strict struct {
	cursor
	place    []part
	names    map[reflect.Type][]string // keys of a struct, by field
	problems wheel.Problems
}

// decode reads one JSON value, and nothing after it, into v.
func decode(data []byte, v any) wheel.Problems {
	text, err := jsonText(data)
	if err != nil {
		return wheel.Problems{{Says: err.Error()}}
	}
	s := strict{cursor: cursor{text: text}, names: map[reflect.Type][]string{}}
	s.space()
	s.value(reflect.ValueOf(v).Elem())
	return s.problems
}

func (s *strict) add(format string, args ...any) {
	if !s.problems.Full() {
		s.problems.Add(placeText(s.place), format, args...)
	}
}

// wrong notes that the value just taken is not what should stand here.
func (s *strict) wrong(raw []byte, right string) {
	if len(s.place) == 0 {
		s.add("the file is %s; it should be %s", wheel.ShowJSON(raw), right)
		return
	}
	s.add("is %s; it should be %s", wheel.ShowJSON(raw), right)
}

func (s *strict) value(v reflect.Value) {
	if s.problems.Full() {
		s.take()
		return
	}
	switch v.Kind() {
	case reflect.Struct:
		s.structure(v)
	case reflect.Map:
		s.table(v)
	case reflect.Slice:
		s.list(v)
	case reflect.String:
		if raw := s.take(); raw[0] == '"' {
			v.SetString(wheel.UnquoteJSON(raw))
		} else {
			s.wrong(raw, "text in quotes")
		}
	case reflect.Bool:
		if raw := s.take(); raw[0] == 't' || raw[0] == 'f' {
			v.SetBool(raw[0] == 't')
		} else {
			s.wrong(raw, "true or false")
		}
	case reflect.Float64:
		raw := s.take()
		if f, ok := s.number(raw); ok {
			v.SetFloat(f)
		}
	case reflect.Int:
		raw := s.take()
		f, ok := s.number(raw)
		switch {
		case !ok:
		case f != math.Trunc(f) || math.Abs(f) > 1e9:
			s.wrong(raw, "a whole number below a thousand million")
		case f == 0 && v.Type() == reflect.TypeFor[wheel.Count]():
			s.wrong(raw, "a whole number of at least 1, or left out")
		default:
			v.SetInt(int64(f))
		}
	default:
		panic("wheel: no reader for " + v.Type().String())
	}
}

func (s *strict) number(raw []byte) (float64, bool) {
	if raw[0] != '-' && (raw[0] < '0' || raw[0] > '9') {
		s.wrong(raw, "a number")
		return 0, false
	}
	f, err := strconv.ParseFloat(string(raw), 64)
	if err != nil {
		s.wrong(raw, "a number of ordinary size")
		return 0, false
	}
	return f, true
}

// structure reads an object whose keys are known, or the number that a
// [wheel.Aim] or a [wheel.Maybe] is in a file.
func (s *strict) structure(v reflect.Value) {
	switch to := v.Addr().Interface().(type) {
	case *wheel.Aim:
		if step, ok := s.number(s.take()); ok {
			*to = wheel.AimAt(step)
		}
		return
	case *wheel.Maybe:
		if value, ok := s.number(s.take()); ok {
			*to = wheel.Known(value + 0) // no −0
		}
		return
	case defaulter:
		to.SetDefaults()
	}
	if s.text[s.at] != '{' {
		s.wrong(s.take(), "an object in braces")
		return
	}
	names := s.namesOf(v.Type())
	var seen uint64 // one bit for each field
	for s.enter(); s.next('}'); {
		key := s.key()
		s.place = append(s.place, part{key: key})
		switch i := indexOf(names, key); {
		case i < 0:
			if !s.problems.Full() {
				s.add("is not a key this file can have%s", didYouMean(key, names))
			}
			s.take()
		case seen&(1<<i) != 0:
			s.add("stands twice; keep one of them")
			s.take()
		default:
			seen |= 1 << i
			s.value(v.Field(i))
		}
		s.place = s.place[:len(s.place)-1]
	}
}

// table reads an object whose keys are ids.
func (s *strict) table(v reflect.Value) {
	if s.text[s.at] != '{' {
		s.wrong(s.take(), "an object in braces")
		return
	}
	most := mostOf(v.Type())
	tooMany := false
	for s.enter(); s.next('}'); {
		key := s.key()
		if v.IsNil() {
			v.Set(reflect.MakeMap(v.Type()))
		}
		name := reflect.ValueOf(key)
		if v.Len() == most && !v.MapIndex(name).IsValid() {
			if !tooMany {
				s.add("has more than %d entries", most)
			}
			tooMany = true
			s.take()
			continue
		}
		s.place = append(s.place, part{key: key})
		if v.MapIndex(name).IsValid() {
			s.add("stands twice; keep one of them")
			s.take()
		} else {
			e := reflect.New(v.Type().Elem()).Elem()
			s.value(e)
			v.SetMapIndex(name, e)
		}
		s.place = s.place[:len(s.place)-1]
	}
}

func (s *strict) list(v reflect.Value) {
	if s.text[s.at] != '[' {
		s.wrong(s.take(), "a list in square brackets")
		return
	}
	most := mostOf(v.Type())
	n := 0
	for s.enter(); s.next(']'); n++ {
		if n >= most {
			if n == most {
				s.add("has more than %d entries", most)
			}
			s.take()
			continue
		}
		if n == v.Cap() {
			v.Grow(max(n, 4)) // doubles
		}
		v.SetLen(n + 1)
		s.place = append(s.place, part{index: n, inList: true})
		s.value(v.Index(n))
		s.place = s.place[:len(s.place)-1]
	}
}

// mostOf is how many entries a list or table of the files may have, so that
// none takes memory out of proportion to the file.
func mostOf(t reflect.Type) int {
	switch t.Elem() {
	case reflect.TypeFor[wheel.Lane]():
		return wheel.MaxLanes
	case reflect.TypeFor[wheel.Pin]():
		return wheel.MaxPins
	case reflect.TypeFor[wheel.Measured]():
		return wheel.MaxMeasured
	}
	return wheel.MaxChannels
}

func (s *strict) namesOf(t reflect.Type) []string {
	names := s.names[t]
	if names == nil {
		for i := range t.NumField() {
			if f := t.Field(i); f.IsExported() { // those that are not stand last
				name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
				names = append(names, name)
			}
		}
		s.names[t] = names
	}
	return names
}

func indexOf(names []string, key string) int {
	for i, name := range names {
		if name == key {
			return i
		}
	}
	return -1
}

func didYouMean(key string, names []string) string {
	if name := wheel.Nearest(key, names); name != "" {
		return "; did you mean " + name + "?"
	}
	return ""
}

// part is one part of a place: a key, or an index in a list.
type part struct {
	key    string
	index  int
	inList bool
}

func placeText(parts []part) string {
	var b strings.Builder
	for i, p := range parts {
		if p.inList {
			fmt.Fprintf(&b, "[%d]", p.index)
			continue
		}
		if i > 0 {
			b.WriteByte('.')
		}
		b.WriteString(wheel.IDText(p.key))
	}
	return b.String()
}
