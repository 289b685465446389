package trace

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
)

var errQuote = errors.New("quoted cell does not end on its line")

// cells splits one line of the text into its cells, appended to dst. The cells
// share the memory of line where they can.
func (l *layout) cells(dst [][]byte, line []byte) ([][]byte, error) {
	if l.json {
		return l.jsonCells(dst, line)
	}
	return splitCells(dst, line, l.sep)
}

// splitCells splits at sep, honours quotes (RFC 4180, within one line) and
// trims blanks.
func splitCells(dst [][]byte, line []byte, sep byte) ([][]byte, error) {
	if bytes.IndexByte(line, '"') >= 0 {
		return splitQuoted(dst, line, sep)
	}
	for {
		i := bytes.IndexByte(line, sep)
		if i < 0 {
			return append(dst, trimBlank(line)), nil
		}
		dst = append(dst, trimBlank(line[:i]))
		line = line[i+1:]
	}
}

// trimBlank cuts blanks and tabs at both ends; it is bytes.TrimSpace for the
// common case of none.
func trimBlank(b []byte) []byte {
	for len(b) > 0 && (b[0] == ' ' || b[0] == '\t') {
		b = b[1:]
	}
	for len(b) > 0 && (b[len(b)-1] == ' ' || b[len(b)-1] == '\t') {
		b = b[:len(b)-1]
	}
	return b
}

func splitQuoted(dst [][]byte, line []byte, sep byte) ([][]byte, error) {
	cell := []byte{}
	inQuotes := false
	for i := 0; i < len(line); i++ {
		c := line[i]
		switch {
		case inQuotes && c == '"' && i+1 < len(line) && line[i+1] == '"':
			cell = append(cell, '"')
			i++
		case c == '"':
			inQuotes = !inQuotes
		case c == sep && !inQuotes:
			dst = append(dst, trimBlank(cell))
			cell = []byte{}
		default:
			cell = append(cell, c)
		}
	}
	if inQuotes {
		return dst, errQuote
	}
	return append(dst, trimBlank(cell)), nil
}

// jsonCells reads one object; keys that the first object did not have are
// ignored and absent keys are blank.
func (l *layout) jsonCells(dst [][]byte, line []byte) ([][]byte, error) {
	var object map[string]json.RawMessage
	if err := json.Unmarshal(line, &object); err != nil {
		return dst, fmt.Errorf("JSON object: %w", err)
	}
	for _, c := range l.columns {
		raw := bytes.TrimSpace(object[c.name])
		switch {
		case len(raw) == 0 || string(raw) == "null":
			dst = append(dst, nil)
		case raw[0] == '"':
			var text string
			if err := json.Unmarshal(raw, &text); err != nil {
				return dst, fmt.Errorf("JSON object: %w", err)
			}
			dst = append(dst, bytes.TrimSpace([]byte(text)))
		default:
			dst = append(dst, raw)
		}
	}
	return dst, nil
}
