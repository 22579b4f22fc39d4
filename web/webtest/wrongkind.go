package webtest

import (
	"reflect"
	"regexp"
	"strings"
	"testing"
)

// WrongKinds is, for each field of a message by its JSON name, a message with a
// value of a kind that the field does not take; at the empty name, a message that
// is no object.
func WrongKinds(t testing.TB, message any) map[string]string {
	t.Helper()
	messages := map[string]string{"": "[1]"}
	for _, f := range reflect.VisibleFields(reflect.TypeOf(message)) {
		name, _, _ := strings.Cut(f.Tag.Get("json"), ",")
		value := `{"x": [1]}`
		if f.Type.Kind() == reflect.Map || f.Type.Kind() == reflect.Struct {
			value = `"x"`
		}
		messages[name] = `{"` + name + `": ` + value + `}`
	}
	if len(messages) < 3 {
		t.Fatal("no fields")
	}
	return messages
}

// ofGo is what only a Go programmer would say.
var ofGo = regexp.MustCompile(`(?i)\bGo (value|struct)|\bstruct\b|json:|unmarshal|\bu?int(8|16|32|64)?\b|float64|map\[|\[\]`)

// PlainWords fails the test where a refusal says nothing, or says it in words of
// Go, such as the name of a type of one of the values given.
func PlainWords(t testing.TB, what, refusal string, values ...any) {
	t.Helper()
	if refusal == "" || ofGo.MatchString(refusal) {
		t.Errorf("%s: it says %q", what, refusal)
	}
	for _, v := range values {
		if name := reflect.TypeOf(v).Name(); name == "" || strings.Contains(strings.ToLower(refusal), strings.ToLower(name)) {
			t.Errorf("%s: it names the type %q: %q", what, name, refusal)
		}
	}
}
