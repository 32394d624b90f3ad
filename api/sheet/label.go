package sheet

import "bytes"

// Label is what is stuck on a bin or a bag.
type Label struct {
	Name    string
	Lines   []string
	Small   string   // at the foot, as cautions
	Code    string   // in letters, as people type it where the code can't be read
	Modules [][]bool // of the QR code, by rows, with its light border
}

// Card is the paper of a single label, lying on its side.
const Card Paper = "A6"

// Measures of labels.
const (
	labelWidth  = 90.0
	labelHeight = 47.0
	labelPad    = 3.0
	codeSide    = 34.0

	nameSize  = 13.0
	lineSize  = 8.5
	typedSize = 6.5
)

// Labels draws labels on as few pages as they need, with lines to cut along,
// and returns them as PDF. Errors: those of the drawing.
func Labels(setup Setup, labels []Label) ([]byte, error) {
	s := New(setup)
	width, height := s.pdf.GetPageSize()
	columns, rows := max(1, int((width-10)/labelWidth)), max(1, int((height-10)/labelHeight))
	left, top := (width-float64(columns)*labelWidth)/2, (height-float64(rows)*labelHeight)/2
	for i, l := range labels {
		at := i % (columns * rows)
		if i > 0 && at == 0 {
			s.Break()
		}
		s.label(l, left+float64(at%columns)*labelWidth, top+float64(at/columns)*labelHeight)
	}
	var b bytes.Buffer
	err := s.pdf.Output(&b)
	return b.Bytes(), err
}

// label draws one label with its upper left corner there.
func (s *Sheet) label(l Label, x, y float64) {
	s.pdf.SetDrawColor(170, 170, 170)
	s.pdf.SetLineWidth(0.1)
	s.pdf.SetDashPattern([]float64{1, 1}, 0)
	s.pdf.Rect(x, y, labelWidth, labelHeight, "D")
	s.pdf.SetDashPattern(nil, 0)
	b := box{x + labelPad, y + labelPad, labelWidth - codeSide - 2*labelPad, "L"}
	small := s.wrap("", smallSize, l.Small, labelWidth-2*labelPad)
	foot := y + labelHeight - labelPad - s.height(small, smallSize)
	b.y = s.lines(b, "B", nameSize, most(s.wrap("B", nameSize, l.Name, b.w), 2), foot) + 0.5
	for _, line := range l.Lines {
		b.y = s.lines(b, "", lineSize, most(s.wrap("", lineSize, line, b.w), 2), foot)
	}
	s.lines(box{b.x, foot, labelWidth - 2*labelPad, "L"}, "", smallSize, small, y+labelHeight)
	s.Code(l.Modules, x+labelWidth-codeSide-labelPad/2, y+labelPad/2, codeSide)
	typed := box{x + labelWidth - codeSide - labelPad/2, y + labelPad/2 + codeSide - 1.5, codeSide, "C"}
	s.lines(typed, "", typedSize, []string{l.Code[:len(l.Code)/2], l.Code[len(l.Code)/2:]}, y+labelHeight)
}

// most cuts off lines, with an ellipsis in their place.
func most(lines []string, n int) []string {
	if len(lines) <= n {
		return lines
	}
	return append(lines[:n-1:n-1], lines[n-1]+"…")
}

// lines draws lines below each other, as far as there is room, and returns
// where the next would stand.
func (s *Sheet) lines(b box, style string, size float64, lines []string, bottom float64) float64 {
	s.font(style, size)
	for _, line := range lines {
		if b.y+lineHeight(size) > bottom+0.01 {
			break
		}
		s.put(b, line, size)
		b.y += lineHeight(size)
	}
	return b.y
}

// Coded draws a QR code, with lines of text beside it.
func (s *Sheet) Coded(modules [][]bool, lines ...string) {
	const side = 30.0
	s.Room(side)
	y := s.pdf.GetY()
	s.Code(modules, margin-3, y, side)
	b := box{margin + side, y + 4, s.Width() - side, "L"}
	for _, line := range lines {
		b.y = s.lines(b, "", textSize, most(s.wrap("", textSize, line, b.w), 2), y+side)
	}
	s.pdf.SetY(y + side)
}

// Code draws a QR code of that width with its upper left corner there.
func (s *Sheet) Code(modules [][]bool, x, y, side float64) {
	module := side / float64(len(modules))
	s.pdf.SetFillColor(0, 0, 0)
	for i, row := range modules {
		for j := 0; j < len(row); j++ {
			from := j
			for j < len(row) && row[j] {
				j++
			}
			if j > from {
				s.pdf.Rect(x+float64(from)*module, y+float64(i)*module, float64(j-from)*module, module, "F")
			}
		}
	}
}
