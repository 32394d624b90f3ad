package sheet_test

import (
	"bytes"
	"encoding/binary"
	"fmt"
	"os"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"
	"unicode/utf8"

	"lumbricary.example/api/sheet"
	"lumbricary.example/api/sheet/sheettest"
)

var day = time.Date(2026, time.November, 25, 12, 0, 0, 0, time.UTC)

func setup(p sheet.Paper) sheet.Setup {
	return sheet.Setup{Paper: p, Title: "Report", Author: "Harbour", Foot: strings.Repeat("A long foot. ", 30), AsOf: day}
}

func made(t *testing.T, s *sheet.Sheet) []byte {
	t.Helper()
	b, err := s.Bytes()
	if err != nil {
		t.Fatal(err)
	}
	return b
}

// long is a table of so many rows with names that must wrap.
func long(rows int) sheet.Table {
	t := sheet.Table{
		Columns: []sheet.Column{{Head: "Bin"}, {Head: "Feed, kg", Number: true}, {Head: "What is missing"}},
		Total:   []string{"All", "10.0"},
	}
	for i := range rows {
		name := fmt.Sprintf("Κάδος %d στην αυλή του σχολείου Ящик во дворе школы %s", i, strings.Repeat("ÐŁ", 60))
		t.Rows = append(t.Rows, []string{name, strconv.Itoa(i), "no look at what is left, and no harvest that emptied it, for a long time"})
	}
	return t
}

func TestTheSameContentGivesTheSameBytesAlsoAtTheSameTime(t *testing.T) {
	t.Parallel()
	var all [8][]byte
	var wait sync.WaitGroup
	for i := range all {
		wait.Go(func() {
			s := sheet.New(setup(sheet.A4))
			s.Title("Report", "Autumn")
			s.Table(long(20))
			all[i] = made(t, s)
		})
	}
	wait.Wait()
	for _, b := range all[1:] {
		if !bytes.Equal(b, all[0]) {
			t.Fatal("two sheets differ")
		}
	}
	if !bytes.HasPrefix(all[0], []byte("%PDF-1.")) {
		t.Error("no PDF")
	}
}

func TestATableHasItsHeadOnEveryPageAndItsTotalBesideARow(t *testing.T) {
	t.Parallel()
	for rows := 1; rows < 60; rows++ {
		s := sheet.New(setup(sheet.A4))
		s.Text("What is missing is listed.")
		s.Heading("Bins")
		s.Table(long(rows))
		pages := sheettest.Pages(t, made(t, s))
		for n, page := range pages {
			if got := page[min(len(page)-1, boolInt(n == 0)*2)].Text; got != "Bin" && (n > 0 || rows > 0) {
				t.Fatalf("%d rows: page %d begins with %q", rows, n+1, got)
			}
			if got := page[len(page)-1].Text; got != fmt.Sprintf("Page %d of %d", n+1, len(pages)) {
				t.Fatalf("%d rows: the foot says %q", rows, got)
			}
		}
		last := pages[len(pages)-1]
		total := len(last) - 4
		if last[total].Text != "All" || last[total+1].Text != "10.0" || total < 8 {
			t.Fatalf("%d rows: the last page ends with %+v", rows, last)
		}
	}
}

func boolInt(b bool) int {
	if b {
		return 1
	}
	return 0
}

func TestAHeadingStaysWithWhatFollows(t *testing.T) {
	t.Parallel()
	for lines := range 70 {
		s := sheet.New(setup(sheet.Letter))
		for range lines {
			s.Text("A line.")
		}
		s.Heading("Bins")
		s.Table(long(2))
		for _, page := range sheettest.Pages(t, made(t, s)) {
			for i, l := range page {
				if l.Text == "Bins" && page[i+1].Text != "Bin" || l.Text == "Bin" && len(page) < i+10 {
					t.Fatalf("after %d lines the heading stands alone: %+v", lines, page)
				}
			}
		}
	}
}

func TestNothingIsDrawnOutsideOfThePage(t *testing.T) {
	t.Parallel()
	for paper, size := range map[sheet.Paper][2]float64{sheet.A4: {595.28, 841.89}, sheet.Letter: {612, 792}} {
		s := sheet.New(setup(paper))
		s.Title(strings.Repeat("Ω", 200), "below")
		s.Heading(strings.Repeat("A heading ", 40))
		s.Text(strings.Repeat("text ", 4000))
		s.Note("a note")
		wide := long(3)
		wide.Rows[0][2] = strings.Repeat("without end ", 1500)
		for range 30 {
			wide.Columns = append(wide.Columns, sheet.Column{Head: "Castings, kg", Number: true})
			wide.Rows[1] = append(wide.Rows[1], "123.4")
		}
		s.Table(wide)
		const edge = 15 / 25.4 * 72
		for n, page := range sheettest.Pages(t, made(t, s)) {
			for _, l := range page {
				if l.X < edge-0.1 || l.X > size[0]-edge || l.Y < edge-1 || l.Y > size[1]-edge {
					t.Fatalf("%s, page %d: %+v", paper, n+1, l)
				}
			}
		}
	}
}

func TestALetterThatTheFontsLackIsSeenToBeMissing(t *testing.T) {
	t.Parallel()
	for in, want := range map[string]string{
		"Инес  Ταβαρέλα\nÇelik": "Инес Ταβαρέλα Çelik",
		"e\u0301t\u0301":        "ét\u0301", // composed, where there is a letter for it
		"東🪱\u200b\ufe0f.":       "\ufffd\ufffd.",
		"\x00a\x1b":             "a",
	} {
		if got := sheet.Drawable(in); got != want {
			t.Errorf("%q is drawn as %q, not %q", in, got, want)
		}
	}
}

// The table of what the fonts can draw is what their cmap tables (format 4, as
// the OpenType specification has it) say.
func TestBothFontsHaveTheLettersThatAreDrawn(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"DejaVuSansCondensed.ttf", "DejaVuSansCondensed-Bold.ttf"} {
		font, err := os.ReadFile("fonts/" + name)
		if err != nil {
			t.Fatal(err)
		}
		has := runesOf(t, font)
		for r := rune(0x20); r < 0xFFFE; r++ {
			if !utf8.ValidRune(r) || r == 0xFFFD {
				continue
			}
			drawn := sheet.Drawable("x"+string(r)+"x") == "x"+string(r)+"x"
			if drawn && !has[r] {
				t.Errorf("%s lacks %U", name, r)
			}
		}
		if len(has) != 1717 {
			t.Errorf("%s has %d letters", name, len(has))
		}
	}
}

func runesOf(t *testing.T, font []byte) map[rune]bool {
	t.Helper()
	u16 := func(at int) int { return int(binary.BigEndian.Uint16(font[at:])) }
	u32 := func(at int) int { return int(binary.BigEndian.Uint32(font[at:])) }
	out := map[rune]bool{}
	for i := range u16(4) {
		if string(font[12+16*i:16+16*i]) != "cmap" {
			continue
		}
		cmap := u32(12 + 16*i + 8)
		for j := range u16(cmap + 2) {
			sub := cmap + u32(cmap+4+8*j+4)
			if u16(sub) != 4 {
				continue
			}
			segments := u16(sub+6) / 2
			for k := range segments {
				end, start := u16(sub+14+2*k), u16(sub+16+2*segments+2*k)
				for r := start; r <= end && r < 0xFFFF; r++ {
					out[rune(r)] = true
				}
			}
		}
	}
	return out
}

func TestMoreThanTextIsDrawnOnTheCanvas(t *testing.T) {
	t.Parallel()
	s := sheet.New(sheet.Setup{Paper: sheet.A4, Landscape: true, Lang: "el", AsOf: day})
	if w := s.Width(); w < 266 || w > 268 {
		t.Errorf("%v mm", w)
	}
	s.Room(20)
	s.Canvas().Rect(20, 20, 10, 10, "D")
	s.Break()
	if b := made(t, s); !bytes.Contains(b, []byte("/Count 2")) || !bytes.Contains(b, []byte("(el)")) {
		t.Error("not two pages in Greek")
	}
	s = sheet.New(sheet.Setup{Paper: "A0", AsOf: day})
	if _, err := s.Bytes(); err == nil {
		t.Error("a paper that there isn't")
	}
}
