package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
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

func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

// rangeWords is a range of tempo for people: to a hundredth, inwards, so that
// what is said to be safe is.
func rangeWords(fromBPM, toBPM float64) string {
	return figure(math.Ceil(fromBPM*100-1e-6)/100) + " to " + topWords(toBPM)
}

// topWords is a highest tempo for people: to a hundredth and never above it.
func topWords(bpm float64) string { return figure(math.Floor(bpm*100+1e-6) / 100) }

// tempoWords is a tempo for people, to the nearest hundredth.
func tempoWords(bpm float64) string { return figure(math.Round(bpm*100) / 100) }

// msWords is a time in milliseconds for people, to a tenth.
func msWords(ms float64) string { return figure(math.Round(ms*10)/10) + " ms" }

func figure(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
