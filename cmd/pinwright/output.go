package main

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"
)

// answer writes a command's whole answer at once. An answer that could not be
// written is not given, whatever it says.
func answer(stdout, stderr io.Writer, text string, status int) int {
	if _, err := io.WriteString(stdout, text); err != nil {
		fmt.Fprintf(stderr, "pinwright: the answer could not be written: %s\n", err)
		return refused
	}
	return status
}

// answerJSON writes one JSON object, text as it stands and numbers in full.
func answerJSON(stdout, stderr io.Writer, v any, status int) int {
	var b strings.Builder
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		fmt.Fprintf(stderr, "pinwright: the answer cannot be written as JSON: %s\n", err)
		return refused
	}
	return answer(stdout, stderr, b.String(), status)
}

// lines writes the first so many of a list, one a line, and how many more there
// are.
func lines[T any](b *strings.Builder, list []T, most int, write func(T) string) {
	for _, one := range list[:min(len(list), most)] {
		fmt.Fprintf(b, "  %s\n", write(one))
	}
	if more := len(list) - most; more > 0 {
		fmt.Fprintf(b, "  and %d more; -json lists them all\n", more)
	}
}
