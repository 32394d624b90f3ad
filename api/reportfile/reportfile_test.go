package reportfile_test

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"encoding/xml"
	"io"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"lumbricary.example/api/reportfile"
	"lumbricary.example/api/sheet"
	"lumbricary.example/api/sheet/sheettest"
	"lumbricary.example/service/unit"
)

// report has all that is hard to write: formulas, commas, breaks, letters of
// three scripts, figures that can't be had.
func report() reportfile.Report {
	kg := func(v float64) unit.Figure { return unit.Of(v, "kg", "recorded") }
	return reportfile.Report{
		Club: "Όμιλος & Клуб <1>", Title: "Report on Autumn 2026", Period: "1 September 2026 to 30 November 2026", Code: "2026-autumn",
		Lead: []string{"=SUM(A1) was typed."}, Notes: []string{"A source."}, AsOf: time.Date(2026, time.November, 25, 12, 30, 0, 0, time.UTC),
		Words: reportfile.Words{
			Reason: func(code string) string { return "because " + code },
			Flag:   func(code string) string { return "flag " + code },
		},
		Tables: []reportfile.Table{
			{
				Code: "bins", Title: "By bin", Said: "All bins.", Texts: []string{"Bin", "Site"},
				Columns: []reportfile.Column{
					{Code: "fed", Head: "Feed", Unit: "kg", Decimals: 1},
					{Code: "rate", Head: "Rate", Decimals: 2, Interval: true},
					{Code: "dry", Head: "Dry feed", Unit: "kg", Aside: true},
				},
				Rows: []reportfile.Row{
					{ID: "b1", Texts: []string{"=1+1", "a, \"b\"\nc"}, Figures: []unit.Figure{kg(-1.25), unit.Of(0.5, "kg/kg/d", "x").Within(0.4, 0.7, 0.95).Flag("high"), kg(0.3)}},
					{ID: "b2", Texts: []string{"Κάδος", "Ящик"}, Figures: []unit.Figure{kg(10), unit.None("kg/kg/d", "no-check"), kg(2)}},
				},
				Total: &reportfile.Row{Texts: []string{"All"}, Figures: []unit.Figure{kg(8.75), unit.Of(0.5, "kg/kg/d", "x"), kg(2.3)}},
			},
			{Code: "missing", Title: "Missing", Texts: []string{"Bin", "What"}, Rows: []reportfile.Row{{ID: "b1", Texts: []string{"@home", "no check"}}}},
			{Code: "none", Title: "Losses", Said: "No loss.", Texts: []string{"Member"}},
			{Code: "aside", Title: "Moved", Aside: true, Texts: []string{"Kind"}, Rows: []reportfile.Row{{Texts: []string{"split"}}}},
		},
	}
}

func TestTheCSVFormHasAFigureARow(t *testing.T) {
	t.Parallel()
	data, err := reportfile.CSV(report())
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	if err != nil || !slices.Equal(rows[0], reportfile.Header) {
		t.Fatalf("%v, %v", err, rows[0])
	}
	if got := strings.Count(string(data), "\r\n"); got < len(rows) {
		t.Errorf("%d lines end as RFC 4180 has it", got)
	}
	for _, want := range [][]string{
		{"2026-autumn", "bins", "row", "b1", "'=1+1", "a, \"b\"\nc", "fed", "-1.25", "kg", "", "", "recorded", "", ""},
		{"2026-autumn", "bins", "row", "b1", "'=1+1", "a, \"b\"\nc", "rate", "0.5", "kg/kg/d", "0.4", "0.7", "x", "", "high"},
		{"2026-autumn", "bins", "row", "b2", "Κάδος", "Ящик", "rate", "", "kg/kg/d", "", "", "", "no-check", ""},
		{"2026-autumn", "bins", "total", "", "All", "", "fed", "8.75", "kg", "", "", "recorded", "", ""},
		{"2026-autumn", "missing", "row", "b1", "'@home", "no check", "", "", "", "", "", "", "", ""},
	} {
		if !slices.ContainsFunc(rows, func(row []string) bool { return slices.Equal(row, want) }) {
			t.Errorf("no row %q in %q", want, rows)
		}
	}
	if len(rows) != 1+9+1+1 {
		t.Errorf("%d rows", len(rows))
	}
}

// part reads one file of a workbook.
func part(t *testing.T, data []byte, name string) []byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	f, err := z.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	b, err := io.ReadAll(f)
	if err != nil {
		t.Fatal(err)
	}
	return b
}

type cell struct {
	Ref   string `xml:"r,attr"`
	Type  string `xml:"t,attr"`
	Value string `xml:"v"`
	Text  string `xml:"is>t"`
	F     string `xml:"f"`
}

type worksheet struct {
	Pane struct {
		State string  `xml:"state,attr"`
		Y     float64 `xml:"ySplit,attr"`
	} `xml:"sheetViews>sheetView>pane"`
	Cols []struct {
		Width float64 `xml:"width,attr"`
	} `xml:"cols>col"`
	Rows []struct {
		Cells []cell `xml:"c"`
	} `xml:"sheetData>row"`
}

// A workbook is read by the schema of ECMA-376, not by the library that wrote it.
func TestAWorkbookHasASheetATableWithUnitsInItsFrozenHead(t *testing.T) {
	t.Parallel()
	data, err := reportfile.XLSX(report())
	if err != nil {
		t.Fatal(err)
	}
	var book struct {
		Sheets []struct {
			Name string `xml:"name,attr"`
		} `xml:"sheets>sheet"`
	}
	if err := xml.Unmarshal(part(t, data, "xl/workbook.xml"), &book); err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, s := range book.Sheets {
		names = append(names, s.Name)
	}
	if want := []string{"About", "By bin", "Missing", "Losses", "Moved", "Remarks"}; !slices.Equal(names, want) {
		t.Errorf("%q", names)
	}
	var bins worksheet
	if err := xml.Unmarshal(part(t, data, "xl/worksheets/sheet2.xml"), &bins); err != nil {
		t.Fatal(err)
	}
	if bins.Pane.State != "frozen" || bins.Pane.Y != 1 || len(bins.Cols) == 0 {
		t.Errorf("%+v, %d widths", bins.Pane, len(bins.Cols))
	}
	var got [][]string
	for _, row := range bins.Rows {
		var cells []string
		for _, c := range row.Cells {
			if c.F != "" {
				t.Errorf("%s has a formula %q", c.Ref, c.F)
			}
			cells = append(cells, c.Type+":"+c.Value+c.Text)
		}
		got = append(got, cells)
	}
	want := [][]string{
		{"inlineStr:Bin", "inlineStr:Site", "inlineStr:Feed, kg", "inlineStr:Rate", "inlineStr:Rate low", "inlineStr:Rate high", "inlineStr:Dry feed, kg", "inlineStr:Id"},
		{"inlineStr:=1+1", "inlineStr:a, \"b\"c", ":-1.25", ":0.5", ":0.4", ":0.7", ":0.3", "inlineStr:b1"},
		{"inlineStr:Κάδος", "inlineStr:Ящик", ":10", ":2", "inlineStr:b2"},
		{"inlineStr:All", "inlineStr:", ":8.75", ":0.5", ":2.3", "inlineStr:"},
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%q\nwant %q", got, want)
	}
	if said := string(part(t, data, "xl/worksheets/sheet6.xml")); !strings.Contains(said, "because no-check") || !strings.Contains(said, "flag high") {
		t.Error("the remarks say nothing of what is missing")
	}
}

func TestAPrintedReportSaysWhyAFigureIsMissing(t *testing.T) {
	t.Parallel()
	data, err := reportfile.PDF(report(), sheet.A4)
	if err != nil {
		t.Fatal(err)
	}
	text := sheettest.Text(t, data)
	for _, want := range []string{
		"Report on Autumn 2026\n", "Όμιλος & Клуб <1>\n", "=1+1\n", "−1.2\n", "0.50 (0.40–0.70)\n", "No rate for Κάδος: because no-check.\n",
		"Look at the rate of =1+1: flag high.\n", "No loss.\n", "Page 1 of 1\n", "Sources and assumptions\n", "A source.\n",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("no %q in\n%s", want, text)
		}
	}
	if strings.Contains(text, "Dry feed") || strings.Contains(text, "Moved") {
		t.Error("what stands aside is printed")
	}
}

func TestAPrintedDifferenceIsThatOfWhatIsPrinted(t *testing.T) {
	t.Parallel()
	figure := func(v float64) unit.Figure { return unit.Of(v, "1", "x") }
	columns := []reportfile.Column{
		{Head: "Now", Decimals: reportfile.Digits}, {Head: "Then", Decimals: reportfile.Digits}, {Head: "Change", Decimals: reportfile.Digits, Differs: true},
	}
	for _, c := range []struct {
		now, then float64
		want      string
	}{
		{0.2951, 0.3149, "0.30\n0.31\n−0.01\n"},
		{0.281, 0.284, "0.28\n0.28\n0.00\n"},
		{1340.4, 732.1, "1340\n732\n608\n"},
		{28, 22, "28\n22\n6\n"},
		{0.001, 0, "<0.01\n0\n0.00\n"},
		{42.25, 21.46, "42.2\n21.5\n20.8\n"},
	} {
		r := reportfile.Report{Tables: []reportfile.Table{{Title: "T", Texts: []string{"What"}, Columns: columns, Rows: []reportfile.Row{
			{Texts: []string{"x"}, Figures: []unit.Figure{figure(c.now), figure(c.then), figure(c.now - c.then)}},
		}}}}
		data, err := reportfile.PDF(r, sheet.A4)
		if err != nil {
			t.Fatal(err)
		}
		if text := sheettest.Text(t, data); !strings.Contains(text, "x\n"+c.want) {
			t.Errorf("%v and %v: %s", c.now, c.then, text)
		}
	}
}

func TestTheSameReportIsTheSameBytesInEveryForm(t *testing.T) {
	t.Parallel()
	for name, write := range map[string]func(reportfile.Report) ([]byte, error){
		"csv": reportfile.CSV, "xlsx": reportfile.XLSX,
		"pdf": func(r reportfile.Report) ([]byte, error) { return reportfile.PDF(r, sheet.Letter) },
	} {
		first, err := write(report())
		if err != nil {
			t.Fatal(err)
		}
		for range 5 {
			if again, err := write(report()); err != nil || !bytes.Equal(first, again) {
				t.Fatalf("%s differs, %v", name, err)
			}
		}
	}
}

func TestManyNamesAreCounted(t *testing.T) {
	t.Parallel()
	r := report()
	bins := &r.Tables[0]
	for range 20 {
		bins.Rows = append(bins.Rows, bins.Rows[1])
	}
	data, err := reportfile.PDF(r, sheet.A4)
	if err != nil {
		t.Fatal(err)
	}
	if text := sheettest.Text(t, data); !strings.Contains(text, "No rate for 21 of 22: because no-check.") {
		t.Error(text)
	}
	r = report()
	r.Tables[0].Rows[0].Figures[1] = unit.None("kg/kg/d", "no-check")
	if data, err = reportfile.PDF(r, sheet.A4); err != nil || !strings.Contains(sheettest.Text(t, data), "No rate for all: because no-check.") {
		t.Error("not all lack a rate", err)
	}
}
