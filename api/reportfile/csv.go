package reportfile

import (
	"bytes"
	"encoding/csv"
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
// Errors: none that bytes can have.
func CSV(r Report) ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	if err := w.Write(Header); err != nil {
		return nil, err
	}
	for _, t := range r.Tables {
		for i, row := range t.all() {
			kind := "row"
			if i == len(t.Rows) {
				kind = "total"
			}
			texts := append(row.Texts, "", "")
			before := []string{r.Code, t.Code, kind, row.ID, texts[0], strings.Join(row.Texts[min(1, len(row.Texts)):], "; ")}
			for j, c := range t.Columns {
				if err := w.Write(neutral(append(before[:len(before):len(before)], cells(c.Code, row.Figures[j])...))); err != nil {
					return nil, err
				}
			}
			if len(t.Columns) == 0 {
				if err := w.Write(neutral(append(before, make([]string, len(Header)-len(before))...))); err != nil {
					return nil, err
				}
			}
		}
	}
	w.Flush()
	return b.Bytes(), w.Error()
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
