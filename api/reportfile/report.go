// Package reportfile writes a report – tables of figures with what is said about
// them – as CSV, as a workbook and as printable pages. It knows nothing of what
// is reported on. The same report gives the same bytes in every form.
package reportfile

import (
	"cmp"
	"slices"
	"strings"
	"time"

	"lumbricary.example/service/unit"
)

// Report is what a club hands round.
type Report struct {
	Club   string
	Title  string   // as "Report on Autumn 2026"
	Period string   // its days
	Code   string   // of the period, as 2026-autumn
	Lead   []string // what is to be said before the tables
	Tables []Table
	Notes  []string // sources and assumptions
	AsOf   time.Time
	Words  Words
}

// Words spells out the codes of figures.
type Words struct {
	Reason func(code string) string // why there is none
	Flag   func(code string) string // what to doubt one for
}

// Table is rows of the same figures. Where there are none, Said tells why.
type Table struct {
	Code    string   // as "members"
	Title   string   // a heading, and the name of a sheet: 31 letters at most
	Said    string   // before the table
	Texts   []string // heads of the columns of words; the first names the row
	Columns []Column
	Rows    []Row
	Total   *Row
	Aside   bool // not printed
}

// Column is a figure that each row has.
type Column struct {
	Code     string // as "fed_wet"
	Head     string // as "Feed"
	Called   string // in remarks, where it isn't the head; Silent: nothing is remarked on it
	Unit     string // as people write it; empty: none, or that of each row
	Decimals int    // Digits: three digits that count
	Interval bool   // shown with its limits
	Differs  bool   // the first figure of the row less the second
	Aside    bool   // not printed
}

// Silent is what a column is called of which nothing is remarked.
const Silent = "-"

// Digits stands for as many decimals as three digits need.
const Digits = -1

// Row is one line of a table.
type Row struct {
	ID      string
	Texts   []string
	Figures []unit.Figure
}

func (r Row) name() string { return strings.Join(r.Texts[:min(1, len(r.Texts))], "") }

// head is what stands over a column.
func (c Column) head() string {
	if c.Unit == "" {
		return c.Head
	}
	return c.Head + ", " + c.Unit
}

// all lists the rows with the total.
func (t Table) all() []Row {
	if t.Total == nil {
		return t.Rows
	}
	return append(slices.Clone(t.Rows), *t.Total)
}

// many is from how many names on they are counted rather than listed.
const many = 8

// remarks says of which rows there is no figure and which are to be doubted, a
// reason a sentence.
func (t Table) remarks(w Words) []string {
	var out []string
	for i, c := range t.Columns {
		if c.Aside || c.Called == Silent {
			continue
		}
		none, doubts := gathered{}, gathered{}
		for _, r := range t.Rows {
			f := r.Figures[i]
			if !f.Known && f.Reason != "" {
				none.add(w.Reason(f.Reason), r.name())
			}
			var why []string
			for _, flag := range f.Flags {
				why = append(why, w.Flag(flag))
			}
			if len(why) > 0 {
				doubts.add(strings.Join(why, "; "), r.name())
			}
		}
		what := cmp.Or(c.Called, strings.ToLower(c.Head))
		none.each(func(why, names string) { out = append(out, "No "+what+" for "+names+": "+why+".") }, len(t.Rows))
		doubts.each(func(why, names string) { out = append(out, "Look at the "+what+" of "+names+": "+why+".") }, len(t.Rows))
	}
	return out
}
