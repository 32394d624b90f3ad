package bookfile

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"
	"strings"
	"unicode/utf8"

	"lumbricary.example/service"
)

// WriteJSON writes the book as one JSON document. Errors: none that a book can
// cause.
func WriteJSON(b service.Book) ([]byte, error) {
	var d Document
	for _, s := range sheets() {
		s.fill(&d, b)
	}
	var out bytes.Buffer
	enc := json.NewEncoder(&out)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	err := enc.Encode(d)
	return out.Bytes(), err
}

// ReadJSON reads the book from a JSON document. Rows at fault come with their
// faults, at JSON pointers into the document. Errors: ErrMalformed for what is
// no such document; ErrTooLarge for more than MaxRows rows.
func ReadJSON(data []byte) (service.Book, error) {
	var tables map[string][]json.RawMessage
	if !utf8.Valid(data) {
		return service.Book{}, service.ErrMalformed.With("the document isn't UTF-8")
	}
	if err := json.Unmarshal(data, &tables); err != nil {
		return service.Book{}, service.ErrMalformed.With("the document should be a JSON object with an array of rows for each of %s: %v", strings.Join(Nouns(), ", "), err)
	}
	if name, twice := repeated(data); twice {
		return service.Book{}, service.ErrMalformed.With("an object has the member %q twice", name)
	}
	var book service.Book
	rows := 0
	for _, s := range sheets() {
		rows += len(tables[s.noun()])
		if rows > MaxRows {
			return service.Book{}, tooManyRows()
		}
		s.readJSON(&book, tables[s.noun()])
		delete(tables, s.noun())
	}
	for _, other := range sortedKeys(tables) {
		return service.Book{}, service.ErrMalformed.With("the document has no table %q; it has %s", other, strings.Join(Nouns(), ", "))
	}
	return book, nil
}

// repeated finds a member that an object of sound JSON has twice.
func repeated(data []byte) (name string, twice bool) {
	d := json.NewDecoder(bytes.NewReader(data))
	var open []map[string]bool // names of the objects around; nil for arrays
	isName := false
	for {
		token, err := d.Token()
		if err != nil {
			return "", false // the end
		}
		inObject := len(open) > 0 && open[len(open)-1] != nil
		switch text, isText := token.(string); {
		case token == json.Delim('{'):
			open, isName = append(open, map[string]bool{}), true
			continue
		case token == json.Delim('['):
			open = append(open, nil)
			continue
		case token == json.Delim('}'), token == json.Delim(']'):
			open = open[:len(open)-1]
		case inObject && isName && isText:
			if open[len(open)-1][text] {
				return text, true
			}
			open[len(open)-1][text], isName = true, false
			continue
		}
		isName = true
	}
}

func sortedKeys[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }

// names lists columns for a message.
func names(columns []column) string {
	var out []string
	for _, c := range columns {
		out = append(out, c.name)
	}
	return strings.Join(out, ", ")
}

// setMember reads a member of a JSON row into a row's field. Errors: what would
// be right.
func setMember(into reflect.Value, raw json.RawMessage) error {
	d := json.NewDecoder(bytes.NewReader(raw))
	d.DisallowUnknownFields()
	if err := d.Decode(into.Addr().Interface()); err != nil {
		into.SetZero()
		return errors.New(rightType(into.Type()))
	}
	if bytes.Contains(raw, []byte(`\u0000`)) && strings.Contains(fmt.Sprint(into.Interface()), "\x00") {
		into.SetZero()
		return errors.New("there is a NUL character in the text; take it out")
	}
	return nil
}

// rightType says what a member should be.
func rightType(t reflect.Type) string {
	switch t {
	case reflect.TypeFor[string]():
		return "give a text"
	case reflect.TypeFor[*float64]():
		return "give a number"
	case reflect.TypeFor[*int64]():
		return "give a whole number"
	case reflect.TypeFor[*bool]():
		return "give true or false"
	case reflect.TypeFor[[]string]():
		return "give an array of texts"
	}
	return "give an array of objects with " + names(columnsOf(t.Elem()))
}
