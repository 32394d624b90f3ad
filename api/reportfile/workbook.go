package reportfile

import (
	"archive/zip"
	"bytes"
	"cmp"
	"io"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"lumbricary.example/service/unit"

	"github.com/xuri/excelize/v2"
)

// XLSX writes the report as a workbook: a sheet of what is said, one for each
// table, its units in the heads, and one that says why a figure can't be had.
// Texts are texts, whatever they look like. Errors: those of the writer.
func XLSX(r Report) (data []byte, err error) {
	f := excelize.NewFile()
	defer func() {
		if closed := f.Close(); err == nil {
			err = closed
		}
	}()
	b := &workbook{file: f, formats: map[string]int{}}
	b.about(r)
	for _, t := range r.Tables {
		b.table(t)
	}
	b.reasons(r)
	at := r.AsOf.UTC().Format(time.RFC3339)
	b.try(f.SetDocProps(&excelize.DocProperties{Title: text(r.Title), Creator: text(r.Club), Created: at, Modified: at}))
	if b.err != nil {
		return nil, b.err
	}
	raw, err := f.WriteToBuffer()
	if err != nil {
		return nil, err
	}
	return inOrder(raw.Bytes())
}

// workbook is a file in the making, with the first thing that went wrong.
type workbook struct {
	file    *excelize.File
	formats map[string]int // styles by the format of their numbers
	sheets  int
	err     error
}

func (b *workbook) try(err error) {
	if b.err == nil {
		b.err = err
	}
}

// style returns the style of a format of numbers: empty for words, "head" for
// heads.
func (b *workbook) style(format string) int {
	if id, ok := b.formats[format]; ok {
		return id
	}
	s := &excelize.Style{CustomNumFmt: &format, Alignment: &excelize.Alignment{Vertical: "top"}}
	switch format {
	case "head":
		s = &excelize.Style{
			Font: &excelize.Font{Bold: true}, Fill: excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{"ECECEC"}},
			Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"},
		}
	case "":
		s = &excelize.Style{Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"}}
	}
	id, err := b.file.NewStyle(s)
	b.try(err)
	b.formats[format] = id
	return id
}

// sheet writes a sheet of rows below a head that stays in sight.
func (b *workbook) sheet(name string, head []string, widths []float64, rows [][]any) {
	if b.err != nil {
		return
	}
	name = text(name)
	if b.sheets++; b.sheets == 1 {
		b.try(b.file.SetSheetName("Sheet1", name))
	} else {
		_, err := b.file.NewSheet(name)
		b.try(err)
	}
	w, err := b.file.NewStreamWriter(name)
	if err != nil {
		b.try(err)
		return
	}
	for i, width := range widths {
		b.try(w.SetColWidth(i+1, i+1, width))
	}
	b.try(w.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, XSplit: 1, TopLeftCell: "B2", ActivePane: "bottomRight"}))
	heads := make([]any, 0, len(head))
	for _, h := range head {
		heads = append(heads, excelize.Cell{StyleID: b.style("head"), Value: text(h)})
	}
	for i, row := range append([][]any{heads}, rows...) {
		cell, err := excelize.CoordinatesToCellName(1, i+1)
		b.try(err)
		b.try(w.SetRow(cell, row))
	}
	b.try(w.Flush())
}

// word is a cell of text.
func (b *workbook) word(s string) excelize.Cell {
	return excelize.Cell{StyleID: b.style(""), Value: text(s)}
}

// number is a cell of a figure, empty where there is none.
func (b *workbook) number(known bool, v float64, decimals int) any {
	if !known {
		return nil
	}
	format := "#,##0"
	if decimals > 0 {
		format += "." + strings.Repeat("0", decimals)
	}
	return excelize.Cell{StyleID: b.style(format), Value: v}
}

func (b *workbook) about(r Report) {
	rows := [][]any{
		{b.word("Club"), b.word(r.Club)},
		{b.word("Period"), b.word(r.Period)},
		{b.word("Code"), b.word(r.Code)},
		{b.word("On record up to"), b.word(r.AsOf.Format("2006-01-02 15:04"))},
	}
	for _, line := range r.Lead {
		rows = append(rows, []any{b.word("Note"), b.word(line)})
	}
	for _, line := range r.Notes {
		rows = append(rows, []any{b.word("Source or assumption"), b.word(line)})
	}
	b.sheet("About", []string{"Report", r.Title}, []float64{22, 100}, rows)
}

func (b *workbook) table(t Table) {
	head, widths := slices.Clone(t.Texts), []float64{}
	for i := range t.Texts {
		widths = append(widths, t.widest(i))
	}
	for _, c := range t.Columns {
		head, widths = append(head, c.head()), append(widths, max(11, min(18, float64(len(c.head())))))
		if c.Interval {
			low, high := c, c
			low.Head, high.Head = c.Head+" low", c.Head+" high"
			head, widths = append(head, low.head(), high.head()), append(widths, 11, 11)
		}
	}
	head, widths = append(head, "Id"), append(widths, 38)
	var rows [][]any
	for _, r := range t.all() {
		rows = append(rows, b.row(t, r))
	}
	b.sheet(t.Title, head, widths, rows)
}

func (b *workbook) row(t Table, r Row) []any {
	var cells []any
	for i := range t.Texts {
		s := ""
		if i < len(r.Texts) {
			s = r.Texts[i]
		}
		cells = append(cells, b.word(s))
	}
	for i, c := range t.Columns {
		f := r.Figures[i]
		d := t.decimals(r, i)
		cells = append(cells, b.number(f.Known, f.Value, d))
		if c.Interval {
			cells = append(cells, b.number(f.Level > 0, f.Low, d), b.number(f.Level > 0, f.High, d))
		}
	}
	return append(cells, b.word(r.ID))
}

// reasons lists every figure that can't be had or is to be doubted.
func (b *workbook) reasons(r Report) {
	var rows [][]any
	for _, t := range r.Tables {
		for _, row := range t.all() {
			for i, c := range t.Columns {
				for _, why := range remarksOf(row.Figures[i], r.Words) {
					rows = append(rows, []any{b.word(t.Title), b.word(cmp.Or(row.name(), "All")), b.word(c.Head), b.word(why)})
				}
			}
		}
	}
	b.sheet("Remarks", []string{"Table", "Row", "Figure", "Remark"}, []float64{22, 32, 22, 70}, rows)
}

func remarksOf(f unit.Figure, w Words) []string {
	var out []string
	if !f.Known && f.Reason != "" {
		out = append(out, w.Reason(f.Reason))
	}
	for _, flag := range f.Flags {
		out = append(out, w.Flag(flag))
	}
	return out
}

// widest is how wide a column of words should be, within limits.
func (t Table) widest(i int) float64 {
	most := utf8.RuneCountInString(t.Texts[i])
	for _, r := range t.Rows {
		if i < len(r.Texts) {
			most = max(most, utf8.RuneCountInString(r.Texts[i]))
		}
	}
	return float64(max(10, min(48, most+2)))
}

// text is s without the characters that XML can't hold.
func text(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) || r == 0xFFFE || r == 0xFFFF {
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "\uFFFD"))
}

// inOrder packs an archive again with its files in the order of their names, as
// the writer has them in a new order each time.
func inOrder(archive []byte) ([]byte, error) {
	in, err := zip.NewReader(bytes.NewReader(archive), int64(len(archive)))
	if err != nil {
		return nil, err
	}
	slices.SortFunc(in.File, func(a, b *zip.File) int { return strings.Compare(a.Name, b.Name) })
	var out bytes.Buffer
	w := zip.NewWriter(&out)
	for _, f := range in.File {
		to, err := w.Create(f.Name)
		if err != nil {
			return nil, err
		}
		from, err := f.Open()
		if err != nil {
			return nil, err
		}
		if _, err := io.Copy(to, from); err != nil { //nolint:gosec // G110: it has just been packed here
			return nil, err
		}
		if err := from.Close(); err != nil {
			return nil, err
		}
	}
	err = w.Close()
	return out.Bytes(), err
}
