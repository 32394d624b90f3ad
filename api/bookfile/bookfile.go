// Package bookfile is the files in which a club's whole book travels: a CSV
// table for each noun, a ZIP archive of them, or one JSON document. Reading and
// writing are strict and exact: what was written reads back as it was.
//
// A leading formula character of a text cell (= + - @, tab, carriage return)
// gets an apostrophe before it on the way out, which is taken off on the way
// in. A text in a list cell that holds one of the list's separators has a
// backslash before it.
package bookfile

import (
	"fmt"
	"slices"
	"strings"

	"lumbricary.example/service"
)

// MaxRows is how many rows the files of one book may have together.
const MaxRows = 100_000

// Nouns lists the tables of a book, in the order in which they are recorded.
func Nouns() []string {
	var out []string
	for _, s := range sheets() {
		out = append(out, s.noun())
	}
	return out
}

func sheetOf(noun string) (sheet, bool) {
	for _, s := range sheets() {
		if s.noun() == noun {
			return s, true
		}
	}
	return nil, false
}

// WriteCSV writes one table of the book, and reports whether there is one of
// that noun.
func WriteCSV(b service.Book, noun string) ([]byte, bool) {
	s, ok := sheetOf(noun)
	if !ok {
		return nil, false
	}
	return s.writeCSV(b), true
}

// File is one CSV file.
type File struct {
	Name string // <noun>.csv
	Data []byte
}

// ReadCSV reads a book from the CSV files of some of its tables. Rows at fault
// come with their faults. Errors: ErrImport where a file is none of the tables
// or no sound CSV; ErrTooLarge for more than MaxRows rows.
func ReadCSV(files []File) (service.Book, error) {
	var book service.Book
	var faults service.Faults
	rows := 0
	seen := map[string]bool{}
	for _, f := range files {
		s, ok := sheetOf(strings.TrimSuffix(f.Name, ".csv"))
		if !ok || !strings.HasSuffix(f.Name, ".csv") || seen[f.Name] {
			faults.Add("/"+escapedPointer(f.Name), "unknown", "name each file once after its table: %s.csv", strings.Join(Nouns(), ".csv, "))
			continue
		}
		seen[f.Name] = true
		records, err := parse(f.Data)
		if e, bad := err.(*syntaxError); bad { //nolint:errorlint // parse returns no other
			faults.Add(fmt.Sprintf("/%s/%d", f.Name, e.line), "format", "%s", e.detail)
			continue
		}
		if rows += len(records); rows > MaxRows {
			return service.Book{}, tooManyRows()
		}
		if fs := checkShape(f.Name, s, records); len(fs) > 0 {
			faults = append(faults, fs...)
			continue
		}
		s.readCSV(&book, f.Name, records)
	}
	if len(faults) > 0 {
		e := *service.ErrImport
		e.Fields = faults[:min(len(faults), maxFaults)]
		return service.Book{}, &e
	}
	return book, nil
}

// maxFaults is how many faults of the files' shape are listed.
const maxFaults = 1000

func tooManyRows() error {
	return service.ErrTooLarge.With("more than %d rows; import the book in parts", MaxRows)
}

// checkShape finds what is wrong with the header, and rows that don't fit it.
func checkShape(file string, s sheet, records []record) (faults service.Faults) {
	if len(records) == 0 {
		faults.Add("/"+file+"/1", "required", "the file is empty; its first row should be %s", names(s.columns()))
		return faults
	}
	header := records[0]
	at := func(column string) string { return fmt.Sprintf("/%s/%d/%s", file, header.line, escapedPointer(column)) }
	for i, name := range header.cells {
		switch {
		case !slices.ContainsFunc(s.columns(), func(c column) bool { return c.name == name }):
			faults.Add(at(name), "unknown", "there is no such column; use %s, with commas between them", names(s.columns()))
		case slices.Contains(header.cells[:i], name):
			faults.Add(at(name), "duplicate", "the column is there twice; take one away")
		}
	}
	for _, c := range s.columns() {
		if !c.optional && !slices.Contains(header.cells, c.name) {
			faults.Add(at(c.name), "required", "the column is missing; leave its cells empty if you have nothing to tell")
		}
	}
	for i, r := range records[1:] {
		if len(r.cells) == len(header.cells) {
			continue
		}
		detail := fmt.Sprintf("the row has %d cells, not %d as the header", len(r.cells), len(header.cells))
		if i == len(records)-2 && len(r.cells) < len(header.cells) {
			detail += "; the file may have been cut off"
		}
		faults.Add(fmt.Sprintf("/%s/%d", file, r.line), "format", "%s", detail)
	}
	return faults
}
