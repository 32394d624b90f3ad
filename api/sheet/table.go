package sheet

import (
	"slices"
	"strings"
)

// Column is one column of a table.
type Column struct {
	Head   string
	Number bool // stands to the right, and is broken only where a word is wider than a line
}

// Table is rows below heads. A row may be shorter than the heads.
type Table struct {
	Columns []Column
	Rows    [][]string
	Total   []string // a last row in bold, kept on the page of the row before; nil: none
}

// Measures of tables.
const (
	cellSize = 8.0
	padding  = 1.0  // at the sides of a cell
	gutter   = 0.7  // above and below
	least    = 14.0 // no column of text is narrower, where there is room
)

// row is a row with its cells broken into lines.
type row struct {
	cells [][]string
	style string
}

func (r row) height() float64 {
	most := 0
	for _, c := range r.cells {
		most = max(most, len(c))
	}
	return float64(most)*lineHeight(cellSize) + 2*gutter
}

// Table draws a table over the whole width. Its heads come again on each page,
// and stay with the first two rows; a total stays with the row before it. Cells
// wrap, so that nothing is cut off.
func (s *Sheet) Table(t Table) {
	widths := s.widths(t)
	head := s.laid(heads(t.Columns), widths, "B")
	var rows []row
	for _, cells := range t.Rows {
		rows = append(rows, s.chunks(s.laid(cells, widths, ""))...)
	}
	if t.Total != nil {
		rows = append(rows, s.laid(t.Total, widths, "B"))
	}
	s.Room(head.height() + heightOf(rows[:min(2, len(rows))]))
	s.drawRow(t, widths, head)
	for i, r := range rows {
		need := r.height()
		if i == len(rows)-2 {
			need += rows[i+1].height() // the last two stay together
		}
		if s.pdf.GetY()+need > s.bottom() {
			s.Break()
			s.drawRow(t, widths, head)
		}
		s.drawRow(t, widths, r)
	}
	s.Space(2.5)
}

func heads(columns []Column) []string {
	out := make([]string, 0, len(columns))
	for _, c := range columns {
		out = append(out, c.Head)
	}
	return out
}

func heightOf(rows []row) float64 {
	var sum float64
	for _, r := range rows {
		sum += r.height()
	}
	return sum
}

// laid breaks the cells of a row.
func (s *Sheet) laid(cells []string, widths []float64, style string) row {
	r := row{style: style}
	for i, c := range cells {
		r.cells = append(r.cells, s.wrap(style, cellSize, c, widths[i]-2*padding))
	}
	return r
}

// chunks breaks a row that is higher than half a page into several.
func (s *Sheet) chunks(r row) []row {
	_, page := s.pdf.GetPageSize()
	most := int(page / 2 / lineHeight(cellSize))
	var out []row
	for from := 0; ; from += most {
		part, more := row{style: r.style}, false
		for _, c := range r.cells {
			part.cells = append(part.cells, c[min(from, len(c)):min(from+most, len(c))])
			more = more || len(c) > from+most
		}
		if out = append(out, part); !more {
			return out
		}
	}
}

// widths shares the width among the columns: numbers and heads get what they
// need, texts the rest; where that isn't enough, the widest texts give way, and
// where it is more, the first column of text has it.
func (s *Sheet) widths(t Table) []float64 {
	out := make([]float64, len(t.Columns))
	floor := make([]float64, len(t.Columns))
	rest := s.Width()
	for i, c := range t.Columns {
		out[i], floor[i] = s.natural(t, i)
		if c.Number {
			out[i] = max(out[i], floor[i])
			floor[i] = out[i]
		}
		rest -= out[i]
	}
	for rest < 0 {
		w := widest(out, floor)
		if w < 0 {
			break
		}
		give := min(1, out[w]-floor[w])
		out[w] -= give
		rest += give
	}
	if rest < 0 { // more numbers than the page is wide
		for i := range out {
			out[i] *= s.Width() / (s.Width() - rest)
		}
		return out
	}
	first := max(0, slices.IndexFunc(t.Columns, func(c Column) bool { return !c.Number }))
	out[first] += rest
	return out
}

// widest returns the widest column that may still give way; -1: none.
func widest(widths, floor []float64) int {
	best := -1
	for i := range widths {
		if widths[i] > floor[i] && (best < 0 || widths[i] > widths[best]) {
			best = i
		}
	}
	return best
}

// natural returns how wide a column would be without a break inside its cells,
// and the least that it should have: the longest word of its head.
func (s *Sheet) natural(t Table, i int) (wide, floor float64) {
	s.font("B", cellSize)
	for word := range strings.SplitSeq(Drawable(t.Columns[i].Head), " ") {
		floor = max(floor, s.pdf.GetStringWidth(word))
	}
	wide = floor
	if !t.Columns[i].Number {
		wide = s.pdf.GetStringWidth(Drawable(t.Columns[i].Head))
		floor = max(floor, least)
	}
	if i < len(t.Total) {
		wide = max(wide, s.pdf.GetStringWidth(Drawable(t.Total[i])))
	}
	s.font("", cellSize)
	for _, r := range t.Rows {
		if i < len(r) {
			wide = max(wide, s.pdf.GetStringWidth(Drawable(r[i])))
		}
	}
	const hair = 0.1 // so that what just fits isn't broken
	return wide + 2*padding + hair, floor + 2*padding + hair
}

// drawRow draws a row with a line below it. Heads are grey, a total has a line
// above.
func (s *Sheet) drawRow(t Table, widths []float64, r row) {
	x, y, h := margin, s.pdf.GetY(), r.height()
	if r.style == "B" {
		s.pdf.SetFillColor(236, 236, 236)
		s.pdf.Rect(margin, y, s.Width(), h, "F")
	}
	s.font(r.style, cellSize)
	for i, lines := range r.cells {
		b := box{x + padding, y + gutter, widths[i] - 2*padding, "L"}
		if t.Columns[i].Number {
			b.align = "R"
		}
		for _, line := range lines {
			s.put(b, line, cellSize)
			b.y += lineHeight(cellSize)
		}
		x += widths[i]
	}
	s.pdf.SetDrawColor(190, 190, 190)
	s.pdf.SetLineWidth(0.15)
	s.pdf.Line(margin, y+h, margin+s.Width(), y+h)
	s.pdf.SetY(y + h)
}
