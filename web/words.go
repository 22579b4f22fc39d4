package web

import (
	"strconv"
	"strings"
)

// readNumber reads a number as people type it, with a point or a comma.
func readNumber(text string) (float64, error) {
	return strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), ",", ".", 1), 64)
}
