// Package sheettest reads back what package sheet has drawn, for tests: it knows
// just as much of PDF as that package's writer makes use of.
package sheettest

import (
	"bytes"
	"compress/zlib"
	"io"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"unicode/utf16"
)

// Line is one piece of text, with the place of its left end in points from the
// left and lower edge of the page.
type Line struct {
	Text string
	X, Y float64
}

var (
	streams = regexp.MustCompile(`(?s)<</Filter /FlateDecode /Length (\d+)>>\nstream\n`)
	texts   = regexp.MustCompile(`(?s)BT (-?[\d.]+) (-?[\d.]+) Td \((.*?[^\\]|)\)Tj ET`)
	escapes = regexp.MustCompile(`(?s)\\(.)`)
)

// Pages returns the text of each page, in the order in which it was drawn.
func Pages(t *testing.T, pdf []byte) [][]Line {
	t.Helper()
	var pages [][]Line
	for _, m := range streams.FindAllSubmatchIndex(pdf, -1) {
		length, err := strconv.Atoi(string(pdf[m[2]:m[3]]))
		if err != nil {
			t.Fatal(err)
		}
		z, err := zlib.NewReader(bytes.NewReader(pdf[m[1] : m[1]+length]))
		if err != nil {
			t.Fatal(err)
		}
		content, err := io.ReadAll(z)
		if err != nil {
			t.Fatal(err)
		}
		if lines := linesOf(t, content); len(lines) > 0 {
			pages = append(pages, lines)
		}
	}
	return pages
}

func linesOf(t *testing.T, content []byte) []Line {
	t.Helper()
	var lines []Line
	for _, m := range texts.FindAllSubmatch(content, -1) {
		x, err1 := strconv.ParseFloat(string(m[1]), 64)
		y, err2 := strconv.ParseFloat(string(m[2]), 64)
		if err1 != nil || err2 != nil {
			t.Fatal(err1, err2)
		}
		lines = append(lines, Line{textOf(m[3]), x, y})
	}
	return lines
}

// textOf decodes a string of a PDF in UTF-16.
func textOf(escaped []byte) string {
	raw := escapes.ReplaceAllFunc(escaped, func(m []byte) []byte {
		if m[1] == 'r' {
			return []byte{'\r'}
		}
		return m[1:]
	})
	var units []uint16
	for i := 0; i+1 < len(raw); i += 2 {
		units = append(units, uint16(raw[i])<<8|uint16(raw[i+1]))
	}
	return string(utf16.Decode(units))
}

// Text joins the text of all pages, a piece a line.
func Text(t *testing.T, pdf []byte) string {
	t.Helper()
	var b strings.Builder
	for _, page := range Pages(t, pdf) {
		for _, l := range page {
			b.WriteString(l.Text + "\n")
		}
	}
	return b.String()
}
