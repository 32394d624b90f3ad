package sheet

import "strings"

// headingRoom is the room above and below a heading.
const headingRoom = 6.0

// Title draws the large line at the top of a document, and smaller ones below.
func (s *Sheet) Title(title string, below ...string) {
	s.paragraph("B", titleSize, title)
	s.Space(1)
	for _, line := range below {
		s.paragraph("", headingSize, line)
	}
	s.Space(3)
}

// Heading draws a heading, on the page of what follows it.
func (s *Sheet) Heading(text string) {
	s.Room(0)
	s.heading = text
}

func (s *Sheet) drawHeading(text string) {
	if s.pdf.GetY() > margin {
		s.Space(headingRoom - 1.5)
	}
	s.font("B", headingSize)
	s.pdf.Bookmark(Drawable(text), 0, -1)
	s.paragraph("B", headingSize, text)
	s.Space(1.5)
}

// Text draws a paragraph.
func (s *Sheet) Text(text string) {
	s.paragraph("", textSize, text)
	s.Space(1.5)
}

// Note draws a paragraph in small letters.
func (s *Sheet) Note(text string) {
	s.paragraph("", smallSize, text)
	s.Space(1)
}

// Space leaves some room.
func (s *Sheet) Space(height float64) { s.pdf.SetY(s.pdf.GetY() + height) }

// paragraph draws text over the whole width. It breaks over pages, but leaves no
// single line behind.
func (s *Sheet) paragraph(style string, size float64, text string) {
	lines := s.wrap(style, size, text, s.Width())
	s.Room(s.height(lines[:min(2, len(lines))], size))
	for _, line := range lines {
		s.Room(lineHeight(size))
		s.font(style, size)
		s.put(box{margin, s.pdf.GetY(), s.Width(), "L"}, line, size)
		s.Space(lineHeight(size))
	}
}

func (s *Sheet) font(style string, size float64) { s.pdf.SetFont(family, style, size) }

func lineHeight(size float64) float64 { return size * leading * point }

func (s *Sheet) height(lines []string, size float64) float64 {
	return float64(len(lines)) * lineHeight(size)
}

// box is where a line of text goes: its left and upper corner, its width, and
// the side that it stands at ("L", "R" or "C").
type box struct {
	x, y, w float64
	align   string
}

// put draws one line of drawable text in the font of the moment.
func (s *Sheet) put(b box, line string, size float64) {
	y := s.pdf.GetY()
	s.pdf.SetXY(b.x, b.y)
	s.pdf.CellFormat(b.w, lineHeight(size), line, "", 0, b.align, false, 0, "")
	s.pdf.SetY(y)
}

// wrap breaks text at spaces so that no line is wider than width; a word that is
// wider is broken anywhere. There is always one line at least.
func (s *Sheet) wrap(style string, size float64, text string, width float64) []string {
	s.font(style, size)
	var lines []string
	line := ""
	for word := range strings.SplitSeq(Drawable(text), " ") {
		joined := strings.TrimPrefix(line+" "+word, " ")
		if s.pdf.GetStringWidth(joined) <= width {
			line = joined
			continue
		}
		if line != "" {
			lines = append(lines, line)
		}
		for line = word; s.pdf.GetStringWidth(line) > width; {
			head := s.fitting(line, width)
			lines, line = append(lines, line[:head]), line[head:]
		}
	}
	return append(lines, line)
}

// fitting returns how many bytes of a word fit into a width, one letter at
// least.
func (s *Sheet) fitting(word string, width float64) int {
	fits := 0
	for at, r := range word {
		end := at + len(string(r))
		if fits > 0 && s.pdf.GetStringWidth(word[:end]) > width {
			break
		}
		fits = end
	}
	return fits
}

// cut shortens a text to one line.
func (s *Sheet) cut(text string, width float64) string {
	text = Drawable(text)
	if s.pdf.GetStringWidth(text) <= width {
		return text
	}
	room := width - s.pdf.GetStringWidth("…")
	return text[:s.fitting(text, room)] + "…"
}
