package reportfile

import (
	"slices"

	"lumbricary.example/api/sheet"
)

// PDF prints the report on paper of that size. Errors: those of the drawing.
func PDF(r Report, paper sheet.Paper) ([]byte, error) {
	s := sheet.New(sheet.Setup{
		Paper: paper, Title: r.Club + ": " + r.Title, Author: r.Club, AsOf: r.AsOf,
		Foot: r.Club + " · " + r.Title + " · on record up to " + r.AsOf.Format("2 January 2006, 15:04"),
	})
	s.Title(r.Title, r.Club, r.Period)
	for _, line := range r.Lead {
		s.Text(line)
	}
	for _, t := range r.Tables {
		if !t.Aside {
			print(s, t, r.Words)
		}
	}
	if len(r.Notes) > 0 {
		s.Heading("Sources and assumptions")
		for _, n := range r.Notes {
			s.Note(n)
		}
	}
	return s.Bytes()
}

func print(s *sheet.Sheet, t Table, w Words) {
	s.Heading(t.Title)
	if t.Said != "" {
		s.Text(t.Said)
	}
	if len(t.Rows) == 0 {
		return
	}
	out := sheet.Table{}
	for _, head := range t.Texts {
		out.Columns = append(out.Columns, sheet.Column{Head: head})
	}
	columns := t.printed()
	for _, i := range columns {
		out.Columns = append(out.Columns, sheet.Column{Head: t.Columns[i].head(), Number: true})
	}
	row := func(r Row) []string {
		cells := slices.Concat(r.Texts, make([]string, len(t.Texts)-len(r.Texts)))
		for _, i := range columns {
			cells = append(cells, t.shown(r, i))
		}
		return cells
	}
	for _, r := range t.Rows {
		out.Rows = append(out.Rows, row(r))
	}
	if t.Total != nil {
		out.Total = row(*t.Total)
	}
	s.Table(out)
	for _, remark := range t.remarks(w) {
		s.Note(remark)
	}
}
