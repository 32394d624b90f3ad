package bookfile

import (
	"encoding/json"
	"fmt"
	"reflect"
	"slices"
	"strings"

	"lumbricary.example/service"
)

// table is one noun: its rows R of a file and its records T of the book.
type table[R, T any] struct {
	name   string
	rows   func(*Document) *[]R
	of     func(*service.Book) *service.Table[T]
	record func(*reading, R, []R) T // from what the rows share, and their parts
	write  func(service.Row[T]) []R
}

// sheet is a table, whatever its types.
type sheet interface {
	noun() string
	columns() []column
	readCSV(b *service.Book, file string, records []record) int
	readJSON(b *service.Book, rows []json.RawMessage)
	fill(d *Document, b service.Book)
	writeCSV(b service.Book) []byte
}

func (t table[R, T]) noun() string { return t.name }

func (t table[R, T]) columns() []column { return columnsOf(reflect.TypeFor[R]()) }

// reading is one record being read: where it stands, and what is wrong with it.
type reading struct {
	file   string
	line   int
	parts  []int // the line of each part
	faults service.Faults
}

// fault notes what is wrong in a column of the record.
func (r *reading) fault(column, code, detail string) { r.at(r.line, column, code, detail) }

// missing notes what a part doesn't tell in a column.
func (r *reading) missing(part int, column, detail string) {
	r.at(r.parts[part], column, "required", detail)
}

// at notes what is wrong in a cell, unless something is already.
func (r *reading) at(line int, column, code, detail string) {
	pointer := fmt.Sprintf("/%s/%d", r.file, line)
	if column != "" {
		pointer += "/" + escapedPointer(column)
	}
	if !slices.ContainsFunc(r.faults, func(f service.FieldError) bool { return f.Pointer == pointer }) {
		r.faults.Add(pointer, code, "%s", detail)
	}
}

// escapedPointer escapes a segment of a JSON pointer (RFC 6901).
func escapedPointer(segment string) string {
	return strings.NewReplacer("~", "~0", "/", "~1").Replace(segment)
}

// line is one row with what was wrong with its cells.
type line[R any] struct {
	reading
	row R
}

// readCSV reads the rows under the header, which has been checked.
func (t table[R, T]) readCSV(b *service.Book, file string, records []record) int {
	columns := map[string]column{}
	for _, c := range t.columns() {
		columns[c.name] = c
	}
	var lines []line[R]
	for _, r := range records[1:] {
		l := line[R]{reading: reading{file: file, line: r.line}}
		row := reflect.ValueOf(&l.row).Elem()
		for i, cell := range r.cells {
			c := columns[records[0].cells[i]]
			if err := setCell(row.Field(c.field), cell); err != nil {
				l.fault(c.name, "format", err.Error())
			}
		}
		lines = append(lines, l)
	}
	t.take(b, lines)
	return len(lines)
}

// readJSON reads the rows of the document's table.
func (t table[R, T]) readJSON(b *service.Book, rows []json.RawMessage) {
	columns := map[string]column{}
	for _, c := range t.columns() {
		columns[c.name] = c
	}
	var lines []line[R]
	for i, raw := range rows {
		l := line[R]{reading: reading{file: t.name, line: i}}
		var members map[string]json.RawMessage
		if err := json.Unmarshal(raw, &members); err != nil {
			l.fault("", "format", "a row is an object with a member for each column that is told")
		}
		row := reflect.ValueOf(&l.row).Elem()
		for _, name := range sortedKeys(members) {
			c, ok := columns[name]
			if !ok {
				l.fault(name, "unknown", "there is no such column; use "+names(t.columns()))
				continue
			}
			if err := setMember(row.Field(c.field), members[name]); err != nil {
				l.fault(name, "format", err.Error())
			}
		}
		lines = append(lines, l)
	}
	t.take(b, lines)
}

// take makes records of rows: rows of one id are one record if the table has
// parts.
func (t table[R, T]) take(b *service.Book, lines []line[R]) {
	var groups [][]line[R]
	of := map[string]int{}
	for _, l := range lines {
		id := reflect.ValueOf(l.row).FieldByName("ID").String()
		i, known := of[id]
		if known && id != "" && t.hasParts() {
			groups[i] = append(groups[i], l)
			continue
		}
		of[id] = len(groups)
		groups = append(groups, []line[R]{l})
	}
	into := t.of(b)
	for _, g := range groups {
		*into = append(*into, t.join(g))
	}
}

func (t table[R, T]) hasParts() bool {
	for _, c := range t.columns() {
		if c.part {
			return true
		}
	}
	return false
}

// join makes one record of its rows. What they don't tell as parts must agree
// or be empty.
func (t table[R, T]) join(lines []line[R]) service.Row[T] {
	whole := lines[0]
	shared := reflect.ValueOf(&whole.row).Elem()
	var parts []R
	for i, l := range lines {
		row := reflect.ValueOf(l.row)
		if i > 0 {
			whole.faults = append(whole.faults, l.faults...)
		}
		isPart := false
		for _, c := range t.columns() {
			v, first := row.Field(c.field), shared.Field(c.field)
			switch {
			case v.IsZero():
			case c.part:
				isPart = true
			case first.IsZero():
				first.Set(v)
			case !reflect.DeepEqual(v.Interface(), first.Interface()):
				whole.at(l.line, c.name, "disagrees", "the rows of one id are one record: write the same as in its first row, or nothing")
			}
		}
		if isPart {
			parts = append(parts, l.row)
			whole.parts = append(whole.parts, l.line)
		}
	}
	v := t.record(&whole.reading, whole.row, parts)
	out := service.Row[T]{File: whole.file, Line: whole.line, Parts: whole.parts, Value: v, Faults: whole.faults}
	if by := shared.FieldByName("By"); by.IsValid() {
		out.By = by.String()
	}
	return out
}

// fill puts the table's rows into the document.
func (t table[R, T]) fill(d *Document, b service.Book) {
	rows := []R{}
	for _, r := range *t.of(&b) {
		rows = append(rows, t.write(r)...)
	}
	*t.rows(d) = rows
}

// writeCSV writes the table with its header.
func (t table[R, T]) writeCSV(b service.Book) []byte {
	columns := t.columns()
	cells := make([]string, len(columns))
	for i, c := range columns {
		cells[i] = c.name
	}
	out := appendRecord(nil, cells)
	for _, r := range *t.of(&b) {
		for _, row := range t.write(r) {
			v := reflect.ValueOf(row)
			for i, c := range columns {
				cells[i] = cellOf(v.Field(c.field))
			}
			out = appendRecord(out, cells)
		}
	}
	return out
}
