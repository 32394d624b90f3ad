// Package sheet draws printable pages: titles, paragraphs and tables that wrap
// and break over pages by themselves, with a foot and page numbers. It knows
// nothing of what it draws. The same content gives the same bytes.
package sheet

import (
	"bytes"
	_ "embed" // the fonts
	"fmt"
	"slices"
	"time"

	"github.com/go-pdf/fpdf"
)

//go:embed fonts/DejaVuSansCondensed.ttf
var regular []byte

//go:embed fonts/DejaVuSansCondensed-Bold.ttf
var bold []byte

// Paper is a size of paper.
type Paper string

// The sizes.
const (
	A4     Paper = "A4"
	Letter Paper = "Letter"
)

// Setup is what a sheet is made with.
type Setup struct {
	Paper     Paper
	Landscape bool
	Title     string    // of the document, for viewers
	Author    string    // as a club's name
	Lang      string    // BCP 47; empty: English
	Foot      string    // at the left of every foot, in one line; cut where it is too long
	AsOf      time.Time // the date of the document
}

// Sheet is pages in the making. Distances are in millimetres, sizes of letters
// in points. Errors are kept until Bytes.
type Sheet struct {
	pdf     *fpdf.Fpdf
	setup   Setup
	heading string // not drawn yet: it stays with what follows
}

// Margins and sizes.
const (
	margin   = 15.0
	footRoom = 12.0 // below the text
	leading  = 1.32 // distance of lines, in sizes of letters

	titleSize   = 18.0
	headingSize = 12.0
	textSize    = 9.5
	smallSize   = 7.5

	point = 25.4 / 72
)

// New begins a sheet with its first page.
func New(setup Setup) *Sheet {
	orientation := "P"
	if setup.Landscape {
		orientation = "L"
	}
	pdf := fpdf.New(orientation, "mm", string(setup.Paper), "")
	pdf.SetMargins(margin, margin, margin)
	pdf.SetCellMargin(0)
	pdf.SetAutoPageBreak(false, 0)
	pdf.SetCatalogSort(true)
	pdf.SetCreationDate(setup.AsOf.UTC())
	pdf.SetModificationDate(setup.AsOf.UTC())
	pdf.SetTitle(setup.Title, true)
	pdf.SetAuthor(setup.Author, true)
	pdf.SetLang(language(setup.Lang))
	pdf.AddUTF8FontFromBytes(family, "", slices.Clone(regular))
	pdf.AddUTF8FontFromBytes(family, "B", slices.Clone(bold))
	pdf.AddPage()
	s := &Sheet{pdf: pdf, setup: setup}
	s.font("", textSize)
	return s
}

const family = "sheet"

func language(tag string) string {
	if tag == "" {
		return "en"
	}
	return tag
}

// Canvas is what the pages are drawn on, for pictures that the sheet doesn't
// know; leave the vertical position below what was drawn.
func (s *Sheet) Canvas() *fpdf.Fpdf { return s.pdf }

// Width is how wide the text is.
func (s *Sheet) Width() float64 {
	w, _ := s.pdf.GetPageSize()
	return w - 2*margin
}

// bottom is where the text of a page ends.
func (s *Sheet) bottom() float64 {
	_, h := s.pdf.GetPageSize()
	return h - margin - footRoom
}

// Break begins another page.
func (s *Sheet) Break() { s.pdf.AddPage() }

// Room begins another page unless so much room is left on this one, together
// with the heading that waits for what follows; then it draws that.
func (s *Sheet) Room(height float64) {
	if s.heading != "" {
		height += headingRoom + s.height(s.wrap("B", headingSize, s.heading, s.Width()), headingSize)
	}
	if s.pdf.GetY()+height > s.bottom() && s.pdf.GetY() > margin {
		s.Break()
	}
	if heading := s.heading; heading != "" {
		s.heading = ""
		s.drawHeading(heading)
	}
}

// Bytes ends the sheet, writes the feet of all pages, and returns it as PDF.
// Errors: those of the drawing before.
func (s *Sheet) Bytes() ([]byte, error) {
	s.Room(0)
	s.feet()
	var b bytes.Buffer
	err := s.pdf.Output(&b)
	return b.Bytes(), err
}

func (s *Sheet) feet() {
	pages := s.pdf.PageCount()
	_, h := s.pdf.GetPageSize()
	y, size := h-margin-point*smallSize, smallSize
	for n := 1; n <= pages; n++ {
		s.pdf.SetPage(n)
		s.font("", size)
		number := fmt.Sprintf("Page %d of %d", n, pages)
		room := s.Width() - s.pdf.GetStringWidth(number) - 5
		s.put(box{margin, y, room, "L"}, s.cut(s.setup.Foot, room), size)
		s.put(box{margin, y, s.Width(), "R"}, number, size)
	}
}
