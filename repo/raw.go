package repo

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"strconv"
	"unicode/utf8"
)

// maxExact is the largest whole number that every reader of JSON takes exactly.
const maxExact = 1<<53 - 1

var (
	errNotText  = errors.New("a text is no UTF-8")
	errTooGreat = errors.New("a whole number is beyond 2^53")
	errOtherRow = errors.New("a value is of another type than its column")
)

// appendRow adds a row as a line of canonical JSON (RFC 8785). Errors: one that
// names the column whose value can't be written.
func (t relation) appendRow(line []byte, values []any) ([]byte, error) {
	line = append(line, '{')
	for i, c := range t.columns {
		if i > 0 {
			line = append(line, ',')
		}
		line = append(line, '"')
		line = append(line, c.name...)
		line = append(line, `":`...)
		var err error
		if line, err = appendValue(line, c.kind, values[i]); err != nil {
			return line, fmt.Errorf("%s.%s: %w", t.name, c.name, err)
		}
	}
	return append(line, '}'), nil
}

// appendValue adds a value as drivers give it. Errors: errNotText, errTooGreat,
// errOtherRow.
func appendValue(line []byte, kind columnKind, v any) ([]byte, error) {
	switch v := v.(type) {
	case nil:
		return append(line, "null"...), nil
	case string:
		if kind == textColumn {
			return appendText(line, v)
		}
	case []byte:
		if kind == textColumn {
			return appendText(line, string(v))
		}
		if kind == bytesColumn {
			return appendText(line, base64.StdEncoding.EncodeToString(v))
		}
	case bool:
		if kind == truthColumn {
			return strconv.AppendBool(line, v), nil
		}
	case int64:
		return appendWhole(line, kind, v)
	case float64:
		if kind == realColumn {
			return appendReal(line, v)
		}
	}
	return line, errOtherRow
}

// appendWhole adds a whole number, which may stand for a truth or be a real one.
// Errors: errTooGreat, errOtherRow.
func appendWhole(line []byte, kind columnKind, n int64) ([]byte, error) {
	switch {
	case kind == truthColumn:
		return strconv.AppendBool(line, n != 0), nil
	case kind == realColumn:
		return appendReal(line, float64(n))
	case kind != wholeColumn:
		return line, errOtherRow
	case n > maxExact || n < -maxExact:
		return line, errTooGreat
	}
	return strconv.AppendInt(line, n, 10), nil
}

// appendReal adds a number as ECMAScript writes it, which is how package json
// does, but for a zero's sign. Errors: json's for what is no number.
func appendReal(line []byte, x float64) ([]byte, error) {
	if x == 0 {
		return append(line, '0'), nil
	}
	text, err := json.Marshal(x)
	return append(line, text...), err
}

// short are the characters that have an escape of their own.
var short = map[byte]byte{'\b': 'b', '\t': 't', '\n': 'n', '\f': 'f', '\r': 'r', '"': '"', '\\': '\\'}

// appendText adds a text as RFC 8785 writes it. Errors: errNotText.
func appendText(line []byte, text string) ([]byte, error) {
	if !utf8.ValidString(text) {
		return line, errNotText
	}
	line = append(line, '"')
	from := 0
	for i := range len(text) {
		c := text[i]
		if c >= ' ' && c != '"' && c != '\\' {
			continue
		}
		line = append(line, text[from:i]...)
		from = i + 1
		if e, ok := short[c]; ok {
			line = append(line, '\\', e)
		} else {
			line = fmt.Appendf(line, `\u%04x`, c)
		}
	}
	line = append(line, text[from:]...)
	return append(line, '"'), nil
}

// readRow reads a line back into values for the database. Errors: one that says
// what is wrong with the line: it isn't to the byte as appendRow writes it.
func (t relation) readRow(line []byte) ([]any, error) {
	var members map[string]any
	in := json.NewDecoder(bytes.NewReader(line))
	in.UseNumber()
	if err := in.Decode(&members); err != nil {
		return nil, fmt.Errorf("the row can't be read: %w", err)
	}
	values := make([]any, len(t.columns))
	for i, c := range t.columns {
		v, there := members[c.name]
		if !there {
			return nil, fmt.Errorf("member %q is missing", c.name)
		}
		var err error
		if values[i], err = valueOf(c.kind, v); err != nil {
			return nil, fmt.Errorf("member %q: %w", c.name, err)
		}
	}
	for name := range members {
		if _, known := t.column(name); !known {
			return nil, fmt.Errorf("there is no member %q", name)
		}
	}
	if again, err := t.appendRow(nil, values); err != nil || !bytes.Equal(again, line) {
		return nil, errors.New("the row isn't in canonical form")
	}
	return values, nil
}

// valueOf is a member's value for a column. Errors: errOtherRow.
func valueOf(kind columnKind, v any) (any, error) {
	switch v := v.(type) {
	case nil:
		return nil, nil //nolint:nilnil // NULL is a value
	case bool:
		if kind == truthColumn {
			return v, nil
		}
	case string:
		if kind == textColumn {
			return v, nil
		}
		if data, err := base64.StdEncoding.DecodeString(v); err == nil && kind == bytesColumn {
			return data, nil
		}
	case json.Number:
		if n, err := v.Int64(); err == nil && kind == wholeColumn {
			return n, nil
		}
		if x, err := v.Float64(); err == nil && kind == realColumn {
			return x, nil
		}
	}
	return nil, errOtherRow
}
