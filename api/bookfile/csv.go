package bookfile

import (
	"bytes"
	"fmt"
	"strings"
	"unicode/utf8"
)

// record is one row of a CSV file, with the line on which it begins.
type record struct {
	line  int
	cells []string
}

// syntaxError says on which line a file stops being CSV.
type syntaxError struct {
	line   int
	detail string
}

// Error returns the line and what is wrong there.
func (e *syntaxError) Error() string { return fmt.Sprintf("line %d: %s", e.line, e.detail) }

const byteOrderMark = "\ufeff"

// parse reads RFC 4180 strictly: commas between cells, CRLF or LF between rows,
// quotes around a whole cell or not at all, UTF-8 with or without a byte order
// mark. Empty lines are passed over. One thing is stricter than the RFC: the
// last row must end with a line break too, or a file cut inside its last cell
// would look whole. Errors: syntaxError.
func parse(data []byte) ([]record, error) {
	data = bytes.TrimPrefix(data, []byte(byteOrderMark))
	if err := checkText(data); err != nil {
		return nil, err
	}
	s := scanner{rest: string(data), line: 1}
	var out []record
	for s.rest != "" {
		if s.skipBreak() {
			continue
		}
		r, err := s.record()
		if err != nil {
			return nil, err
		}
		out = append(out, r)
	}
	return out, nil
}

// checkText refuses what is no text. Errors: syntaxError.
func checkText(data []byte) error {
	if !utf8.Valid(data) {
		good := data
		for len(good) > 0 {
			r, n := utf8.DecodeRune(good)
			if r == utf8.RuneError && n == 1 {
				break
			}
			good = good[n:]
		}
		line := 1 + bytes.Count(data[:len(data)-len(good)], []byte("\n"))
		return &syntaxError{line, "this isn't UTF-8; save the file as UTF-8"}
	}
	if i := bytes.IndexByte(data, 0); i >= 0 {
		return &syntaxError{1 + bytes.Count(data[:i], []byte("\n")), "there is a NUL character here; take it out"}
	}
	return nil
}

// scanner reads a file from front to back.
type scanner struct {
	rest string
	line int
}

// record reads a row and its line break. Errors: syntaxError.
func (s *scanner) record() (record, error) {
	r := record{line: s.line}
	for {
		cell, err := s.cell()
		if err != nil {
			return record{}, err
		}
		r.cells = append(r.cells, cell)
		switch {
		case strings.HasPrefix(s.rest, ","):
			s.rest = s.rest[1:]
		case s.skipBreak():
			return r, nil
		case s.rest == "":
			return record{}, &syntaxError{r.line, "the last row has no line break at its end: the file may have been cut off; end it with one if it is whole"}
		case s.rest[0] == '\r':
			return record{}, &syntaxError{s.line, "a carriage return stands alone; put the cell in quotes, or end rows with CRLF or LF"}
		default:
			return record{}, &syntaxError{s.line, "a quoted cell goes on after its closing quote; double the quotes inside it"}
		}
	}
}

// skipBreak passes over a line break, if one is next.
func (s *scanner) skipBreak() bool {
	for _, br := range []string{"\n", "\r\n"} {
		if rest, ok := strings.CutPrefix(s.rest, br); ok {
			s.rest = rest
			s.line++
			return true
		}
	}
	return false
}

// cell reads up to what ends a cell. Errors: syntaxError.
func (s *scanner) cell() (string, error) {
	if strings.HasPrefix(s.rest, `"`) {
		return s.quoted()
	}
	end := strings.IndexAny(s.rest, ",\r\n\"")
	if end < 0 {
		end = len(s.rest)
	}
	if end < len(s.rest) && s.rest[end] == '"' {
		return "", &syntaxError{s.line, `there is a quote inside an unquoted cell; put the whole cell in quotes and double the quotes inside`}
	}
	cell := s.rest[:end]
	s.rest = s.rest[end:]
	return cell, nil
}

// quoted reads a cell in quotes. Errors: syntaxError.
func (s *scanner) quoted() (string, error) {
	begin := s.line
	var cell strings.Builder
	for rest := s.rest[1:]; ; {
		end := strings.IndexByte(rest, '"')
		if end < 0 {
			return "", &syntaxError{begin, "a quoted cell has no closing quote: the file may have been cut off"}
		}
		cell.WriteString(rest[:end])
		s.line += strings.Count(rest[:end], "\n")
		rest = rest[end+1:]
		if !strings.HasPrefix(rest, `"`) {
			s.rest = rest
			return cell.String(), nil
		}
		cell.WriteByte('"')
		rest = rest[1:]
	}
}

// appendRecord writes a row; a cell is quoted where it must be.
func appendRecord(to []byte, cells []string) []byte {
	for i, c := range cells {
		if i > 0 {
			to = append(to, ',')
		}
		if mustQuote(c) || len(cells) == 1 && c == "" {
			c = `"` + strings.ReplaceAll(c, `"`, `""`) + `"`
		}
		to = append(to, c...)
	}
	return append(to, "\r\n"...)
}

// mustQuote reports whether a cell would be read as something else: for its
// commas, quotes and breaks, for spaces that some readers trim, and for a byte
// order mark that would seem to be the file's.
func mustQuote(cell string) bool {
	return strings.ContainsAny(cell, ",\"\r\n") || strings.TrimSpace(cell) != cell || strings.HasPrefix(cell, byteOrderMark)
}

// startsFormula reports whether a text, behind any apostrophes, starts with what a
// spreadsheet takes for a formula.
func startsFormula(text string) bool {
	text = strings.TrimLeft(text, "'")
	return text != "" && strings.ContainsRune("=+-@\t\r", rune(text[0]))
}

// Neutral puts an apostrophe before a text that a spreadsheet would take for a
// formula, and before one that looks as if this had been done.
func Neutral(text string) string {
	if startsFormula(text) {
		return "'" + text
	}
	return text
}

// restored undoes Neutral.
func restored(text string) string {
	if bare, ok := strings.CutPrefix(text, "'"); ok && startsFormula(text) {
		return bare
	}
	return text
}
