package file

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"pinwright/wheel"
	"strings"
	"unicode/utf8"
)

// MaxBytes is the largest machine or pinning file that is read.
const MaxBytes = 8 << 20

// jsonText is the one JSON value that a file holds. A byte order mark before
// it is passed over (RFC 8259, section 8.1, allows a reader to). Its error says
// what is wrong with a file that holds anything else.
func jsonText(data []byte) ([]byte, error) {
	if len(data) > MaxBytes {
		return nil, fmt.Errorf("the file is larger than %d MiB; a machine or pinning file is far smaller", MaxBytes>>20)
	}
	if !utf8.Valid(data) {
		return nil, errors.New("the file is not UTF-8 text; save it as UTF-8")
	}
	data = bytes.TrimPrefix(data, []byte("\ufeff"))
	if len(bytes.TrimSpace(data)) == 0 {
		return nil, errors.New("the file is empty")
	}
	if !json.Valid(data) {
		return nil, notJSON(data)
	}
	return data, nil
}

// notJSON says by line and column where data ceases to be one JSON value.
func notJSON(data []byte) error {
	dec := json.NewDecoder(bytes.NewReader(data))
	var raw json.RawMessage
	err := dec.Decode(&raw)
	if err == nil {
		end := dec.InputOffset()
		end += int64(len(data[end:]) - len(bytes.TrimLeft(data[end:], " \t\r\n")))
		return fmt.Errorf("%s: there is more after the end of the file's object", lineColumn(data, end))
	}
	var se *json.SyntaxError
	switch {
	case errors.Is(err, io.ErrUnexpectedEOF):
		return fmt.Errorf("%s: the file breaks off here, before its end", lineColumn(data, int64(len(data))))
	case !errors.As(err, &se) || se.Offset < 1:
		return fmt.Errorf("the file is not JSON (%w)", err)
	}
	at := se.Offset - 1
	for _, word := range []string{"NaN", "Infinity", "Inf"} {
		if bytes.HasPrefix(data[at:], []byte(word)) {
			return fmt.Errorf("%s: %s is not a number that can be used here", lineColumn(data, at), word)
		}
	}
	if strings.HasSuffix(se.Error(), "exceeded max depth") {
		return fmt.Errorf("%s: brackets are nested too deep here; no machine or pinning file nests so", lineColumn(data, at))
	}
	return fmt.Errorf("%s: the file is not JSON (%w)", lineColumn(data, at), se)
}

func lineColumn(data []byte, offset int64) string {
	before := data[:min(int(offset), len(data))]
	line := bytes.Count(before, []byte("\n")) + 1
	column := utf8.RuneCount(before[bytes.LastIndexByte(before, '\n')+1:]) + 1
	return fmt.Sprintf("line %d, column %d", line, column)
}

// cursor goes through text that is known to be one JSON value.
type cursor struct {
	text []byte
	at   int
}

func (c *cursor) space() {
	for c.at < len(c.text) && strings.IndexByte(" \t\r\n", c.text[c.at]) >= 0 {
		c.at++
	}
}

// enter moves past the bracket that opens an object or a list.
func (c *cursor) enter() { c.at++ }

// next moves to the next entry of an object or a list. After the last it moves
// past the closing bracket and is false.
func (c *cursor) next(closing byte) bool {
	c.space()
	switch c.text[c.at] {
	case closing:
		c.at++
		return false
	case ',':
		c.at++
		c.space()
	}
	return true
}

// key is the key at the cursor, which moves on to its value.
func (c *cursor) key() string {
	key := wheel.UnquoteJSON(c.take())
	c.space()
	c.at++ // the colon
	c.space()
	return key
}

// take is the whole value at the cursor, which moves past it.
func (c *cursor) take() []byte {
	start, depth := c.at, 0
	for {
		switch c.text[c.at] {
		case '"':
			c.takeString()
		case '{', '[':
			depth++
			c.at++
		case '}', ']':
			depth--
			c.at++
		case ',', ':', ' ', '\t', '\r', '\n':
			c.at++
			continue
		default:
			for c.at < len(c.text) && strings.IndexByte(",]} \t\r\n", c.text[c.at]) < 0 {
				c.at++
			}
		}
		if depth == 0 {
			return c.text[start:c.at]
		}
	}
}

func (c *cursor) takeString() {
	for c.at++; ; c.at++ {
		switch c.text[c.at] {
		case '\\':
			c.at++
		case '"':
			c.at++
			return
		}
	}
}
