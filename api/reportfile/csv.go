package reportfile

import (
	"bytes"
	"encoding/csv"
	"slices"
	"strconv"
	"strings"

	"lumbricary.example/api/bookfile"
	"lumbricary.example/service/unit"
)

// Header is the first row of the CSV form.
var Header = []string{
	"period", "table", "row", "id", "name", "detail", "figure", "value", "unit", "low", "high", "basis", "reason", "flags",
}

// CSV writes the report as RFC 4180, one figure a row under Header: row is "total"
// for a sum of the rows before; detail holds further words, joined by "; "; unit
// is a UCUM code or a currency; a figure that can't be had has a reason in the
// place of a value. A text that starts like a formula has an apostrophe before it.
// Errors: none that memory can have.
func CSV(r Report) ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	records := [][]string{Header}
	for _, t := range r.Tables {
		for i, row := range t.all() {
			before := []string{r.Code, t.Code, "row", row.ID, row.name(), strings.Join(row.Texts[min(1, len(row.Texts)):], "; ")}
			if i == len(t.Rows) {
				before[2] = "total"
			}
			for _, figure := range t.figures(row) {
				records = append(records, neutral(slices.Concat(before, figure)))
			}
		}
	}
	err := w.WriteAll(records)
	return b.Bytes(), err
}

// figures are the cells of each figure of a row; a row of words alone has one
// line of empty cells.
func (t Table) figures(r Row) (out [][]string) {
	for i, c := range t.Columns {
		out = append(out, cells(c.Code, r.Figures[i]))
	}
	if len(out) == 0 {
		out = append(out, make([]string, len(Header)-6))
	}
	return out
}

// neutral puts an apostrophe before texts that look like formulas; numbers may
// begin with a minus.
func neutral(cells []string) []string {
	for i, c := range cells {
		switch Header[i] {
		case "value", "low", "high":
		default:
			cells[i] = bookfile.Neutral(c)
		}
	}
	return cells
}

func cells(code string, f unit.Figure) []string {
	number := func(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }
	out := []string{code, "", f.Unit, "", "", f.Basis, f.Reason, strings.Join(f.Flags, ";")}
	if f.Known {
		out[1] = number(f.Value)
	}
	if f.Known && f.Level > 0 {
		out[3], out[4] = number(f.Low), number(f.High)
	}
	return out
}
